import * as option from "../../options.ts";
import type { Reason } from "../../statistics/reason.ts";
import { normalUpperQuantile } from "../../statistics/distributions.ts";
import { sum } from "simple-statistics";
import { metricOf } from "./metric_trials.ts";
import { noiseAtLimit } from "./trials_needed.ts";
import { betweenVisits, type TrialReliability } from "./types.ts";

/** What more trials a visit would buy. */
export type TrialsCurve = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly points: readonly {
    readonly trials: number;
    readonly icc: number;
    /** Smallest difference of two means from two sessions that is not noise. */
    readonly mdc: number;
    /** Both with noise as large as the limits of today's figures allow: what verdicts go by. */
    readonly icc_sure: number | null;
    readonly mdc_sure: number | null;
  }[];
  /** What the ICC and the MDC come to with trials without end. */
  readonly limit: { readonly icc: number; readonly mdc: number } | null;
  readonly taken: number;
  readonly needed_90: number | null;
  readonly needed_90_reason: Reason | null;
  readonly smallest_difference: number | null;
  /** Why there is no curve. */
  readonly reason: Reason | null;
};

/**
 * Is it worth taking more trials, or does the day-to-day noise decide?
 *
 * ICC and MDC of the mean of 1, 2, … trials from the fitted components, and with noise as large as
 * their limits allow.
 *
 * @param options.most trials a visit to look at
 * @throws {RangeError} if the study does not hold the metric
 */
export function trialsCurve(
  reliability: TrialReliability,
  metric: string,
  { most = 15 }: { readonly most?: number } = {},
): TrialsCurve {
  option.check("studies.trialsCurve", arguments[2], { most: option.whole(1) });
  const study = metricOf(reliability, metric);
  const variance = (name: string) =>
    study.components.find(({ source }) => source === name)?.variance ?? 0;
  const [shoe, trial] = [variance("shoe"), variance("residual")];
  const visit = sum(betweenVisits.map(variance));
  const has = study.components.some(({ source }) => source === "shoe");
  const factor = Math.SQRT2 * normalUpperQuantile((1 - reliability.confidence) / 2);
  const at = (noise: number) => ({
    icc: shoe + noise > 0 ? shoe / (shoe + noise) : 0,
    mdc: factor * Math.sqrt(noise),
  });
  const { estimate, lower } = study.icc_mean;
  const worst = estimate === null || lower === null
    ? null
    : noiseAtLimit({ shoe, visit, trial }, { estimate, lower });
  const { mean_across_sessions: across } = study.mdc;
  const wider = across.estimate === null || across.upper === null || !(across.estimate > 0)
    ? null
    : across.upper / across.estimate;
  const sure = (trials: number) => ({
    icc_sure: worst === null || !(worst.shoe > 0)
      ? worst === null ? null : 0
      : worst.shoe / (worst.shoe + worst.visit + worst.trial / trials),
    mdc_sure: wider === null ? null : wider * at(visit + trial / trials).mdc,
  });
  const count = Math.max(most, study.trials_per_visit);
  return {
    metric,
    title: study.title,
    unit: study.unit,
    decimals: study.decimals,
    points: has
      ? Array.from({ length: count }, (_, i) => ({
        trials: i + 1,
        ...at(visit + trial / (i + 1)),
        ...sure(i + 1),
      }))
      : [],
    limit: has ? at(visit) : null,
    taken: study.trials_per_visit,
    needed_90: study.trials_needed.icc_90,
    needed_90_reason: study.trials_needed.icc_90_reason,
    smallest_difference: study.smallest_difference,
    reason: has ? null : study.icc_mean.estimate_reason ?? study.components_reason,
  };
}
