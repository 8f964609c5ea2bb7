/** 10,000 permutations of 72 rank correlations, step-down max statistic per attribute. */
import { productMoment } from "../../lib/statistics/pearson.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { ranks } from "../../lib/statistics/ranks.ts";
import { inventedColumns } from "./invented_shoes.ts";
import { benchmark, largestGap } from "./work.ts";

const metrics = inventedColumns(1, 12, 60, 20);
const attributes = inventedColumns(2, 6, 60, 4);
const work = () =>
  rankCorrelationGrid(metrics, attributes, { interval: "none", permutations: 10000, seed: 1 });

/** Family-wise p of one attribute: its ranks shuffled anew and correlated with every metric's. */
function plainStepDown(target: readonly number[]): number[] {
  const random = randomStream(99);
  const x = metrics.map(ranks);
  const y = ranks(target);
  const observed = x.map((column) => Math.abs(productMoment(column, y)!));
  const ladder = observed.map((_, j) => j).sort((a, b) => observed[b] - observed[a]);
  const reached = observed.map(() => 0);
  for (let b = 0; b < 10000; b++) {
    random.shuffle(y);
    let largest = 0;
    for (const j of ladder.toReversed()) {
      largest = Math.max(largest, Math.abs(productMoment(x[j], y)!));
      if (largest >= observed[j] - 1e-12) reached[j]++;
    }
  }
  const p: number[] = [];
  let highest = 0;
  for (const j of ladder) p[j] = highest = Math.max(highest, (reached[j] + 1) / 10001);
  return p;
}

// Two shares out of 10,000 draws each: four and a half standard errors of their difference at one half.
const allowed = 0.032;

await benchmark(import.meta.main, {
  id: "B",
  title: "10,000 permutations of the same 72 correlations, step-down max statistic per attribute",
  goal: { first: 70, warm: 35 },
  run: work,
  agreement: () => {
    const { cells } = work();
    return {
      against: "the plain definition (two attributes, other shuffles)",
      gap: largestGap(
        [0, 4].flatMap((t) => cells.map((row) => row[t].p_familywise)),
        [0, 4].flatMap((t) => plainStepDown(attributes[t])),
      ),
      allowed,
    };
  },
  inR: {
    script: "rank_correlation_permutation.R",
    inputs: { metrics, attributes },
    numbers: () => attributes.flatMap((_, t) => work().cells.map((row) => row[t].p_familywise)),
    allowed,
  },
});
