/** BCa intervals of Spearman's rho: 60 shoes × 12 metrics × 6 attributes with ties, 10,000 resamples. */
import { biasCorrectedShares } from "../../lib/statistics/bias_corrected.ts";
import { productMoment } from "../../lib/statistics/pearson.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { ranks } from "../../lib/statistics/ranks.ts";
import { inventedColumns } from "./invented_shoes.ts";
import { benchmark, largestGap } from "./work.ts";

const metrics = inventedColumns(1, 12, 60, 20);
const attributes = inventedColumns(2, 6, 60, 4);
const work = () =>
  rankCorrelationGrid(metrics, attributes, { resamples: 10000, permutations: 0, seed: 1 });

/** Limits of one pair: rows written out, ranked by sorting, all resamples sorted. */
function plainLimits(x: readonly number[], y: readonly number[]): readonly [number, number] {
  const n = x.length;
  const rho = (rows: readonly number[]) =>
    productMoment(ranks(rows.map((i) => x[i])), ranks(rows.map((i) => y[i])))!;
  const all = x.map((_, i) => i);
  const draws = randomStream(1, 1, n).fillIntegers(new Uint16Array(10000 * n), n);
  const values = Array.from(
    { length: 10000 },
    (_, b) => rho([...draws.subarray(b * n, (b + 1) * n)]),
  ).sort((a, b) => a - b);
  const estimate = rho(all);
  const { lowerShare, upperShare } = biasCorrectedShares({
    below: values.filter((value) => value < estimate - 1e-13).length,
    equal: values.filter((value) => Math.abs(value - estimate) <= 1e-13).length,
    resamples: 10000,
    jackknife: all.map((left) => rho(all.filter((i) => i !== left))),
    confidence: 0.95,
  });
  const quantile = (share: number) => {
    const place = 9999 * share;
    const before = Math.floor(place);
    return values[before] + (place - before) * (values[before + 1] - values[before]);
  };
  return [quantile(lowerShare), quantile(upperShare)];
}

await benchmark(import.meta.main, {
  id: "A",
  title: "BCa of Spearman's rho, 60 shoes × 12 metrics × 6 attributes, 10,000 resamples",
  goal: { first: 130, warm: 60 },
  run: work,
  agreement: () => {
    const { cells } = work();
    const pairs = [[0, 0], [5, 3], [11, 5]] as const;
    return {
      against: "the plain definition (three pairs)",
      gap: largestGap(
        pairs.flatMap(([j, t]) => [cells[j][t].lower, cells[j][t].upper]),
        pairs.flatMap(([j, t]) => plainLimits(metrics[j], attributes[t])),
      ),
      allowed: 1e-12,
    };
  },
  inR: {
    script: "rank_correlation_bootstrap.R",
    inputs: { metrics, attributes },
    numbers: () => {
      const cells = work().cells.flat();
      return [...cells.map(({ lower }) => lower), ...cells.map(({ upper }) => upper)];
    },
    // Ends of 95% intervals of 10,000 resamples in two generators: several of their standard errors.
    allowed: 0.035,
  },
});
