import * as option from "../options.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { randomStream } from "./random_stream.ts";
import { resampledLimits } from "./resampled_limits.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** An estimate with limits from resampling, and what they were read from. */
export type BootstrapEstimate = Estimate & {
  readonly standard_error: number | null;
  /** Median bias z0 and acceleration a of the BCa correction; null for percentile limits. */
  readonly bias_correction: number | null;
  readonly acceleration: number | null;
};

/**
 * How far could any statistic of this sample be off?
 *
 * Resamples the rows with replacement. "percentile" reads the limits straight off the resampled
 * values; "bca" shifts them for median bias and for a spread that changes with the value.
 *
 * @param data one entry per independent unit: the thing that is drawn, such as a shoe with all its readings
 * @param statistic a number from such a list; null or NaN where it has none, which is counted and said
 * @returns the statistic of the data with its interval; null with a reason if it has none
 * @throws {RangeError} if resamples or confidence is out of range
 * @see Efron & Tibshirani 1993, An Introduction to the Bootstrap, sections 13.3 and 14.3
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const mean = (values: readonly number[]) => values.reduce((a, b) => a + b) / values.length;
 * const { lower, upper } = statistics.bootstrapInterval([4.1, 5, 5.2, 6.3, 9.4], mean, { method: "percentile" });
 * assert.ok(lower! > 4.5 && lower! < 4.9 && upper! > 7.5 && upper! < 7.9);
 * ```
 */
export function bootstrapInterval<T>(
  data: readonly T[],
  statistic: (sample: readonly T[]) => number | null,
  { method = "bca", confidence = 0.95, resamples = 10000, seed = DEFAULT_SEED }: {
    readonly method?: "percentile" | "bca";
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  } = {},
): BootstrapEstimate {
  option.check("statistics.bootstrapInterval", arguments[2], {
    method: option.oneOf("percentile", "bca"),
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  if (!Number.isSafeInteger(resamples) || resamples < 1) {
    throw new RangeError(`resamples is a whole number of at least 1, was given ${resamples}`);
  }
  const n = data.length;
  const about = {
    confidence,
    method: `${method === "bca" ? "BCa" : "percentile"} bootstrap, ${resamples} resamples`,
    n,
  };
  const none = { standard_error: null, bias_correction: null, acceleration: null };
  if (n < 2) {
    return { ...noEstimate({ code: "too-few", of: "rows", needed: 2, found: n }, about), ...none };
  }
  const estimate = statistic(data);
  if (estimate === null || !Number.isFinite(estimate)) {
    return { ...noEstimate({ code: "not-computable" }, about), ...none };
  }
  const values = new Float64Array(resamples);
  const stream = randomStream(seed, 3, n);
  const draws = new Uint32Array(n);
  const sample = data.slice();
  for (let b = 0; b < resamples; b++) {
    stream.fillIntegers(draws, n);
    for (let i = 0; i < n; i++) sample[i] = data[draws[i]];
    values[b] = finite(statistic(sample));
  }
  const jackknife = method === "bca"
    ? data.map((_, left) => finite(statistic(data.filter((_, i) => i !== left))))
    : [];
  const limits = resampledLimits(values, { estimate, jackknife, method, confidence });
  return {
    estimate,
    estimate_reason: null,
    lower: limits.lower,
    upper: limits.upper,
    ...about,
    warnings: limits.warnings,
    standard_error: limits.standardError,
    bias_correction: limits.bias,
    acceleration: limits.acceleration,
  };
}

function finite(value: number | null): number {
  return value !== null && Number.isFinite(value) ? value : NaN;
}
