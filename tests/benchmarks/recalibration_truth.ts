/**
 * Does `indexRecalibration` find planted weights, and does its advice follow what is true?
 *
 * Benches are made whole, from trials and single ratings, with the demo's own design (48 rated shoes, six
 * testers who each rated a part) and loaded from files. What players feel is then made from the true values
 * of the rule's terms under planted weights: those in force, others, or far others. A noisy metric serves an
 * index of bench values less than its true values would, so that the weights which are best there are not
 * quite those planted: intervals are held against both. Ranks and scores are held against those of the true
 * values. Run: deno run --allow-read --allow-write
 * tests/benchmarks/recalibration_truth.ts [benches]
 */
import { Matrix, solve } from "ml-matrix";
import { makeDemo } from "../../data-demo/make_demo.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench, IndexRule } from "../../lib/records/types.ts";
import { type RandomStream, randomStream } from "../../lib/statistics/random_stream.ts";
import { spearman } from "../../lib/statistics/spearman.ts";
import { applyRule, type MetricTable } from "../../lib/studies/index/apply_rule.ts";
import { indexRecalibration } from "../../lib/studies/index/index_recalibration.ts";
import { indexScores } from "../../lib/studies/index/index_scores.ts";
import { ruleValues } from "../../lib/studies/index/rule_values.ts";
import {
  type TrialReliability,
  trialReliability,
} from "../../lib/studies/repeatability/trial_reliability.ts";

const benches = Number(Deno.args[0] ?? 200);
/** Correlation of the true index with what is felt of a shoe; the rest is the shoe's own. */
const RHO = 0.8;

type Truth = {
  readonly metrics: Record<
    string,
    { readonly variances: { readonly shoe: number }; readonly drivers: Record<string, number> }
  >;
  readonly panel: {
    readonly mean: number;
    readonly sd_shoe: number;
    readonly sd_tester_shoe: number;
    readonly sd_residual: number;
    readonly testers: Record<string, { readonly leniency: number; readonly range: number }>;
  };
  readonly shoes: Record<string, { readonly metrics: Record<string, number> }>;
};

/** In force are always the first; terms stand in the order of the demo's rule in force. */
const inForce = [0.25, 0.25, 0.2, 0.1, 0.1, 0.1];
const planted = {
  "in force is right": inForce,
  "others are right": [0, 0, 0.4, 0, 0.3, 0.3],
  "far others are right": [0, 0, 0, 0, 0.5, 0.5],
};

async function simulatedBench(seed: number): Promise<{ bench: Bench; truth: Truth }> {
  const dir = await Deno.makeTempDir();
  const files = makeDemo({ seed, slips: "none", court: "unrelated", standing: "drawn" });
  for (const [name, text] of files) {
    const path = `${dir}/${name}`;
    await Deno.mkdir(path.slice(0, path.lastIndexOf("/")), { recursive: true });
    await Deno.writeTextFile(path, text);
  }
  const bench = await loadBench(dir);
  await Deno.remove(dir, { recursive: true });
  return { bench, truth: JSON.parse(files.get("truth.json")!) };
}

function trueTable({ shoes }: Truth, metrics: readonly string[]): MetricTable {
  return new Map(metrics.map((metric) => [
    metric,
    new Map(Object.entries(shoes).map(([shoe, about]) => [shoe, about.metrics[metric]])),
  ]));
}

/** The same bench, with speed rated anew from a rule's true scores. */
function feltBy(
  bench: Bench,
  { panel }: Truth,
  scores: ReadonlyMap<string, number>,
  random: RandomStream,
): Bench {
  const values = [...scores.values()];
  const mean = values.reduce((a, b) => a + b) / values.length;
  const sd = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / (values.length - 1));
  const felt = new Map([...scores].map(([shoe, score]) => [
    shoe,
    RHO * (score - mean) / sd + Math.sqrt(1 - RHO * RHO) * random.normal(),
  ]));
  const { min, max, step } = bench.settings.rating;
  const noise = Math.hypot(panel.sd_tester_shoe, panel.sd_residual);
  return {
    ...bench,
    impressions: bench.impressions.map((row) => {
      if (row.attribute !== "speed" || row.rating === null) return row;
      const { leniency, range } = panel.testers[row.tester];
      const value = panel.mean + leniency + range * panel.sd_shoe * felt.get(row.shoe_id)! +
        noise * random.normal();
      return { ...row, rating: Math.min(max, Math.max(min, Math.round(value / step) * step)) };
    }),
  };
}

