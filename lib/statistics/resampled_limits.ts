import { biasCorrectedShares } from "./bias_corrected.ts";
import { orderStatistics } from "./order_statistics.ts";
import type { Reason } from "./reason.ts";

/** Limits from resampled values, with what a reader should know about them. */
type ResampledLimits = {
  readonly lower: number | null;
  readonly upper: number | null;
  readonly bias: number | null;
  readonly acceleration: number | null;
  readonly standardError: number | null;
  readonly warnings: readonly Reason[];
};

/**
 * Which limits do the resamples of a statistic give?
 *
 * @param values the statistic in each resample; NaN where it could not be computed (counted, and said)
 * @param jackknife the statistic with each row left out; NaN where it could not be computed
 */
export function resampledLimits(
  values: Float64Array,
  { estimate, jackknife, method, confidence }: {
    readonly estimate: number;
    readonly jackknife: ArrayLike<number>;
    readonly method: "bca" | "percentile";
    readonly confidence: number;
  },
): ResampledLimits {
  const warnings: Reason[] = [];
  const failed = countNaN(values);
  const usable = failed > 0 ? values.filter((value) => value === value) : values;
  const none = { lower: null, upper: null, bias: null, acceleration: null, standardError: null };
  if (failed > values.length / 2) {
    return {
      ...none,
      warnings: [
        { code: "too-few-resamples", lost: failed, of: values.length, because: "degenerate" },
      ],
    };
  }
  if (failed > 0) {
    warnings.push({
      code: "resamples-lost",
      lost: failed,
      of: values.length,
      because: "degenerate",
    });
  }
  const sorted = orderStatistics(usable);
  // Equal but for rounding.
  const slack = 1e-12 * Math.max(1e-3, Math.abs(estimate));
  const below = sorted.below(estimate - slack);
  const equal = sorted.below(estimate + slack) - below;
  if (equal === usable.length) {
    return {
      ...none,
      warnings: [
        ...warnings,
        { code: "resamples-alike" },
      ],
    };
  }
  const standardError = spreadOf(usable, estimate);
  if (method === "percentile") {
    const tail = (1 - confidence) / 2;
    const [lower, upper] = [sorted.quantile(tail), sorted.quantile(1 - tail)];
    return { lower, upper, bias: null, acceleration: null, standardError, warnings };
  }
  const lost = countNaN(jackknife);
  if (lost > 0) {
    warnings.push({ code: "degenerate-without", rows: lost });
  }
  const correction = biasCorrectedShares({
    below,
    equal,
    resamples: usable.length,
    jackknife,
    confidence,
  });
  if (correction.warning !== null) warnings.push(correction.warning);
  const lower = sorted.quantile(correction.lowerShare);
  const upper = sorted.quantile(correction.upperShare);
  const { bias, acceleration } = correction;
  const reach = 1 / (usable.length + 1);
  if (correction.lowerShare < reach || correction.upperShare > 1 - reach) {
    warnings.push({ code: "limit-cut" });
  }
  return { lower, upper, bias, acceleration, standardError, warnings };
}

function countNaN(values: ArrayLike<number>): number {
  let found = 0;
  for (let i = 0; i < values.length; i++) if (values[i] !== values[i]) found++;
  return found;
}

/** Standard deviation of the resamples, with sums taken about a number near their mean. */
function spreadOf(values: Float64Array, centre: number): number {
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < values.length; i++) {
    const away = values[i] - centre;
    sum += away;
    squares += away * away;
  }
  const n = values.length;
  return Math.sqrt(Math.max(0, squares - (sum * sum) / n) / Math.max(1, n - 1));
}
