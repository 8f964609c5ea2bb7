import type { ReasonOrWords } from "../../statistics/reason.ts";
import { median, sampleStandardDeviation, sum } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import { type Visit, visitsOf } from "../../records/selection.ts";
import type { Bench, Better, Metric } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { coefficientOfVariation } from "../../statistics/coefficient_of_variation.ts";
import { distinctCategories } from "../../statistics/distinct_categories.ts";
import { normalUpperQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { minimalDetectableChange } from "../../statistics/minimal_detectable_change.ts";
import { repeatabilityLimit } from "../../statistics/repeatability_limit.ts";
import { repeatabilitySd } from "../../statistics/repeatability_sd.ts";
import { standardErrorOfMeasurement } from "../../statistics/standard_error_of_measurement.ts";
import { type BenchNoise, benchNoise } from "./bench_noise.ts";
import { flagTrials } from "./flag_trials.ts";
import { type OrderEffect, orderEffect } from "./order_effect.ts";
import { reliabilitySentence } from "../../words/repeatability/reliability_sentence.ts";
import { reliabilityVerdict } from "./reliability_verdict.ts";
import { spreadGrows } from "./spread_grows.ts";
import { trialsForDifference, trialsForIcc, type TrialsNeeded } from "./trials_needed.ts";

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
  readonly components_reason: ReasonOrWords | null;
  /** Sources the design can't tell apart from others, each with what it is mixed with. */
  readonly dropped: readonly string[];
  readonly distinct_categories: number | null;
  readonly distinct_categories_reason: ReasonOrWords | null;
  readonly trials_needed: {
    readonly icc_75: number | null;
    readonly icc_75_reason: ReasonOrWords | null;
    readonly icc_90: number | null;
    readonly icc_90_reason: ReasonOrWords | null;
    /**
     * So that the MDC of two means falls to the metric's smallest difference that matters: means of two
     * sessions where these could be told apart from trials, else of one session.
     */
    readonly smallest_difference: number | null;
    readonly smallest_difference_reason: ReasonOrWords | null;
  };
  /** Change a trial within a visit, in the metric's unit. */
  readonly order_effect: Estimate;
  /** Whether trials change within a visit; `found` holds the false alarms of all metrics together. */
  readonly order_test: {
    readonly p: number | null;
    readonly p_reason: ReasonOrWords | null;
    /** Holm's, over all metrics of the study. */
    readonly p_familywise: number | null;
    readonly found: boolean;
  };
  readonly outliers: readonly FlaggedTrial[];
  readonly verdict: ReliabilityVerdict;
  /** The rule that gave the verdict, with its figures. */
  readonly verdict_reason: string;
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

/**
 * Can a difference between two shoes be told from noise, metric by metric?
 *
 * Components by REML (`benchNoise`), repeatability from the scatter within visits, and what follows from
 * them: SEM, MDC, distinct categories, trials needed. A published mean is the mean of the usual number
 * of trials in one visit. The verdict follows the lower limit of its ICC; "too few shoes to tell" when
 * the interval reaches from below .50 to .90 or above, or when there is none. Trials that stand out are
 * flagged for a person and stay in every figure. Order effects are claimed after Holm's adjustment over
 * the metrics, flags at a risk divided by their number.
 *
 * @param bench cut at a quarter's end with `benchUntil` if need be; excluded trials are left out and counted
 * @param options.metrics ids, in the order wanted; all of the bench by default
 * @param options.resamples bootstrap draws for each metric whose design has no exact limits
 * @returns one entry a metric, null with a reason where the design can't answer
 * @throws {RangeError} if a metric is unknown or an option is out of range
 */
export function trialReliability(
  bench: Bench,
  { seed, confidence = bench.settings.confidence, resamples = 1000, metrics }: {
    readonly seed: number;
    readonly confidence?: number;
    readonly resamples?: number;
    readonly metrics?: readonly string[];
  },
): TrialReliability {
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0 and 1, was given ${confidence}`);
  }
  if (!Number.isSafeInteger(resamples) || resamples < 100) {
    throw new RangeError(`resamples is a whole number of at least 100, was given ${resamples}`);
  }
  const wanted = metrics === undefined ? bench.metrics : metrics.map((id) => {
    const found = bench.metrics.find((metric) => metric.id === id);
    if (found === undefined) {
      throw new CantAnswer(
        { code: "not-on-bench", what: "metric", id: id },
        `There is no metric "${id}"; the bench has ${bench.metrics.map((m) => m.id).join(", ")}`,
      );
    }
    return found;
  });
  const excluded = new Map<string, number>();
  for (const { metric_id, excluded: reason } of bench.trials) {
    if (reason !== null) excluded.set(metric_id, (excluded.get(metric_id) ?? 0) + 1);
  }
  const studied = wanted.map((metric) =>
    studyMetric(metric, visitsOf(bench, metric.id), {
      references: bench.settings.reference_shoes,
      trialsPlanned: bench.settings.trials_per_visit,
      excluded: excluded.get(metric.id) ?? 0,
      confidence,
      resamples,
      // The metric's place in the bench, so that a study of one metric gives the figures of the whole.
      seed: seed + bench.metrics.indexOf(metric),
      flagRisk: (1 - confidence) / bench.metrics.length,
    })
  );
  const tested = studied.filter(({ order }) => order.p !== null);
  const adjusted = adjustP(tested.map(({ order }) => order.p!), "holm");
  const familywise = new Map(tested.map((study, i) => [study, adjusted[i]]));
  return {
    until: bench.sessions.map(({ date }) => date).sort().at(-1) ?? "",
    confidence,
    metrics: studied.map((study): MetricReliability => {
      const { order, reliability } = study;
      const p_familywise = familywise.get(study) ?? null;
      const order_test = {
        p: order.p,
        p_reason: order.p_reason,
        p_familywise,
        found: p_familywise !== null && p_familywise < 1 - confidence,
      };
      const whole = { ...reliability, order_test };
      return { ...whole, sentence: reliabilitySentence(whole) };
    }),
    warnings: sharedWarnings(studied),
  };
}

/** Each warning once, with the metrics it holds for unless it holds for all. */
function sharedWarnings(studied: readonly MetricStudy[]): string[] {
  const byWarning = new Map<string, string[]>();
  for (const { warnings, reliability } of studied) {
    for (const warning of warnings) {
      byWarning.set(warning, [...byWarning.get(warning) ?? [], reliability.title]);
    }
  }
  return [...byWarning].map(([warning, titles]) =>
    titles.length === studied.length ? warning : `${titles.join(", ")}: ${warning}`
  );
}

type MetricStudy = {
  readonly reliability: Omit<MetricReliability, "order_test" | "sentence">;
  readonly order: OrderEffect;
  readonly warnings: readonly string[];
};

function studyMetric(
  metric: Metric,
  visits: readonly Visit[],
  { references, trialsPlanned, excluded, confidence, resamples, seed, flagRisk }: {
    readonly references: readonly string[];
    readonly trialsPlanned: number;
    readonly excluded: number;
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
    readonly flagRisk: number;
  },
): MetricStudy {
  const k = usualTrials(visits, references, trialsPlanned);
  const byVisit = visits.map(({ values }) => values);
  const noise = benchNoise(visits, {
    references,
    trialsPerVisit: k,
    confidence,
    resamples,
    seed,
  });
  const repeatability = ofShoes(repeatabilitySd(byVisit, { confidence }));
  const mdcOptions = { probability: confidence };
  const logarithms = spreadGrows(visits);
  const means = shoeMeans(visits);
  const verdict = reliabilityVerdict(noise.icc_mean);
  const order = orderEffect(visits, { confidence });
  const benchSd = noise.shares === null ? null : Math.sqrt(noise.shares.visit + noise.shares.trial);
  const categories = benchSd === null
    ? { categories: null, categories_reason: noise.icc_single.estimate_reason }
    : distinctCategories(Math.sqrt(noise.shares!.shoe), benchSd);
  return {
    order,
    warnings: noise.warnings,
    reliability: {
      metric: metric.id,
      title: metric.title,
      unit: metric.unit,
      better: metric.better,
      decimals: metric.decimals,
      smallest_difference: metric.smallest_difference,
      shoes: new Set(visits.map(({ shoe_id }) => shoe_id)).size,
      visits: visits.length,
      trials: sum(visits.map(({ values }) => values.length)),
      excluded,
      trials_per_visit: k,
      icc_single: noise.icc_single,
      icc_mean: noise.icc_mean,
      sem: standardErrorOfMeasurement(repeatability, { averaged: k }),
      repeatability_sd: repeatability,
      repeatability_limit: repeatabilityLimit(repeatability, mdcOptions),
      mdc: {
        single: minimalDetectableChange(repeatability, mdcOptions),
        mean: minimalDetectableChange(repeatability, { averaged: k, ...mdcOptions }),
        mean_across_sessions: mdcAcross(noise, confidence),
      },
      spread: {
        sd: means.length < 2 ? null : sampleStandardDeviation(means),
        low: means.length === 0 ? null : Math.min(...means),
        high: means.length === 0 ? null : Math.max(...means),
      },
      cv: metric.scale === "interval"
        ? noEstimate("the scale's zero is arbitrary, so a share of a reading means nothing", {
          confidence,
          method: "none: interval scale",
          n: repeatability.n,
        })
        : ofShoes(coefficientOfVariation(byVisit, {
          method: logarithms ? "log" : "root-mean-square",
          confidence,
        })),
      components: noise.components,
      components_reason: noise.components_reason,
      dropped: noise.dropped,
      distinct_categories: categories.categories,
      distinct_categories_reason: categories.categories_reason,
      trials_needed: trialsNeeded(noise, repeatability, metric, confidence),
      order_effect: order.slope,
      outliers: flagTrials(visits, { alpha: flagRisk, logarithms }),
      verdict: verdict.verdict,
      verdict_reason: verdict.reason,
    },
  };
}

function usualTrials(
  visits: readonly Visit[],
  references: readonly string[],
  planned: number,
): number {
  const catalogue = visits.filter(({ shoe_id }) => !references.includes(shoe_id));
  const counts = (catalogue.length > 0 ? catalogue : visits).map(({ values }) => values.length);
  return counts.length === 0 ? planned : Math.max(1, Math.round(median(counts)));
}

/** Each shoe's value: the mean of its visits' means. */
function shoeMeans(visits: readonly Visit[]): number[] {
  return [...Map.groupBy(visits, ({ shoe_id }) => shoe_id).values()].map((own) =>
    momentsOf(own.map(({ values }) => momentsOf(values).mean)).mean
  );
}

function mdcAcross({ noise_across: noise }: BenchNoise, confidence: number): Estimate {
  const factor = Math.SQRT2 * normalUpperQuantile((1 - confidence) / 2);
  const root = (variance: number | null) => variance === null ? null : factor * Math.sqrt(variance);
  return {
    ...noise,
    estimate: root(noise.estimate),
    lower: root(noise.lower),
    upper: root(noise.upper),
    method: `${factor.toFixed(3)} times the root of: ${noise.method}`,
  };
}

function trialsNeeded(
  { shares, noise_across, icc_mean }: BenchNoise,
  repeatability: Estimate,
  { smallest_difference }: Metric,
  confidence: number,
): MetricReliability["trials_needed"] {
  const none = (reason: ReasonOrWords): TrialsNeeded => ({ trials: null, reason });
  const icc = (wanted: number) =>
    shares === null
      ? none(icc_mean.estimate_reason ?? "the variance could not be split")
      : trialsForIcc(shares, wanted);
  const difference = smallest_difference === null
    ? none("the metric names no smallest difference that matters")
    : noise_across.estimate !== null && shares !== null
    ? trialsForDifference(shares, smallest_difference, confidence)
    : repeatability.estimate === null
    ? none(repeatability.estimate_reason!)
    : trialsForDifference(
      { visit: 0, trial: repeatability.estimate ** 2 },
      smallest_difference,
      confidence,
    );
  const [at75, at90] = [icc(0.75), icc(0.9)];
  return {
    icc_75: at75.trials,
    icc_75_reason: at75.reason,
    icc_90: at90.trials,
    icc_90_reason: at90.reason,
    smallest_difference: difference.trials,
    smallest_difference_reason: difference.reason,
  };
}

/** The estimate alone. */
function ofShoes(
  { estimate, estimate_reason, lower, upper, confidence, method, n, warnings }: Estimate,
): Estimate {
  return {
    estimate,
    estimate_reason,
    lower,
    upper,
    confidence,
    method,
    n,
    warnings,
  };
}
