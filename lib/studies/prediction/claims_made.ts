import { rankCorrelationGrid } from "../../statistics/rank_correlation_grid.ts";
import { CLAIM_ALPHA, type ClaimEvidence, predictionClaim } from "./prediction_claim.ts";
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

/** How pairs are resampled and shuffled. */
export type ClaimOptions = {
  readonly confidence: number;
  readonly resamples: number;
  readonly permutations: number;
  readonly seed: number;
};

/** What one pair of a table is judged from, and over how many shoes. */
type PairEvidence = ClaimEvidence & {
  readonly j: number;
  readonly t: number;
  readonly shoes: number;
};

/**
 * Which pairs of this table are claimed?
 *
 * Those that `predictionPairs` makes with the same options at a first review, without all that stands
 * beside them: an interval is only worked out where the p over the whole grid is small enough.
 */
export function claimsMade(table: PredictionTable, options: ClaimOptions): ClaimMade[] {
  return claimsOf(evidenceOf(table, options, "strong pairs"));
}

/** Which of these pairs are claimed at a first review? */
export function claimsOf(pairs: readonly PairEvidence[]): ClaimMade[] {
  return pairs.filter((pair) => predictionClaim(pair) === "predicts").map((
    { j, t, rho, lower, upper, shoes, p_familywise },
  ) => ({ j, t, rho: rho!, lower: lower!, upper: upper!, shoes, p: p_familywise! }));
}

/** What pairs of this table are judged from, as `predictionPairs` finds it: of all of them, or where p is small enough. */
export function evidenceOf(
  table: PredictionTable,
  options: ClaimOptions,
  wanted: "all pairs" | "strong pairs",
): PairEvidence[] {
  const { columns, targets, white, judged } = judgedTable(table, options);
  const asked = judged.map((cells) =>
    cells.map(({ p_grid }) => wanted === "all pairs" || (p_grid !== null && p_grid < CLAIM_ALPHA))
  );
  // Pairs over the same shoes share their resamples, so those that are asked for are worked out together.
  const askedColumns = columns.map((_, j) => j).filter((j) => asked[j].includes(true));
  const askedTargets = targets.map((_, t) => t).filter((t) => asked.some((cells) => cells[t]));
  const { cells: limits } = rankCorrelationGrid(
    askedColumns.map((j) => columns[j]),
    askedTargets.map((t) => targets[t]),
    { ...options, permutations: 0 },
  );
  return judged.flatMap((cells, j) =>
    cells.flatMap((own, t): PairEvidence[] => {
      if (!asked[j][t]) return [];
      const cell = limits[askedColumns.indexOf(j)][askedTargets.indexOf(t)];
      const rows = table.shoes.map((_, row) => row)
        .filter((row) => columns[j][row] !== null && targets[t][row] !== null);
      const inflation = kinInflation(rows, table.kin, white.metrics[j], white.attributes[t]);
      const { estimate: rho, lower, upper, n: shoes } = widenedCell(cell, inflation);
      const left = cell.leave_one_out.filter((without) => without !== null);
      return [{
        j,
        t,
        shoes,
        rho,
        lower,
        upper,
        p_familywise: own.p_grid,
        q: own.q,
        lowest: left.length === 0 ? null : Math.min(...left),
        highest: left.length === 0 ? null : Math.max(...left),
      }];
    })
  );
}
