import type { Better } from "../records/types.ts";
import type { Estimate } from "../statistics/estimate.ts";

/** What a metric's published mean is good for, by the lower limit of its ICC. */
export type ReliabilityVerdict =
  | "fit to rank single shoes"
  | "fit for tiers"
  | "fit for groups only"
  | "not fit to publish"
  | "too few shoes to tell";

/** One source of variance of a metric. */
export type VarianceSource = {
  /** `shoe`, `operator`, `shoe:session`, `residual`. */
  readonly source: string;
  /** In the metric's unit, squared. */
  readonly variance: number;
  readonly share: number;
  /** The estimate lies at zero because the data would have it negative. */
  readonly boundary: boolean;
};

/** A trial that stands out from its visit: for a person to look at, never dropped. */
export type FlaggedTrial = {
  readonly shoe_id: string;
  readonly session_id: string;
  readonly trial: number;
  /** Line in trials.csv. */
  readonly line: number;
  readonly value: number;
  /** Distance from the mean of its visit, in the metric's unit. */
  readonly residual: number;
  readonly statistic: number;
  readonly critical: number;
  readonly method: string;
};

/** How far one metric can be trusted. */
export type MetricReliability = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly better: Better;
  readonly decimals: number;
  readonly shoes: number;
  readonly visits: number;
  readonly trials: number;
  readonly excluded: number;
  /** Trials behind a published mean: the usual number in a visit. */
  readonly trials_per_visit: number;
  readonly icc_single: Estimate;
  readonly icc_mean: Estimate;
  /** Standard error of measurement of a published mean within a session. */
  readonly sem: Estimate;
  readonly repeatability_sd: Estimate;
  readonly repeatability_limit: Estimate;
  /** Smallest difference between two shoes that is not noise, at the lab's confidence. */
  readonly mdc: {
    readonly single: Estimate;
    readonly mean: Estimate;
    /** The same for means from two different sessions. */
    readonly mean_across_sessions: Estimate;
  };
  /** Standard deviation of shoe means over the catalogue, and their range. */
  readonly spread: {
    readonly sd: number | null;
    readonly low: number | null;
    readonly high: number | null;
  };
  readonly cv: Estimate;
  readonly components: readonly VarianceSource[];
  /** Sources the design can't tell apart from others, each with what it is mixed with. */
  readonly dropped: readonly string[];
  readonly distinct_categories: number | null;
  readonly distinct_categories_reason: string | null;
  readonly trials_needed: {
    readonly icc_75: number | null;
    readonly icc_75_reason: string | null;
    readonly icc_90: number | null;
    readonly icc_90_reason: string | null;
    /** So that the MDC of the mean falls to the metric's smallest difference that matters. */
    readonly smallest_difference: number | null;
    readonly smallest_difference_reason: string | null;
  };
  /** Change a trial within a visit, in the metric's unit. */
  readonly order_effect: Estimate;
  readonly outliers: readonly FlaggedTrial[];
  readonly verdict: ReliabilityVerdict;
  /** One sentence that a viewer understands. */
  readonly sentence: string;
};

/** How far every metric can be trusted. */
export type TrialReliability = {
  readonly until: string;
  readonly confidence: number;
  readonly metrics: readonly MetricReliability[];
  readonly warnings: readonly string[];
};
