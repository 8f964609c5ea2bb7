import { mean, sampleStandardDeviation } from "simple-statistics";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { metricOf } from "./metric_trials.ts";
import type { MetricReliability, TrialReliability } from "./trial_reliability.ts";

/** How trials of the same number lie against the mean of their visit. */
export type OrderProfile = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  /** Every reading's distance from the mean of its visit, in the metric's unit. */
  readonly residuals: readonly { readonly trial: number; readonly residual: number }[];
  readonly means: readonly {
    readonly trial: number;
    readonly mean: number;
    /** Null with fewer than three readings. */
    readonly lower: number | null;
    readonly upper: number | null;
    readonly n: number;
  }[];
  /** Change a trial, of the study. */
  readonly slope: Estimate;
  readonly found: MetricReliability["order_test"]["found"];
};

/**
 * Do the first trials of a visit read otherwise than the last?
 *
 * Visits need two trials of one pair and side; each reading is set against the mean of those. Limits of
 * the means by Student's t, for the eye: the test is that of the slope in the study.
 *
 * @throws {RangeError} if the study does not hold the metric
 */
export function orderProfile(
  bench: Bench,
  reliability: TrialReliability,
  metric: string,
): OrderProfile {
  const study = metricOf(reliability, metric);
  const residuals = visitsOf(bench, metric).flatMap(({ trials }) =>
    [...Map.groupBy(trials, ({ pair, side }) => `${pair} ${side ?? ""}`).values()]
      .filter((run) => run.length > 1)
      .flatMap((run) => {
        const centre = momentsOf(run.map(({ value }) => value!)).mean;
        return run.map(({ trial, value }) => ({ trial, residual: value! - centre }));
      })
  );
  const byTrial = [...Map.groupBy(residuals, ({ trial }) => trial)].sort(([a], [b]) => a - b);
  return {
    metric,
    title: study.title,
    unit: study.unit,
    decimals: study.decimals,
    residuals,
    means: byTrial.map(([trial, own]) => {
      const values = own.map(({ residual }) => residual);
      const n = values.length;
      const reach = n < 3
        ? null
        : tQuantile((1 + reliability.confidence) / 2, n - 1) * sampleStandardDeviation(values) /
          Math.sqrt(n);
      const centre = mean(values);
      return {
        trial,
        mean: centre,
        lower: reach === null ? null : centre - reach,
        upper: reach === null ? null : centre + reach,
        n,
      };
    }),
    slope: study.order_effect,
    found: study.order_test.found,
  };
}
