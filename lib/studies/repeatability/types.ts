import type { Better } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { BoundedShare } from "../shoes/bounded_readings.ts";
import type { CoarseSteps } from "./coarse_steps.ts";
import type { DroppedSource } from "./noise_model.ts";
import type { ReliabilityVerdict } from "./verdicts.ts";

export type { ReliabilityVerdict };

/** Sources by which visits of one shoe differ: what more trials in a visit do not lessen. */
export const betweenVisits = ["operator", "session", "shoe:session", "shoe:pair"] as const;

/** A scatter that a bench has not seen, so that no figure of it holds any. */
export type UnseenScatter = "days" | "pairs" | "operators";

/** How noisy published means are, with the drift of rigs and days left in or taken out. */
export type NoiseFigures = {
  readonly icc_mean: Estimate;
  /** Smallest difference of two means of different sessions that is not noise. */
  readonly mdc: Estimate;
  /** In the metric's unit, squared: sessions about their rig and day, and visits of one shoe. */
  readonly session: number | null;
  readonly visit: number | null;
  readonly verdict: ReliabilityVerdict;
};

/** Noise as published, and with rigs and days brought to the level of the reference shoes. */
export type DriftNoise = {
  readonly in_force: "as read" | "corrected";
  readonly as_read: NoiseFigures;
  /** Where a drift of rigs or days is found, or its correction is in force. */
  readonly corrected: NoiseFigures | null;
  readonly corrected_reason: Reason | null;
  /** Of the hypothesis that rigs and days read alike; Holm's over all metrics. */
  readonly drift_p: number | null;
  readonly drift_p_familywise: number | null;
  readonly drift_found: boolean;
  /** What makes up the noise of a published mean as read, as variances in the unit squared. */
  readonly causes: {
    readonly drift: number;
    readonly visits: number;
    readonly trials: number;
  } | null;
  readonly largest: "drift" | "visits" | "trials" | null;
};

/** One source of variance of a metric. */
export type VarianceSource = {
  /** `shoe`, `shoe:pair`, `shoe:side`, `operator`, `session`, `shoe:session`, `residual`. */
  readonly source: string;
  /** In the metric's unit, squared. */
  readonly variance: number;
  readonly share: number;
  /** The estimate lies at zero because the data would have it negative. */
  readonly boundary: boolean;
  /** Limits of the variance at the lab's confidence; null where the design gives none. */
  readonly lower: number | null;
  readonly upper: number | null;
  /** Shoes, operators, sessions or visits it was estimated from; readings for the residual. */
  readonly levels: number;
};

/** A trial that stands out from its visit: for a person to look at, never dropped. */
export type FlaggedTrial = {
  readonly shoe_id: string;
  readonly session_id: string;
  readonly trial: number;
  readonly pair: number;
  readonly side: "left" | "right" | null;
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
  /** Why its tester publishes it no longer; null where it is published. */
  readonly withdrawn: string | null;
  /** Smallest difference that matters to a player, in the metric's unit. */
  readonly smallest_difference: number | null;
  readonly shoes: number;
  readonly visits: number;
  readonly trials: number;
  readonly excluded: number;
  /** Trials behind a published mean: the median over visits, reference shoes left out. */
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
  /** Why there are none. */
  readonly components_reason: Reason | null;
  /** Sources the design can't tell apart from others, each with what it is mixed with. */
  readonly dropped: readonly DroppedSource[];
  readonly distinct_categories: number | null;
  readonly distinct_categories_reason: Reason | null;
  readonly trials_needed: {
    readonly icc_75: number | null;
    readonly icc_75_reason: Reason | null;
    readonly icc_90: number | null;
    readonly icc_90_reason: Reason | null;
    /**
     * So that the MDC of two means falls to the metric's smallest difference that matters: means of two
     * sessions where these could be told apart from trials, else of one session.
     */
    readonly smallest_difference: number | null;
    readonly smallest_difference_reason: Reason | null;
  };
  /** Change a trial within a visit, in the metric's unit. */
  readonly order_effect: Estimate;
  /** Whether trials change within a visit; `found` holds the false alarms of all metrics together. */
  readonly order_test: {
    readonly p: number | null;
    readonly p_reason: Reason | null;
    /** Holm's, over all metrics of the study. */
    readonly p_familywise: number | null;
    readonly found: boolean;
  };
  readonly outliers: readonly FlaggedTrial[];
  readonly verdict: ReliabilityVerdict;
  /** The rule that gave the verdict, with its figures. */
  readonly verdict_reason: Reason;
  /** Readings known by a bound only; their visits are in no figure of noise. */
  readonly bounded: BoundedShare | null;
  /** Where readings are taken in steps as coarse as what they are to show; else null. */
  readonly steps: CoarseSteps | null;
  /** Scatter that this bench has not seen on this metric. */
  readonly unseen: readonly UnseenScatter[];
  /** The drift of rigs and days: left in or taken out, and what it makes of the noise. */
  readonly drift_noise: DriftNoise;
};

/** How far every metric can be trusted. */
export type TrialReliability = {
  readonly until: string;
  readonly confidence: number;
  readonly metrics: readonly MetricReliability[];
  readonly warnings: readonly ReliabilityWarning[];
};

/** What a reader should know, and of which metrics; of all where `metrics` is null. */
export type ReliabilityWarning = {
  readonly metrics: readonly string[] | null;
  readonly reason: Reason;
};
