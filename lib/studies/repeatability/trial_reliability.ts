import { sampleStandardDeviation, sum } from "simple-statistics";
import * as option from "../../options.ts";
import { type Visit, visitsOf } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { coefficientOfVariation } from "../../statistics/coefficient_of_variation.ts";
import { distinctCategories } from "../../statistics/distinct_categories.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { minimalDetectableChange } from "../../statistics/minimal_detectable_change.ts";
import type { Reason } from "../../statistics/reason.ts";
import { repeatabilityLimit } from "../../statistics/repeatability_limit.ts";
import { repeatabilitySd } from "../../statistics/repeatability_sd.ts";
import { standardErrorOfMeasurement } from "../../statistics/standard_error_of_measurement.ts";
import { boundedShare, isTooCoarse } from "../shoes/bounded_readings.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { BenchNoise } from "./bench_noise.ts";
import { coarseReason, coarseSteps } from "./coarse_steps.ts";
import { driftNoises, type SplitNoise } from "./drift_noise.ts";
import { flagTrials } from "./flag_trials.ts";
import { mdcAcross } from "./mdc_across.ts";
import { revisitedIn } from "./noise_model.ts";
import { type OrderEffect, orderEffect } from "./order_effect.ts";
import { reliabilityVerdict } from "./reliability_verdict.ts";
import { spreadGrows } from "./spread_grows.ts";
import {
  noiseAtLimit,
  trialsForDifference,
  trialsForIcc,
  type TrialsNeeded,
} from "./trials_needed.ts";
import type {
  MetricReliability,
  ReliabilityWarning,
  TrialReliability,
  UnseenScatter,
} from "./types.ts";
import { longRuns, visitRuns } from "./visit_runs.ts";
import { askedMetric } from "../shoes/asked_shoes.ts";
import { ICC_BANDS } from "./icc_bands.ts";
import { median } from "../../statistics/robust_scale.ts";

export type * from "./types.ts";

/**
 * Can a difference between two shoes be told from noise, metric by metric?
 *
 * Components by REML (`benchNoise`), repeatability from the scatter within visits, and what follows from
 * them: SEM, MDC, distinct categories, trials needed. A published mean is the mean of the usual number
 * of trials in one visit. The verdict follows the lower limit of its ICC (`reliabilityVerdict`), and so
 * do numbers of trials needed. Where rigs or days are found to read differently the noise is worked out as
 * read and corrected to the reference shoes (`driftNoises`). Limits of the scatter of trials hold whatever
 * its shape (`scatterLimits`). Trials that stand out are
 * flagged for a person and stay in every figure. Order effects are claimed after Holm's adjustment over
 * the metrics, flags at a risk divided by their number.
 *
 * @param bench cut at a quarter's end with `benchUntil` if need be; excluded trials are left out and counted
 * @param options.metrics ids, in the order wanted; all of the bench by default
 * @param options.resamples bootstrap draws for each metric whose design has no exact limits
 * @param options.componentLimits whether variance components need limits of their own; all else is the same
 *   without, but for limits of noise across sessions that are one component's
 * @returns one entry a metric, null with a reason where the design can't answer
 * @throws {RangeError} if a metric is unknown or an option is out of range
 */
export function trialReliability(
  bench: Bench,
  {
    seed,
    confidence = bench.settings.confidence,
    resamples = 1000,
    metrics,
    componentLimits = true,
  }: {
    readonly seed: number;
    readonly confidence?: number;
    readonly resamples?: number;
    readonly metrics?: readonly string[];
    readonly componentLimits?: boolean;
  },
): TrialReliability {
  option.check("studies.trialReliability", arguments[1], {
    seed: option.needed(option.seed),
    confidence: option.share,
    resamples: option.resamples,
    metrics: option.listOf(option.text),
    componentLimits: option.flag,
  });
  if (!Number.isSafeInteger(resamples) || resamples < 100) {
    throw new RangeError(`resamples is a whole number of at least 100, was given ${resamples}`);
  }
  const wanted = wantedMetrics(bench, metrics);
  const excluded = new Map<string, number>();
  for (const { metric_id, excluded: reason } of bench.trials) {
    if (reason !== null) excluded.set(metric_id, (excluded.get(metric_id) ?? 0) + 1);
  }
  const { reference_shoes: references, corrected_metrics } = bench.settings;
  const cases = wanted.map((metric) => {
    const bounded = boundedShare(bench, metric.id);
    // Of the few that could be read, figures would say how shoes past the bound differ, not how shoes do.
    const visits = isTooCoarse(bounded) ? [] : visitsOf(bench, metric.id);
    return {
      metric,
      visits,
      bounded,
      corrected: corrected_metrics.includes(metric.id),
      options: {
        references,
        trialsPerVisit: usualTrials(visits, references, bench.settings.trials_per_visit),
        confidence,
        resamples,
        componentLimits,
        // The metric's place in the bench, so that a study of one metric gives the figures of the whole.
        seed: seed + bench.metrics.indexOf(metric),
      },
    };
  });
  const noises = driftNoises(cases, confidence);
  const studied = cases.map(({ metric, visits, options, bounded }, i) =>
    studyMetric(metric, visits, noises[i], {
      bounded,
      published: publishedVisits(bench, metric.id),
      excluded: excluded.get(metric.id) ?? 0,
      confidence,
      k: options.trialsPerVisit,
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
      return { ...reliability, order_test };
    }),
    warnings: sharedWarnings(studied),
  };
}

