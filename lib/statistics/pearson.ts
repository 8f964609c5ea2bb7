import * as option from "../options.ts";
import { bootstrapInterval } from "./bootstrap_interval.ts";
import { completePairs, noCorrelationReason } from "./complete_pairs.ts";
import { normalQuantile } from "./distributions.ts";
import { noEstimate } from "./estimate.ts";
import { type Correlation, tApproximation } from "./spearman.ts";
import type { Reason } from "./reason.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/**
 * Do two measurements lie along a straight line?
 *
 * The product-moment correlation over the rows that have both values, with Fisher's interval (or a
 * bootstrap one) and the two-sided t test with n − 2 degrees of freedom.
 *
 * @param x, y values of the same rows, any unit; null is missing
 * @returns r from −1 to 1; null with a reason if fewer than three rows have both or one is constant
 * @throws {RangeError} if lengths differ or a value is not finite
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.pearson([1, 2, 3, 4], [1, 3, 2, 4]).estimate?.toFixed(12), "0.800000000000");
 * ```
 */
export function pearson(
  x: readonly (number | null)[],
  y: readonly (number | null)[],
  { interval = "fisher", confidence = 0.95, resamples = 10000, seed = DEFAULT_SEED }: {
    readonly interval?: "fisher" | "bca" | "percentile" | "none";
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  } = {},
): Correlation {
  option.check("statistics.pearson", arguments[2], {
    interval: option.oneOf("fisher", "bca", "percentile", "none"),
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  const pairs = completePairs(x, y);
  const n = pairs.x.length;
  const named = {
    fisher: ", Fisher interval",
    bca: `, BCa bootstrap, ${resamples} resamples`,
    percentile: `, percentile bootstrap, ${resamples} resamples`,
    none: "",
  };
  const method = `Pearson's r${named[interval]}; p from the t distribution`;
  const about = { confidence, method, n };
  const reason = noCorrelationReason(pairs.x, pairs.y);
  if (reason !== null) return { ...noEstimate(reason, about), p: null };
  const r = productMoment(pairs.x, pairs.y);
  if (r === null) {
    return { ...noEstimate({ code: "lost-in-rounding" }, about), p: null };
  }
  const limits = interval === "fisher"
    ? fisherLimits(r, n, confidence)
    : interval === "none"
    ? { lower: null, upper: null, warnings: [] }
    : bootstrapInterval(
      pairs.x.map((value, i) => [value, pairs.y[i]] as const),
      (sample) => productMoment(sample.map(([a]) => a), sample.map(([, b]) => b)),
      { method: interval, confidence, resamples, seed },
    );
  const { lower, upper, warnings } = limits;
  return {
    estimate: r,
    estimate_reason: null,
    lower,
    upper,
    ...about,
    warnings,
    p: tApproximation(r, n - 2),
  };
}

/** Correlation of two columns; null if one of them does not vary. */
export function productMoment(x: readonly number[], y: readonly number[]): number | null {
  const meanX = mean(x);
  const meanY = mean(y);
  let xx = 0, yy = 0, xy = 0;
  for (let i = 0; i < x.length; i++) {
    const a = x[i] - meanX;
    const b = y[i] - meanY;
    xx += a * a;
    yy += b * b;
    xy += a * b;
  }
  // What rounding alone leaves in a constant column.
  const noise = x.length * Number.EPSILON ** 2;
  if (xx <= noise * meanX * meanX || yy <= noise * meanY * meanY) return null;
  return Math.min(1, Math.max(-1, xy / Math.sqrt(xx) / Math.sqrt(yy)));
}

function mean(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  const first = sum / values.length;
  // A second pass takes out the rounding of the first.
  let rest = 0;
  for (const value of values) rest += value - first;
  return first + rest / values.length;
}

function fisherLimits(r: number, n: number, confidence: number) {
  if (n < 4 || Math.abs(r) === 1) {
    const why: Reason = n < 4
      ? { code: "too-few-for-fisher", needed: 4, found: n }
      : { code: "perfect-correlation" };
    return { lower: null, upper: null, warnings: [why] };
  }
  const half = normalQuantile((1 + confidence) / 2) / Math.sqrt(n - 3);
  const z = Math.atanh(r);
  return { lower: Math.tanh(z - half), upper: Math.tanh(z + half), warnings: [] };
}
