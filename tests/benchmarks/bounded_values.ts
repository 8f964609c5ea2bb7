/**
 * Do intervals of shoes that ran off the end of the scale hold their true values? Benches of 24 shoes, two
 * visits of three readings, wear in mm read from a bound on. Prints by how much of a shoe lies beyond it.
 *
 * deno run -A tests/benchmarks/bounded_values.ts [benches]
 */
import type { Bench } from "../../lib/records/types.ts";
import { tQuantile } from "../../lib/statistics/distributions.ts";
import { pairNoise } from "../../lib/studies/repeatability/pair_noise.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { boundedShoes, publishedVisits } from "../../lib/studies/shoes/published_visits.ts";
import { metricNoise, shoeValues } from "../../lib/studies/shoes/shoe_values.ts";
import { ownNormals } from "../studies/drift/drifting_bench.ts";
import { smallBench } from "../studies/small_bench.ts";

/** A bench whose wear is known below the bound as `<bound` only, and the true wear of its shoes. */
export function boundedBench(
  seed: number,
  { bound = 1.2, shoes = 24, visits = 2, trials = 3, visit = 0.1, noise = 0.25 } = {},
): { readonly bench: Bench; readonly truth: ReadonlyMap<string, number> } {
  const normal = ownNormals(seed);
  const truth = new Map<string, number>();
  const drawn = Array.from({ length: shoes }, (_, s) => {
    const shoe = `s${String(s).padStart(2, "0")}`;
    truth.set(shoe, 1.8 + 0.6 * normal());
    return Array.from({ length: visits }, (_, v) => {
      const level = truth.get(shoe)! + visit * normal();
      return {
        shoe,
        session: `d${(s + 5 * v) % 12}`,
        values: Array.from({ length: trials }, () => level + noise * normal()),
      };
    });
  }).flat();
  const bench = smallBench(drawn, { about: { unit: "mm" } });
  return {
    truth,
    bench: {
      ...bench,
      trials: bench.trials.map((trial) =>
        trial.value! < bound ? { ...trial, value: null, bound: { below: bound } } : trial
      ),
    },
  };
}

/** How often values of touched shoes hold the truth, and what half the bound or leaving out would do. */
export function boundedCoverage(benches: number, options: Parameters<typeof boundedBench>[1] = {}) {
  const tally = {
    values: 0,
    held: 0,
    heldAlone: 0,
    off: 0,
    offHalf: 0,
    offRead: 0,
    bounds: 0,
    share: 0,
  };
  for (let b = 0; b < benches; b++) {
    const { bench, truth } = boundedBench(100 + b, options);
    const study = trialReliability(bench, { seed: 1, resamples: 100 });
    const [about] = study.metrics;
    tally.share += (about.bounded?.readings ?? 0) / (about.bounded?.of ?? 1) / benches;
    tally.bounds += boundedShoes(bench, "height").length;
    const visits = Map.groupBy(publishedVisits(bench, "height"), ({ shoe_id }) => shoe_id);
    for (const row of shoeValues(bench, "height", metricNoise(about))) {
      if (row.bounded === 0) continue;
      const own = bench.trials.filter(({ shoe_id }) => shoe_id === row.shoe_id);
      const off = row.value - truth.get(row.shoe_id)!;
      const noise = pairNoise(visits.get(row.shoe_id)!, [], about);
      if (noise === null) continue;
      tally.values++;
      if (Math.abs(off) <= tQuantile(0.975, noise.freedom) * Math.sqrt(noise.variance)) {
        tally.held++;
      }
      if (Math.abs(off) <= 1.96 * row.standard_error!) tally.heldAlone++;
      const mean = (of: readonly number[]) => of.reduce((a, b) => a + b, 0) / of.length;
      tally.off += off;
      tally.offRead += mean(own.flatMap(({ value }) => value ?? [])) - truth.get(row.shoe_id)!;
      tally.offHalf += mean(own.map(({ value }) => value ?? 0.6)) - truth.get(row.shoe_id)!;
    }
  }
  const { values } = tally;
  return {
    share_bounded: tally.share,
    values,
    only_bounds: tally.bounds,
    covered: tally.held / values,
    covered_normal: tally.heldAlone / values,
    bias: tally.off / values,
    bias_read_only: tally.offRead / values,
    bias_half_bound: tally.offHalf / values,
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 200);
  for (const bound of [1.0, 1.3, 1.6]) {
    console.log(bound, boundedCoverage(benches, { bound }));
    console.log(bound, "one visit", boundedCoverage(benches, { bound, visits: 1, visit: 0 }));
  }
}