function wantedMetrics(
  bench: Bench,
  metrics: readonly string[] | undefined,
): readonly Metric[] {
  if (metrics === undefined) return bench.metrics;
  return metrics.map((name) => askedMetric(bench, name));
}

/** Each warning once, with the metrics it holds for unless it holds for all. */
function sharedWarnings(studied: readonly MetricStudy[]): ReliabilityWarning[] {
  const all = studied.flatMap(({ noise, reliability }) =>
    [
      ...noise.warnings,
      ...boundWarning(reliability),
      ...(reliability.steps === null ? [] : [coarseReason(reliability.steps, reliability)]),
    ]
      .map((reason) => ({ reason, title: reliability.title }))
  );
  return [...Map.groupBy(all, ({ reason }) => JSON.stringify(reason)).values()].map((same) => ({
    metrics: same.length === studied.length ? null : same.map(({ title }) => title),
    reason: same[0].reason,
  }));
}

type MetricStudy = {
  readonly reliability: Omit<MetricReliability, "order_test">;
  readonly order: OrderEffect;
  readonly noise: BenchNoise;
};

function studyMetric(
  metric: Metric,
  visits: readonly Visit[],
  { noise, drift_noise }: SplitNoise,
  { published, bounded, excluded, confidence, k, flagRisk }: {
    readonly bounded: MetricReliability["bounded"];
    readonly published: readonly Visit[];
    readonly excluded: number;
    readonly confidence: number;
    readonly k: number;
    readonly flagRisk: number;
  },
): MetricStudy {
  const runs = visitRuns(visits);
  const byRun = runs.map(({ values }) => values);
  const logarithms = spreadGrows(runs);
  const order = orderEffect(visits, { confidence });
  const repeatability = repeatabilitySd(byRun, { confidence, noise: "of any shape" });
  const across = acrossKnown(noise, repeatability);
  const verdict = isTooCoarse(bounded)
    ? { verdict: "can't tell" as const, reason: tooCoarse(bounded!, metric.unit) }
    : reliabilityVerdict(noise.icc_mean);
  return {
    order,
    noise,
    reliability: {
      metric: metric.id,
      title: metric.title,
      unit: metric.unit,
      better: metric.better,
      decimals: metric.decimals,
      withdrawn: metric.withdrawn ?? null,
      smallest_difference: metric.smallest_difference,
      shoes: new Set(visits.map(({ shoe_id }) => shoe_id)).size,
      visits: visits.length,
      trials: sum(visits.map(({ values }) => values.length)),
      excluded,
      trials_per_visit: k,
      icc_single: noise.icc_single,
      icc_mean: noise.icc_mean,
      ...repeatabilityFigures(ofShoes(repeatability), across, k, confidence),
      spread: spreadOf(published),
      cv: metric.scale === "interval"
        ? noEstimate({ code: "arbitrary-zero" }, {
          confidence,
          method: "none: interval scale",
          n: repeatability.n,
        })
        : ofShoes(coefficientOfVariation(byRun, {
          method: logarithms ? "log" : "root-mean-square",
          confidence,
        })),
      components: noise.components,
      components_reason: noise.components_reason,
      dropped: noise.dropped,
      ...categoriesOf(noise),
      trials_needed: trialsNeeded(noise, repeatability, metric, confidence),
      order_effect: order.slope,
      outliers: flagTrials(longRuns(visits), { alpha: flagRisk, logarithms }),
      verdict: verdict.verdict,
      verdict_reason: verdict.reason,
      bounded,
      steps: isTooCoarse(bounded) ? null : coarseSteps(metric, visits, {
        means: shoeMeans(published),
        spread: spreadOf(published).sd,
        noise: repeatability.estimate,
      }),
      unseen: unseenScatter(visits, noise),
      drift_noise,
    },
  };
}

