import { rankCorrelationGrid } from "../../statistics/rank_correlation_grid.ts";
import { CLAIM_ALPHA, predictionClaim } from "./prediction_claim.ts";
import { judgedTable, widenedCell } from "./prediction_pairs.ts";
import type { PredictionTable } from "./prediction_table.ts";
import { kinInflation } from "../shoes/shoe_kin.ts";

/** One claim of a first review: which cell of the table, and the correlation it stands on. */
export type ClaimMade = {
  readonly j: number;
  readonly t: number;
  readonly rho: number;
  readonly lower: number;
  readonly upper: number;
  readonly shoes: number;
  /** Over the whole grid. */
  readonly p: number;
};

/**
 * Which pairs of this table are claimed?
 *
 * Those that `predictionPairs` makes with the same options at a first review, without all that stands
 * beside them: an interval is only worked out where the p over the whole grid is small enough.
 */
export function claimsMade(
  table: PredictionTable,
  options: {
    readonly confidence: number;
    readonly resamples: number;
    readonly permutations: number;
    readonly seed: number;
  },
): ClaimMade[] {
  const { columns, targets, white, judged } = judgedTable(table, options);
  return judged.flatMap((cells, j) =>
    cells.flatMap((own, t): ClaimMade[] => {
      if (own.p_grid === null || own.p_grid >= CLAIM_ALPHA) return [];
      const [[cell]] = rankCorrelationGrid([columns[j]], [targets[t]], {
        ...options,
        permutations: 0,
      }).cells;
      const rows = table.shoes.map((_, row) => row)
        .filter((row) => columns[j][row] !== null && targets[t][row] !== null);
      const inflation = kinInflation(rows, table.kin, white.metrics[j], white.attributes[t]);
      const { estimate: rho, lower, upper, n } = widenedCell(cell, inflation);
      const left = cell.leave_one_out.filter((without) => without !== null);
      const claim = predictionClaim({
        rho,
        lower,
        upper,
        p_familywise: own.p_grid,
        q: own.q,
        lowest: left.length === 0 ? null : Math.min(...left),
        highest: left.length === 0 ? null : Math.max(...left),
      });
      return claim === "predicts"
        ? [{ j, t, rho: rho!, lower: lower!, upper: upper!, shoes: n, p: own.p_grid }]
        : [];
    })
  );
}
