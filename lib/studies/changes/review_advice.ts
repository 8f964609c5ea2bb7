import type { BenchCoverage } from "../coverage/bench_coverage.ts";
import type { RigDrift } from "../drift/rig_drift.ts";
import type { FlaggedTrial, MetricReliability } from "../repeatability/trial_reliability.ts";

/** One thing that a review advises: a code, and what it is about. */
export type Advice = {
  readonly code:
    | "check-rig"
    | "look-at-readings"
    | "stop-publishing"
    | "take-more-trials"
    | "rebench-catalogue"
    | "bench-missing";
  readonly metric: string;
  readonly rig: string | null;
  /** Readings to look at, shoes to bench, trials a visit to take; null where there is no number. */
  readonly count: number | null;
};

/** What advice is drawn from. */
export type AdviceParts = {
  readonly reliability: readonly (
    & Pick<MetricReliability, "metric" | "verdict" | "trials_per_visit">
    & {
      readonly outliers: readonly Pick<FlaggedTrial, "line">[];
      /** Absent in reviews from before it was told. */
      readonly withdrawn?: string | null;
      readonly trials_needed: Pick<MetricReliability["trials_needed"], "icc_90">;
    }
  )[];
  readonly drift: { readonly rigs: readonly Pick<RigDrift, "metric" | "rig" | "verdict">[] };
  readonly coverage: {
    readonly metrics: readonly Pick<
      BenchCoverage["metrics"][number],
      "metric" | "shoes_missing" | "shoes_before_metric"
    >[];
  };
};

/**
 * All that a review advises to do, one thing an entry, the most misleading first.
 *
 * A drifting rig, readings that stand out, metrics not fit to publish, more trials where these would let a
 * metric rank single shoes, shoes to bench.
 */
export function reviewAdvice({ reliability, drift, coverage }: AdviceParts): Advice[] {
  const about = (code: Advice["code"], metric: string, count: number | null = null): Advice => ({
    code,
    metric,
    rig: null,
    count,
  });
  return [
    ...drift.rigs.filter(({ verdict }) => verdict === "the bench drifts")
      .map(({ metric, rig }): Advice => ({ ...about("check-rig", metric), rig })),
    ...reliability.filter(({ outliers }) => outliers.length > 0)
      .map(({ metric, outliers }) => about("look-at-readings", metric, outliers.length)),
    ...reliability.filter(({ verdict, withdrawn }) =>
      verdict === "not fit to publish" && (withdrawn ?? null) === null
    )
      .map(({ metric }) => about("stop-publishing", metric)),
    ...reliability.filter(({ verdict, trials_needed, trials_per_visit }) =>
      verdict === "fit for groups only" && trials_needed.icc_90 !== null &&
      trials_needed.icc_90 > trials_per_visit
    ).map(({ metric, trials_needed }) => about("take-more-trials", metric, trials_needed.icc_90)),
    ...coverage.metrics.filter(({ shoes_before_metric }) => shoes_before_metric > 0)
      .map((row) => about("rebench-catalogue", row.metric, row.shoes_before_metric)),
    ...coverage.metrics.filter(({ shoes_missing }) => shoes_missing > 0)
      .map((row) => about("bench-missing", row.metric, row.shoes_missing)),
  ];
}
