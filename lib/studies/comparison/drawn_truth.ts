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
  return new Map([...values].map(([shoe, value]): [string, DrawnTruth] => {
    const noise = pairNoise(byShoe.get(shoe)!, [], about)?.variance ?? null;
    if (noise === null || noise === 0) {
      return [shoe, { value, draws: new Float64Array(draws).fill(value), noisy: false }];
    }
    const kept = between + noise > 0 ? between / (between + noise) : 1;
    const expected = centre + kept * (value - centre);
    const spread = Math.sqrt(kept * noise);
    // A stream of its own for every metric and shoe: one more in the table moves no draw of the others.
    const stream = randomStream(seed, place, bench.shoes.findIndex((own) => own.shoe_id === shoe));
    const drawn = stream.fillNormal(new Float64Array(draws));
    for (let draw = 0; draw < draws; draw++) drawn[draw] = expected + spread * drawn[draw];
    return [shoe, { value, draws: drawn, noisy: true }];
  }));
}