function tooCoarse(
  { readings, of, bound, side, shoes, of_shoes }: NonNullable<MetricReliability["bounded"]>,
  unit: string,
): Reason {
  const percent = Math.round(100 * readings / of);
  return { code: "too-coarse", percent, bound, side, unit, shoes, of_shoes };
}

function boundWarning({ bounded }: Pick<MetricReliability, "bounded">): Reason[] {
  return bounded === null || isTooCoarse(bounded)
    ? []
    : [{ code: "bounds-left-out", readings: bounded.readings, of: bounded.of }];
}

/** Without limits across sessions where the trials, whose scatter is in it, have none: SEM and MDC say the same. */
function acrossKnown(noise: BenchNoise, trials: Estimate): BenchNoise {
  const [reason] = trials.warnings;
  const { noise_across: across } = noise;
  if (reason === undefined) return noise;
  return { ...noise, noise_across: { ...across, lower: null, upper: null, warnings: [reason] } };
}

function repeatabilityFigures(
  repeatability: Estimate,
  noise: BenchNoise,
  k: number,
  confidence: number,
): Pick<MetricReliability, "sem" | "repeatability_sd" | "repeatability_limit" | "mdc"> {
  const mdcOptions = { probability: confidence };
  return {
    sem: standardErrorOfMeasurement(repeatability, { averaged: k }),
    repeatability_sd: repeatability,
    repeatability_limit: repeatabilityLimit(repeatability, mdcOptions),
    mdc: {
      single: minimalDetectableChange(repeatability, mdcOptions),
      mean: minimalDetectableChange(repeatability, { averaged: k, ...mdcOptions }),
      mean_across_sessions: mdcAcross(noise, confidence),
    },
  };
}

function spreadOf(visits: readonly Visit[]): MetricReliability["spread"] {
  const means = shoeMeans(visits);
  return {
    sd: means.length < 2 ? null : sampleStandardDeviation(means),
    low: means.length === 0 ? null : Math.min(...means),
    high: means.length === 0 ? null : Math.max(...means),
  };
}

function categoriesOf(
  { shares, icc_single }: BenchNoise,
): Pick<MetricReliability, "distinct_categories" | "distinct_categories_reason"> {
  if (shares === null) {
    return { distinct_categories: null, distinct_categories_reason: icc_single.estimate_reason };
  }
  const { categories, categories_reason } = distinctCategories(
    Math.sqrt(shares.shoe),
    Math.sqrt(shares.visit + shares.trial),
  );
  return { distinct_categories: categories, distinct_categories_reason: categories_reason };
}

/** Which scatter can be in no figure, because nothing was benched so that it would show? */
function unseenScatter(visits: readonly Visit[], { dropped }: BenchNoise): UnseenScatter[] {
  const isDropped = (source: string) => dropped.some((one) => one.source === source);
  return [
    ...(revisitedIn(visits) ? [] : ["days" as const]),
    ...(isDropped("shoe:pair") ? ["pairs" as const] : []),
    ...(isDropped("operator") ? ["operators" as const] : []),
  ];
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

/** By the limits that verdicts go by, so that no number of trials says more than the verdict. */
function trialsNeeded(
  { shares, noise_across: across, icc_mean }: BenchNoise,
  repeatability: Estimate,
  { smallest_difference }: Metric,
  confidence: number,
): MetricReliability["trials_needed"] {
  const none = (reason: Reason | null): TrialsNeeded => ({
    trials: null,
    reason: reason ?? { code: "no-limits" },
  });
  const { estimate, lower } = icc_mean;
  const icc = (wanted: number) =>
    shares === null || estimate === null || lower === null
      ? none(icc_mean.estimate_reason)
      : trialsForIcc(noiseAtLimit(shares, { estimate, lower }), wanted);
  const apart = (): TrialsNeeded => {
    if (smallest_difference === null) return none({ code: "no-smallest-difference" });
    if (across.estimate !== null && across.upper !== null && shares !== null) {
      const times = across.estimate > 0 ? across.upper / across.estimate : 1;
      const most = { visit: shares.visit * times, trial: shares.trial * times };
      return trialsForDifference(most, smallest_difference, confidence);
    }
    if (repeatability.estimate === null) return none(repeatability.estimate_reason);
    if (repeatability.upper === null) return none(repeatability.warnings[0] ?? null);
    const most = { visit: 0, trial: repeatability.upper ** 2 };
    return trialsForDifference(most, smallest_difference, confidence);
  };
  const difference = apart();
  const [at75, at90] = [icc(ICC_BANDS.tiers), icc(ICC_BANDS.singles)];
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
