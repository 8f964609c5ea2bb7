import { isInstrument } from "../../records/selection.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench } from "../../records/types.ts";
import { normalQuantile, tUpper } from "../../statistics/distributions.ts";
import { holmLevels } from "../../statistics/holm_levels.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import type { Reason } from "../../statistics/reason.ts";
import { twoSidedP } from "../../statistics/single_step_level.ts";
import { type Fineness, fineness } from "../comparison/catalogue_standing.ts";
import { comparedImpression, comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { panelContrasts } from "../comparison/panel_contrasts.ts";
import { panelValues } from "../panel/panel_values.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { valueInterval } from "../repeatability/value_interval.ts";
import { askedAttribute, askedMetric, namesOf } from "../shoes/asked_shoes.ts";
import { boundGap, reachOfBound } from "../shoes/bound_gap.ts";
import type { BoundedOn, BoundedShoe } from "../shoes/bounded_readings.ts";
import { boundedShoes, publishedVisits } from "../shoes/published_visits.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";

/** A metric or an impression that is asked about. */
export type AskedOn = { readonly metric: string } | { readonly attribute: string };

/** One shoe's value on a metric or an impression. */
export type ShoeOn = {
  readonly shoe_id: string;
  readonly name: string;
  readonly value: number;
  /** Of the value by itself; null where the noise is unknown. */
  readonly lower: number | null;
  readonly upper: number | null;
  /** Trials, or ratings. */
  readonly readings: number;
};

/** How two shoes differ, with what noise does to it. */
export type Difference = {
  readonly a: string;
  readonly b: string;
  /** a minus b. */
  readonly difference: number;
  readonly variance: number;
  readonly freedom: number;
  readonly p: number;
};

/** Whether two shoes differ of which one or both are known by a bound only; by how much, nobody can say. */
export type BoundTest = {
  readonly b: string;
  /** Of the least that lies between them, two-sided; 1 where they may read the same. */
  readonly p: number;
  /** That least, in units of its noise. */
  readonly size: number;
};

/** All products on a metric or an impression, and how any of them differ. */
export type ShoesOn = {
  readonly on: ComparedOn;
  readonly told_in: Fineness;
  readonly told_in_reason: Reason | null;
  /** Reference shoes are left out, unless the bench ranks them. */
  readonly shoes: readonly ShoeOn[];
  /** Products that ran off the end of the scale: no value, only a bound. */
  readonly bounded: readonly (Pick<BoundedShoe, "shoe_id" | "bound" | "readings"> & {
    readonly name: string;
  })[];
  /** One shoe minus each of some others; those whose noise is unknown are left out. */
  readonly against: (shoe: string, others: readonly string[]) => readonly Difference[];
  /** One shoe against each of some others, where one of the two ran off the end of the scale. */
  readonly boundsAgainst: (shoe: string, others: readonly string[]) => readonly BoundTest[];
  readonly trials: number;
  readonly last_trial: string | null;
  readonly ratings: number;
};

/** Which shoes does a metric give only a bound of? */
export function boundedOn({ on, bounded }: Pick<ShoesOn, "on" | "bounded">): BoundedOn[] {
  return bounded.map(({ shoe_id, name }) => ({ shoe_id, name, title: on.title }));
}

/**
 * What is every shoe's value on a metric or an impression, and how do two differ?
 *
 * @throws {CantAnswer} if the metric is not fit to publish, or no shoe has a value
 */
export function shoesOn(
  bench: Bench,
  asked: AskedOn,
  { reliability, confidence }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence: number;
  },
): ShoesOn {
  const found = "metric" in asked
    ? onMetric(bench, asked.metric, { reliability, confidence })
    : onImpression(bench, asked.attribute, confidence);
  if (found.shoes.length > 0) return found;
  throw new CantAnswer(
    "metric" in asked
      ? { code: "not-measured", shoes: [], metrics: [asked.metric] }
      : { code: "not-rated", attribute: found.on.title },
    `No shoe has ${"metric" in asked ? "a trial" : "a rating"} on ${found.on.title}`,
  );
}

