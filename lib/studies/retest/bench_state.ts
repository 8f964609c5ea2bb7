import { isComputed } from "../../records/selection.ts";
import { mean } from "simple-statistics";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { namesOf } from "../shoes/asked_shoes.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";

/** What the bench knows of one shoe on one metric; `visits` and `noise` move with the plan. */
export type Cell = {
  readonly shoe: number;
  readonly metric: Metric;
  readonly value: number | null;
  readonly late: boolean;
  readonly rated: boolean;
  readonly trials: number;
  /** Variance between shoes, and of one more visit. */
  readonly between: number;
  readonly perVisit: number;
  visits: number;
  /** Variance of the value's noise; infinite before the first visit. */
  noise: number;
};

export type BenchState = {
  readonly shoes: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly cells: readonly Cell[];
  readonly studied: ReadonlyMap<string, MetricState>;
  /** Titles of metrics that can't be planned, since their noise is unknown. */
  readonly unplanned: readonly string[];
};

type MetricState = {
  readonly values: ReadonlyMap<string, number>;
  readonly noise: ReadonlyMap<string, number>;
  readonly centre: number;
  readonly between: number;
};

/** What is known of every shoe on every metric that is still read. */
export function benchState(
  bench: Bench,
  { reliability, today }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly today: string;
  },
): BenchState {
  const unplanned: string[] = [];
  const active = bench.metrics.filter(({ introduced, retired }) =>
    introduced <= today && (retired === null || retired > today)
  );
  const rated = new Set(
    bench.impressions.filter(({ rating }) => rating !== null).map(({ shoe_id }) => shoe_id),
  );
  const first = bench.sessions.map(({ date }) => date).sort()[0] ?? today;
  const studied = new Map<string, MetricState>();
  const cells: Cell[] = [];
  for (const metric of active) {
    const about = reliability.metrics.find((row) => row.metric === metric.id);
    const noise = metricNoise(about);
    if (about === undefined || noise === null) {
      unplanned.push(metric.title);
      continue;
    }
    const rows = new Map(shoeValues(bench, metric.id, noise).map((row) => [row.shoe_id, row]));
    const byShoe = Map.groupBy(publishedVisits(bench, metric.id), (visit) => visit.shoe_id);
    const noiseOf = new Map(
      [...byShoe].map(([shoe, visits]) => [shoe, pairNoise(visits, [], about)!.variance]),
    );
    const all = [...rows.values()].map((row) => row.value);
    const between = about.components.find((part) => part.source === "shoe")?.variance ?? 0;
    studied.set(metric.id, {
      values: new Map([...rows].map(([shoe, row]) => [shoe, row.value])),
      noise: noiseOf,
      centre: all.length === 0 ? 0 : mean(all),
      between,
    });
    // A computed metric is benched with its source.
    if (isComputed(metric, bench.metrics)) continue;
    bench.shoes.forEach(({ shoe_id }, shoe) =>
      cells.push({
        shoe,
        metric,
        value: rows.get(shoe_id)?.value ?? null,
        late: !rows.has(shoe_id) && metric.introduced > first,
        rated: rated.has(shoe_id),
        trials: about.trials_per_visit,
        between,
        perVisit: noise.visit + noise.operator + noise.trial / about.trials_per_visit,
        visits: rows.get(shoe_id)?.visits ?? 0,
        noise: noiseOf.get(shoe_id) ?? Infinity,
      })
    );
  }
  const names = namesOf(bench.shoes);
  const shoes = bench.shoes.map(({ shoe_id }, index) => ({ shoe_id, name: names[index] }));
  return { shoes, cells, studied, unplanned };
}

/** Variance of what is not known of a true value: a normal prior between shoes, normal noise. */
export function posterior(between: number, noise: number): number {
  if (noise === Infinity) return between;
  return between + noise > 0 ? between * noise / (between + noise) : 0;
}

/** Means of visits count alike in a value, so one more visit joins as 1 / (visits + 1). */
export function noiseAfter({ visits, noise, perVisit }: Cell): number {
  return visits === 0 ? perVisit : (noise * visits ** 2 + perVisit) / (visits + 1) ** 2;
}
