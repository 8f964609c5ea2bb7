/**
 * How often do intervals of corrected differences hold the truth, and how near do corrected values lie to it?
 *
 *     deno run -A --config tests/deno.json tests/benchmarks/correction_coverage.ts [benches]
 *
 * Benches with known truth from a generator of their own (`drifting_bench.ts`): nothing drifts, a rig drifts,
 * a step in the middle that nobody wrote down, a rig that reads off from the start, references that age. On
 * each, 40 pairs of shoes seen once or twice: interval of the difference of two corrected values.
 */
import type { Bench } from "../../lib/records/types.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { pairNoise } from "../../lib/studies/repeatability/pair_noise.ts";
import { publishedVisits } from "../../lib/studies/shoes/published_visits.ts";
import { tQuantile } from "../../lib/statistics/distributions.ts";
import { driftingBench, type DriftStory } from "../studies/drift/drifting_bench.ts";
import { smallBench } from "../studies/small_bench.ts";

const stories: Readonly<Record<string, DriftStory>> = {
  "nothing drifts": {},
  "a rig drifts by 1.5 a year": { slope: 1.5 },
  "a rig reads 1 off": { offset: 1 },
  "a rig drifts and reads off": { slope: 1.5, offset: 1 },
  "a step of 1 that nobody wrote down": { step: 1 },
  "references age by 1 a year": { ageing: 1 },
};

/** Coverage of differences of two values, and root mean square of values about the truth, by story. */
export function correctionCoverage(
  story: DriftStory,
  benches: number,
  seed: number,
) {
  let [held, asked, raw, corrected, n] = [0, 0, 0, 0, 0];
  for (let b = 0; b < benches; b++) {
    const { visits, truth } = driftingBench(seed + b, story);
    const plain = smallBench(visits, { references: ["ref-1", "ref-2"] });
    const bench = {
      ...plain,
      settings: { ...plain.settings, corrected_metrics: ["height"] },
    };
    const [about] = trialReliability(bench, { seed: 1, resamples: 100 }).metrics;
    const mean = (values: readonly number[]) => values.reduce((a, x) => a + x, 0) / values.length;
    const values = (of: Bench) => {
      const byShoe = Map.groupBy(
        publishedVisits(of, "height"),
        ({ shoe_id }) => shoe_id,
      );
      return new Map([...byShoe].map(([shoe, own]) => [
        shoe,
        { own, value: mean(own.map(({ values }) => mean(values))) },
      ]));
    };
    const [read, brought] = [values(plain), values(bench)];
    const shoes = [...truth.keys()].filter((shoe) => !shoe.startsWith("ref"));
    // Values are told against the level of the bench's beginning, whose own error all share.
    for (const [set, add] of [[read, 0], [brought, 1]] as const) {
      const off = shoes.map((shoe) => set.get(shoe)!.value - truth.get(shoe)!);
      const centre = mean(off);
      const square = off.reduce((a, x) => a + (x - centre) ** 2, 0);
      if (add === 0) raw += square;
      else corrected += square;
    }
    n += shoes.length;
    for (let i = 0; i < 40; i++) {
      const [a, c] = [
        shoes[(7 * i) % shoes.length],
        shoes[(7 * i + 13 + i) % shoes.length],
      ];
      if (a === c) continue;
      const [x, y] = [brought.get(a)!, brought.get(c)!];
      const noise = pairNoise(x.own, y.own, about);
      if (noise === null) continue;
      const half = tQuantile(0.975, noise.freedom) * Math.sqrt(noise.variance);
      asked++;
      if (Math.abs(x.value - y.value - truth.get(a)! + truth.get(c)!) <= half) {
        held++;
      }
    }
  }
  return {
    coverage: held / asked,
    raw: Math.sqrt(raw / n),
    corrected: Math.sqrt(corrected / n),
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 100);
  for (const [name, story] of Object.entries(stories)) {
    const { coverage, raw, corrected } = correctionCoverage(
      story,
      benches,
      1000,
    );
    console.log(
      `${name}: ${(100 * coverage).toFixed(1)}% of differences held; off the truth by ${
        raw.toFixed(3)
      } as read, ${corrected.toFixed(3)} corrected`,
    );
  }
}