function onMetric(
  bench: Bench,
  typed: string,
  { reliability, confidence }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence: number;
  },
): ShoesOn {
  const metric = askedMetric(bench, typed);
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  if (about?.verdict === "not fit to publish") {
    throw new CantAnswer(
      { code: "not-fit-to-publish", metric: metric.title },
      `${metric.title} is not fit to publish, so no shoe's standing on it is`,
      [about.verdict_reason],
    );
  }
  const visits = publishedVisits(bench, metric.id);
  const byShoe = Map.groupBy(visits, ({ shoe_id }) => shoe_id);
  const names = namesById(bench);
  const values = shoeValues(bench, metric.id, metricNoise(about))
    .filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const valueOf = new Map(values.map(({ shoe_id, value }) => [shoe_id, value]));
  const beyond = boundedShoes(bench, metric.id)
    .filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const boundOf = new Map(beyond.map((row) => [row.shoe_id, row]));
  const knownOf = (shoe: string) => {
    const [bounded, value] = [boundOf.get(shoe), valueOf.get(shoe)];
    if (bounded !== undefined) return { visits: bounded.visits, ...reachOfBound(bounded.bound) };
    return value === undefined ? null : { visits: byShoe.get(shoe)!, low: value, high: value };
  };
  return {
    on: comparedMetric(metric),
    ...fineness(about),
    shoes: values.map(({ shoe_id, value, trials }): ShoeOn => {
      return {
        shoe_id,
        name: names.get(shoe_id)!,
        value,
        ...valueInterval(value, pairNoise(byShoe.get(shoe_id)!, [], about), confidence),
        readings: trials,
      };
    }),
    against: (shoe, others) =>
      others.flatMap((other): Difference[] => {
        if (!valueOf.has(shoe) || !valueOf.has(other)) return [];
        const noise = pairNoise(byShoe.get(shoe)!, byShoe.get(other)!, about);
        // Repeats that agree to the digit hide their noise; they don't show that there is none.
        if (noise === null || noise.variance === 0) return [];
        const difference = valueOf.get(shoe)! - valueOf.get(other)!;
        const p = twoSidedP(difference / Math.sqrt(noise.variance), noise.freedom);
        return [{ a: shoe, b: other, difference, p, ...noise }];
      }),
    boundsAgainst: (shoe, others) =>
      others.flatMap((other): BoundTest[] => {
        if (!boundOf.has(shoe) && !boundOf.has(other)) return [];
        const [own, known] = [shoe, other].map(knownOf);
        if (own === null || known === null) return [];
        const noise = pairNoise(own.visits, known.visits, about);
        if (noise === null || noise.variance === 0) return [];
        const size = (boundGap(own, known)?.gap ?? 0) / Math.sqrt(noise.variance);
        return [{ b: other, p: Math.min(1, 2 * tUpper(size, noise.freedom)), size }];
      }),
    bounded: beyond.map(({ shoe_id, bound, readings }) => ({
      shoe_id,
      name: names.get(shoe_id)!,
      bound,
      readings,
    })),
    trials: values.reduce((total, { trials }) => total + trials, 0),
    last_trial: visits.filter(({ shoe_id }) => valueOf.has(shoe_id)).map(({ date }) => date)
      .sort().at(-1) ?? null,
    ratings: 0,
  };
}

function onImpression(bench: Bench, typed: string, confidence: number): ShoesOn {
  const attribute = askedAttribute(bench, typed);
  const names = namesById(bench);
  const z = normalQuantile((1 + confidence) / 2);
  const values = panelValues(bench, attribute.id).shoes
    .filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  return {
    on: comparedImpression(attribute, bench.settings),
    told_in: "places",
    told_in_reason: null,
    shoes: values.map(({ shoe_id, value, standard_error, ratings }): ShoeOn => ({
      shoe_id,
      name: names.get(shoe_id)!,
      value,
      lower: standard_error === null ? null : value - z * standard_error,
      upper: standard_error === null ? null : value + z * standard_error,
      readings: ratings,
    })),
    bounded: [],
    boundsAgainst: () => [],
    against: (shoe, others) =>
      // The covariance of all differences grows with the square of their number; only its diagonal is used.
      inBatches(others, 20).flatMap((batch) => {
        const pairs = batch.map((other) => [shoe, other] as const);
        const found = panelContrasts(bench, attribute.id, pairs);
        const told = found.pairs.flatMap(({ difference, freedom }, index) =>
          difference === null ? [] : [{ difference, freedom, b: batch[index] }]
        );
        return told.flatMap(({ difference, freedom, b }, place): Difference[] => {
          const variance = found.covariance[place][place];
          if (!(variance > 0)) return [];
          const p = twoSidedP(difference / Math.sqrt(variance), freedom);
          return [{ a: shoe, b, difference, variance, freedom, p }];
        });
      }),
    trials: 0,
    last_trial: null,
    ratings: values.reduce((total, { ratings }) => total + ratings, 0),
  };
}

/** Which way counts as ahead: 1 more, -1 less; 0 where neither is better. */
export function directionOf({ better }: Pick<ComparedOn, "better">): 1 | -1 | 0 {
  return betterDirection(better);
}

/** Of these differences, which are shown? Holm's step-down keeps the risk of a single false one. */
export function shownDifferences<Tested extends Pick<Difference, "p">>(
  differences: readonly Tested[],
  confidence: number,
): readonly Tested[] {
  const levels = holmLevels(differences.map(({ p }) => p), 1 - confidence);
  return differences.filter((_, index) => levels[index].p_adjusted <= 1 - confidence);
}

function namesById(bench: Pick<Bench, "shoes">): ReadonlyMap<string, string> {
  const names = namesOf(bench.shoes);
  return new Map(bench.shoes.map(({ shoe_id }, index) => [shoe_id, names[index]]));
}

function inBatches<T>(list: readonly T[], size: number): T[][] {
  return Array.from(
    { length: Math.ceil(list.length / size) },
    (_, batch) => list.slice(batch * size, (batch + 1) * size),
  );
}
