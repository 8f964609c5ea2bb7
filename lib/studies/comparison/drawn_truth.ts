import { mean, sampleVariance } from "simple-statistics";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench } from "../../records/types.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** What a shoe's true value on a metric may be. */
export type DrawnTruth = {
  readonly value: number;
  readonly draws: Float64Array;
  readonly noisy: boolean;
};

/**
 * What may every shoe truly be on a metric, given its noise?
 *
 * The noise itself is known only as well as its readings tell: each draw takes a noise that may have been, the same for
 * all shoes (freedom × variance over chi-squared), so that few readings make no shoe certain.
 *
 * @returns shoe id → draws of its true value, drawn in towards the catalogue's mean
 */
export function drawTruth(
  bench: Bench,
  id: string,
  { reliability, seed, draws }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly draws: number;
  },
): ReadonlyMap<string, DrawnTruth> {
  const about = reliability.metrics.find((row) => row.metric === id);
  const byShoe = Map.groupBy(publishedVisits(bench, id), (visit) => visit.shoe_id);
  const values = new Map(
    [...byShoe].map(([shoe, visits]) => [
      shoe,
      mean(visits.map((visit) => mean([...visit.values]))),
    ]),
  );
  const all = [...values.values()];
  const centre = all.length === 0 ? 0 : mean(all);
  const between = about?.components.find((part) => part.source === "shoe")?.variance ??
    (all.length > 1 ? sampleVariance(all) : 0);
  const place = bench.metrics.findIndex((metric) => metric.id === id);
  const known = randomStream(seed, place, 0, 1).fillNormal(new Float64Array(draws));
  return new Map([...values].map(([shoe, value]): [string, DrawnTruth] => {
    const own = pairNoise(byShoe.get(shoe)!, [], about);
    if (own === null || own.variance === 0) {
      return [shoe, { value, draws: new Float64Array(draws).fill(value), noisy: false }];
    }
    // A stream of its own for every metric and shoe: one more in the table moves no draw of the others.
    const stream = randomStream(seed, place, bench.shoes.findIndex((own) => own.shoe_id === shoe));
    const drawn = stream.fillNormal(new Float64Array(draws));
    for (let draw = 0; draw < draws; draw++) {
      const noise = own.variance * inflation(known[draw], own.freedom);
      const kept = between / (between + noise);
      drawn[draw] = centre + kept * (value - centre) + Math.sqrt(kept * noise) * drawn[draw];
    }
    return [shoe, { value, draws: drawn, noisy: true }];
  }));
}

/** Freedom over a chi-squared number of it, from a normal one (the cube root is nearly normal: PNAS 17:684, 1931). */
function inflation(normal: number, freedom: number): number {
  if (freedom === Infinity) return 1;
  const part = 2 / (9 * freedom);
  // A cube root below this lies in a tail that draws don't reach but where freedom is 1 or 2.
  return 1 / Math.max(0.02, 1 - part + normal * Math.sqrt(part)) ** 3;
}