/** Weights that are best for bench values, of true values' weights, in a catalogue without end. */
function bestForBenchValues(
  bench: Bench,
  rule: IndexRule,
  weights: readonly number[],
  { truth, reliability }: {
    readonly truth: Truth;
    readonly reliability: Pick<TrialReliability, "metrics">;
  },
): number[] {
  const ids = rule.terms.map(({ metric }) => metric);
  const { values } = ruleValues(bench, ids, reliability);
  const span = rule.terms.map(({ scaling }) =>
    scaling.kind === "range" ? scaling.high - scaling.low : 1
  );
  const sd = ids.map((id) => Math.sqrt(truth.metrics[id].variances.shoe));
  const correlation = (i: number, j: number) =>
    i === j
      ? 1
      : truth.metrics[ids[i]].drivers[ids[j]] ?? truth.metrics[ids[j]].drivers[ids[i]] ?? 0;
  const among = ids.map((_, i) =>
    ids.map((_, j) => correlation(i, j) * sd[i] * sd[j] / (span[i] * span[j]))
  );
  const noise = ids.map((id, j) => {
    const squares = [...values.get(id)!.values()].map((row) => row.standard_error! ** 2);
    return squares.reduce((a, b) => a + b) / squares.length / span[j] ** 2;
  });
  const found = solve(
    new Matrix(among.map((row, i) => row.map((value, j) => value + (i === j ? noise[i] : 0)))),
    new Matrix(among).mmul(Matrix.columnVector([...weights])),
  ).to1DArray();
  const sum = found.reduce((a, b) => a + b);
  return found.map((value) => value / sum);
}

const share = (hits: number, all: number) => {
  const part = hits / all;
  return `${(100 * part).toFixed(1)}% of ${all} (standard error ${
    (100 * Math.sqrt(part * (1 - part) / all)).toFixed(1)
  })`;
};

const tally = new Map<string, [number, number]>();
const count = (name: string, hit: boolean) => {
  const [hits, all] = tally.get(name) ?? [0, 0];
  tally.set(name, [hits + Number(hit), all + 1]);
};
const sums = new Map<string, number[]>();
const note = (name: string, value: number) => sums.set(name, [...(sums.get(name) ?? []), value]);

for (let seed = 1; seed <= benches; seed++) {
  const { bench, truth } = await simulatedBench(seed);
  const base = bench.rules.at(-1)!;
  const rule: IndexRule = { ...base, bonuses: [] };
  const metrics = rule.terms.map(({ metric }) => metric);
  const reliability = trialReliability(bench, { seed, metrics, resamples: 100 });
  const table = trueTable(truth, metrics);
  const scoresUnder = (weights: readonly number[]) =>
    new Map(
      applyRule(bench, {
        ...rule,
        terms: rule.terms.map((term, j) => ({ ...term, weight: weights[j] })),
      }, table).map(({ shoe_id, score }) => [shoe_id, score!]),
    );

  const trueScores = scoresUnder(inForce);
  const { shoes } = indexScores(bench, { rule, reliability, seed });
  const full = shoes.filter(({ missing_terms }) => missing_terms.length === 0);
  const order = [...trueScores.values()];
  const trueRank = (shoe: string) =>
    1 + order.filter((other) => other > trueScores.get(shoe)!).length;
  if (full.length === bench.shoes.length) {
    count(
      "all rank intervals of a table hold the true ranks (95% wanted)",
      full.every(({ shoe_id, rank_lower, rank_upper }) =>
        rank_lower! <= trueRank(shoe_id) && trueRank(shoe_id) <= rank_upper!
      ),
    );
  }
  for (const { shoe_id, lower, upper } of full) {
    const score = trueScores.get(shoe_id)!;
    count(
      "a score's interval holds the true score (95% wanted)",
      lower! <= score && score <= upper!,
    );
  }

  for (const [name, weights] of Object.entries(planted)) {
    const scores = scoresUnder(weights);
    const felt = feltBy(bench, truth, scores, randomStream(seed, 77));
    const found = indexRecalibration(felt, { seed, rule, reliability, resamples: 500 });
    for (const advice of ["adopt", "keep", "not enough evidence"]) {
      count(`${name}: ${advice}`, found.advice === advice);
    }
    const best = bestForBenchValues(felt, rule, weights, { truth, reliability });
    found.weights.forEach(({ new: { lower, upper } }, j) => {
      const holds = (weight: number) => lower! - 1e-9 <= weight && weight <= upper! + 1e-9;
      count(`${name}: a weight's interval holds the planted weight`, holds(weights[j]));
      count(
        `${name}: a weight's interval holds the best weight for bench values (95% wanted)`,
        holds(best[j]),
      );
      if (weights[j] > 0) count(`${name}: the same, planted above 0`, holds(best[j]));
    });
    count(`${name}: any weight moves`, found.draft !== null);
    const order = [...scores.keys()];
    const truly = (list: ReadonlyMap<string, number>) =>
      spearman(order.map((id) => list.get(id)!), order.map((id) => scores.get(id)!), {
        interval: "none",
      }).estimate!;
    const revised = scoresUnder(found.weights.map((weight) => weight.new.estimate!));
    note(`${name}: true rank correlation, in force`, truly(trueScores));
    note(`${name}: true rank correlation, new weights`, truly(revised));
    note(`${name}: estimated gain`, found.gain.estimate!);
  }
  if (seed % 20 === 0) console.error(`${seed} of ${benches}`);
}
for (const [name, [hits, all]] of tally) console.log(`${name}: ${share(hits, all)}`);
for (const [name, values] of sums) {
  const mean = values.reduce((a, b) => a + b) / values.length;
  console.log(`${name}: mean ${mean.toFixed(3)}`);
}
