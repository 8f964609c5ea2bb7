import { mean, sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { boundGap, reachOfBound } from "../shoes/bound_gap.ts";
import type { BoundedVisits } from "../shoes/bounded_readings.ts";
import { boundedShoes, type PublishedVisit, publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { valueInterval } from "../repeatability/value_interval.ts";
import type { MetricReliability, TrialReliability } from "../repeatability/trial_reliability.ts";
import type { AskedShoe } from "../shoes/asked_shoes.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import { catalogueShoes, fineness } from "./catalogue_standing.ts";
import { comparedMetric } from "./compared_on.ts";
import {
  type ComparedSide,
  type ComparedValue,
  pairsOf,
  type RawPair,
  withP,
} from "./compared_side.ts";

/** What the bench has on some shoes on one metric, and how each two differ, before any adjustment. */
export function benchSide(
  bench: Bench,
  metric: Metric,
  { shoes, reliability, confidence, together = 1 }: {
    readonly shoes: readonly AskedShoe[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence: number;
    /** Comparisons asked together, among which the risk of one that takes a bound is shared out. */
    readonly together?: number;
  },
): ComparedSide {
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  const visits = publishedVisits(bench, metric.id);
  const byShoe = Map.groupBy(visits, (visit) => visit.shoe_id);
  const catalogue = shoeValues(bench, metric.id, metricNoise(about));
  const asked = shoes.map(({ shoe_id }) => shoe_id);
  const standings = catalogueShoes(bench, metric, { asked, about, confidence });
  const placed = fineness(about).told_in === "places";
  const values = shoes.flatMap(({ shoe_id }): ComparedValue[] => {
    const own = catalogue.find((row) => row.shoe_id === shoe_id);
    const stands = standings.find((row) => row.shoe_id === shoe_id);
    if (own === undefined || stands === undefined) return [];
    return [{
      metric: metric.id,
      attribute: null,
      shoe_id,
      value: valueEstimate(own.value, byShoe.get(shoe_id)!, about, confidence),
      readings: own.trials,
      occasions: own.visits,
      last_benched: own.last_benched,
      percentile: stands.percentile,
      percentile_reason: stands.percentile_reason,
      better_than: stands.better_than,
      catalogue: stands.catalogue,
      standing_lower: placed ? stands.standing_lower : null,
      standing_upper: placed ? stands.standing_upper : null,
    }];
  });
  const beyond = new Map(boundedShoes(bench, metric.id).map((row) => [row.shoe_id, row]));
  const pairs = pairsOf(shoes).map(([a, b]) =>
    beyond.has(a.shoe_id) || beyond.has(b.shoe_id)
      ? boundedPair([a, b], { byShoe, beyond, about, metric, risk: (1 - confidence) / together })
      : benchPair([a, b], byShoe, about, metric)
  );
  return {
    on: comparedMetric(metric),
    one_pair: about?.unseen?.includes("pairs") ?? false,
    values,
    bounded: shoes.flatMap(({ shoe_id }) => {
      const own = beyond.get(shoe_id);
      if (own === undefined) return [];
      const { bound, bounded, readings } = own;
      return [{ metric: metric.id, shoe_id, bound, bounded, readings }];
    }),
    pairs,
    covariance: covarianceOf(pairs.filter((pair) => pair.p !== null), byShoe, about),
    visits: visits.filter((visit) => shoes.some(({ shoe_id }) => shoe_id === visit.shoe_id)),
    warnings: [],
  };
}

function valueEstimate(
  value: number,
  visits: readonly PublishedVisit[],
  about: MetricReliability | undefined,
  confidence: number,
): Estimate {
  const limits = valueInterval(value, pairNoise(visits, [], about), confidence);
  const n = sum(visits.map((visit) => visit.values.length));
  return {
    estimate: value,
    estimate_reason: null,
    ...limits,
    confidence,
    method: `${
      visits.some(({ bounded = 0 }) => bounded > 0)
        ? "mean of visits, with censored normals where readings are bounds"
        : "mean of visits"
    }${
      limits.lower === null
        ? "; no interval, since the noise is unknown"
        : ", t interval from the metric's variance components"
    }`,
    n,
    warnings: [],
  };
}

function benchPair(
  [a, b]: readonly [AskedShoe, AskedShoe],
  byShoe: ReadonlyMap<string, readonly Visit[]>,
  about: MetricReliability | undefined,
  metric: Metric,
): RawPair {
  const [own, other] = [a, b].map(({ shoe_id }) => byShoe.get(shoe_id) ?? []);
  const trialsOf = (visits: readonly Visit[]) => sum(visits.map((visit) => visit.values.length));
  const pair = {
    a: a.shoe_id,
    b: b.shoe_id,
    n: trialsOf(own) + trialsOf(other),
    method:
      "difference of means of visits, t from the metric's variance components (Satterthwaite)",
  };
  const none = (reason: RawPair["reason"]): RawPair => ({
    ...pair,
    difference: null,
    reason,
    standard_error: null,
    freedom: 0,
    p: null,
  });
  for (const [shoe, visits] of [[a, own], [b, other]] as const) {
    if (visits.length === 0) return none(noTrial(shoe.name, metric));
  }
  const noise = pairNoise(own, other, about);
  if (noise === null) return none(about?.components_reason ?? { code: "noise-unknown" });
  // Repeats that agree to the digit hide their noise; they don't show that there is none.
  if (noise.variance === 0) return none({ code: "hidden-by-resolution" });
  const valueOf = (visits: readonly Visit[]) =>
    mean(visits.map((visit) => mean([...visit.values])));
  return withP({
    ...pair,
    difference: valueOf(own) - valueOf(other),
    reason: null,
    standard_error: Math.sqrt(noise.variance),
    freedom: noise.freedom,
  });
}

/**
 * Two shoes of which at least one is known by a bound: which of them reads higher, where the other lies past that
 * bound by more than noise reaches (one-sided t, the risk shared out); how much higher, nobody can say.
 */
function boundedPair(
  [a, b]: readonly [AskedShoe, AskedShoe],
  { byShoe, beyond, about, metric, risk }: {
    readonly byShoe: ReadonlyMap<string, readonly PublishedVisit[]>;
    readonly beyond: ReadonlyMap<string, BoundedVisits>;
    readonly about: MetricReliability | undefined;
    readonly metric: Metric;
    readonly risk: number;
  },
): RawPair {
  const sides = [a, b].map(({ shoe_id, name }) => {
    const bounded = beyond.get(shoe_id);
    const visits = bounded?.visits ?? byShoe.get(shoe_id) ?? [];
    const value = bounded === undefined && visits.length > 0
      ? mean(visits.map((visit) => mean([...visit.values])))
      : null;
    const reach = bounded === undefined ? { low: value, high: value } : reachOfBound(bounded.bound);
    const readings = sum(visits.map(({ trials }) => trials.length));
    return { name, visits, readings, reach };
  });
  const [own, other] = sides;
  const told = (reason: Reason, higher?: "a" | "b"): RawPair => ({
    a: a.shoe_id,
    b: b.shoe_id,
    difference: null,
    reason,
    standard_error: null,
    freedom: 0,
    p: null,
    n: own.readings + other.readings,
    method:
      "bound against value, one-sided t from the metric's variance components (Satterthwaite)",
    ...(higher === undefined ? {} : { higher }),
  });
  const empty = sides.find(({ visits }) => visits.length === 0);
  if (empty !== undefined) return told(noTrial(empty.name, metric));
  const { unit, decimals } = metric;
  const noise = pairNoise(own.visits, other.visits, about);
  const found = boundGap(own.reach, other.reach);
  if (found !== null) {
    if (noise === null) return told(about?.components_reason ?? { code: "noise-unknown" });
    const least = found.gap - tQuantile(1 - risk, noise.freedom) * Math.sqrt(noise.variance);
    const [high, low] = found.higher === "a" ? [own, other] : [other, own];
    if (least > 0) {
      const names = { higher: high.name, lower: low.name };
      return told({ code: "bound-apart", ...names, least, unit, decimals }, found.higher);
    }
  }
  return told({ code: "bound-in-reach", a: own.name, b: other.name });
}

/** Of differences with each other: what their shoes' values share of sessions and operators. */
function covarianceOf(
  pairs: readonly RawPair[],
  byShoe: ReadonlyMap<string, readonly Visit[]>,
  about: MetricReliability | undefined,
): number[][] {
  const visits = (shoe: string) => byShoe.get(shoe)!;
  const own = (shoe: string) => pairNoise(visits(shoe), [], about)!.variance;
  const between = (a: string, b: string) =>
    a === b ? own(a) : (own(a) + own(b) - pairNoise(visits(a), visits(b), about)!.variance) / 2;
  return pairs.map(({ a, b }) =>
    pairs.map((other) =>
      between(a, other.a) - between(a, other.b) - between(b, other.a) + between(b, other.b)
    )
  );
}

/** A shoe that was never benched on a metric. */
function noTrial(shoe: string, { title }: Pick<Metric, "title">): Reason {
  return { code: "no-trial", shoe, metric: title };
}
