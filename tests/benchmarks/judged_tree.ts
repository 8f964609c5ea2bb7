import { widenedLimits } from "../../lib/statistics/correlation_inflation.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import type { PredictionClaim } from "../../lib/studies/prediction/types.ts";
import { type JudgedCell, judgedGrid } from "../../lib/studies/prediction/judged_grid.ts";
import { predictionClaim } from "../../lib/studies/prediction/prediction_claim.ts";
import {
  kinInflation,
  type ShoeKin,
  withinCourts,
  withoutKin,
} from "../../lib/studies/shoes/shoe_kin.ts";
import { type BenchDesign, shoeRatings, type TreeBench } from "./tree_benches.ts";

/** The grid of a bench as the study judges it, and the claim and limits of a cell when asked for. */
export type JudgedTree = {
  readonly cells: readonly (readonly JudgedCell[])[];
  readonly claimed: (j: number, t: number) => {
    readonly claim: PredictionClaim;
    readonly estimate: number | null;
    readonly lower: number | null;
    readonly upper: number | null;
  };
};

/** The whole grid from shoe-level values, by the steps of the study. */
export function judgedTree(
  bench: TreeBench,
  design: Pick<BenchDesign, "impressions">,
  options: {
    readonly permutations: number;
    readonly resamples: number;
    readonly confidence: number;
    readonly seed: number;
  },
): JudgedTree {
  const kin: ShoeKin = {
    groups: { outer: bench.maker, inner: bench.line },
    makers: bench.maker.map(String),
    lines: bench.line.map(String),
    strata: bench.court.map(String),
    courts: new Set(bench.court).size,
  };
  const x = bench.metrics.map((values) => withinCourts(values, kin));
  const y = shoeRatings(bench, design.impressions).map((values) => withinCourts(values, kin));
  const [whiteX, whiteY] = [x, y].map((columns) =>
    columns.map((column) => withoutKin(column, kin))
  );
  const cells = judgedGrid(
    whiteX.map(({ values }) => ({ values, source: null })),
    whiteY.map(({ values }) => values),
    { ...options, lost: kin.courts - 1, alpha: 0.05 },
  );
  const claimed = (j: number, t: number) => {
    const [[cell]] = rankCorrelationGrid([x[j]], [y[t]], { ...options, permutations: 0 }).cells;
    const known = x[j].flatMap((value, row) => value !== null && y[t][row] !== null ? [row] : []);
    const { estimate, lower, upper } = cell;
    const limits = estimate === null || lower === null || upper === null
      ? { lower: null, upper: null }
      : widenedLimits(
        { estimate, lower, upper },
        kinInflation(known, kin, whiteX[j], whiteY[t]),
      );
    const left = cell.leave_one_out.filter((rho) => rho !== null);
    return {
      estimate,
      ...limits,
      claim: predictionClaim({
        rho: estimate,
        ...limits,
        p_familywise: cells[j][t].p_grid,
        q: cells[j][t].q,
        lowest: left.length === 0 ? null : Math.min(...left),
        highest: left.length === 0 ? null : Math.max(...left),
      }),
    };
  };
  return { cells, claimed };
}
