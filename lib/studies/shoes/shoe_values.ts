import { mean, sum } from "simple-statistics";
import type { Bench } from "../../records/types.ts";
import { correctionVariance } from "../drift/reference_correction.ts";
import { publishedVisits } from "./published_visits.ts";
import type { MetricReliability } from "../repeatability/trial_reliability.ts";

/** What the bench says of one shoe on one metric, with the noise that is left in it. */
export type ShoeValue = {
  readonly shoe_id: string;
  /** In the metric's unit: the mean of the shoe's visits, each the mean of its trials. */
  readonly value: number;
  /** From the metric's variance components; null when they are unknown. */
  readonly standard_error: number | null;
  readonly trials: number;
  readonly visits: number;
  readonly last_benched: string;
  /** Trials known by a bound only: with them the value is a maximum likelihood of censored normals. */
  readonly bounded: number;
};

/** Variances of a metric's noise, in its unit squared. */
export type MetricNoise = {
  /** Trial to trial within a visit. */
  readonly trial: number;
  /** Visit to visit of one shoe; 0 where the design can't tell it from trial noise. */
  readonly visit: number;
  /** Pair to pair of one model; 0 where no shoe was tested in two. */
  readonly pair: number;
  /** Operator to operator; 0 where there is one or they can't be told apart. */
  readonly operator: number;
};

/**
 * How noisy is a metric, as its repeatability study found?
 *
 * @returns null when the study could not split the variance
 */
export function metricNoise(
  reliability: Pick<MetricReliability, "components"> | undefined,
): MetricNoise | null {
  const variance = (source: string) =>
    reliability?.components.find((component) => component.source === source)?.variance;
  const trial = variance("residual");
  // Without a shoe component nothing was read twice, and the residual holds the shoes' own differences.
  if (trial === undefined || variance("shoe") === undefined) return null;
  return {
    trial,
    visit: sum(["shoe:session", "session", "shoe:operator"].map((source) => variance(source) ?? 0)),
    pair: variance("shoe:pair") ?? 0,
    operator: variance("operator") ?? 0,
  };
}

/**
 * What is every shoe's value on a metric, and how sure is it?
 *
 * Visits count alike however many trials each has: the visit-to-visit part of the noise is not
 * lessened by more trials. Standard error² = Σ over visits of (visit variance + trial variance /
 * trials) / visits² + pair variance / pairs + operator variance / operators + what is left of the
 * uncertainty of a correction to the reference shoes, where values are corrected. Trials at the end of
 * the scale count with what they tell (`boundedReadings`); a shoe of which only a bound is known has no value (`boundedShoes`).
 *
 * @param noise from {@link metricNoise}; null leaves the standard errors null
 * @returns one value a shoe that has any, in order of shoe id
 */
export function shoeValues(
  bench: Bench,
  metric: string,
  noise: MetricNoise | null,
): readonly ShoeValue[] {
  const byShoe = Map.groupBy(publishedVisits(bench, metric), (visit) => visit.shoe_id);
  return [...byShoe].map(([shoe_id, visits]): ShoeValue => {
    const operators = new Set(visits.map((visit) => visit.operator)).size;
    const pairs = new Set(visits.map((visit) => visit.pair)).size;
    const { correction } = visits[0];
    const shared = correction === null ? 0 : correctionVariance(
      correction,
      visits.map((visit) => ({ visit, weight: 1 / visits.length })),
    );
    return {
      shoe_id,
      value: mean(visits.map((visit) => mean([...visit.values]))),
      standard_error: noise === null ? null : Math.sqrt(
        sum(visits.map(({ values, worth = values.length }) => noise.visit + noise.trial / worth)) /
            visits.length ** 2 + noise.pair / pairs + noise.operator / operators + shared,
      ),
      trials: sum(visits.map((visit) => visit.values.length)),
      visits: visits.length,
      last_benched: visits.map((visit) => visit.date).sort().at(-1)!,
      bounded: sum(visits.map((visit) => visit.bounded ?? 0)),
    };
  }).toSorted((a, b) => a.shoe_id < b.shoe_id ? -1 : 1);
}
