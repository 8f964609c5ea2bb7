import type { Reason } from "./reason.ts";

/**
 * How reliable is the mean of k readings when one has the reliability r?
 *
 * k·r / (1 + (k − 1)·r)
 *
 * @param reliability of a single reading, at most 1
 * @param averaged readings in the mean, k; may be a fraction
 * @returns the stepped-up reliability; null when 1 + (k − 1)·r is not positive, where there is none
 * @throws {RangeError} if the reliability is above 1 or k is not positive
 * @see Spearman 1910; Brown 1910
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.spearmanBrown(0.5, 3), 0.75);
 * ```
 */
export function spearmanBrown(reliability: number, averaged: number): number | null {
  checkReliability(reliability);
  if (!(averaged > 0 && averaged < Infinity)) {
    throw new RangeError(`A mean is of more than 0 readings, was given ${averaged}`);
  }
  const whole = 1 + (averaged - 1) * reliability;
  return whole > 0 ? averaged * reliability / whole : null;
}

/**
 * How many readings must be averaged for a wanted reliability?
 *
 * @param reliability of a single reading
 * @param wanted reliability of the mean, between 0 and 1
 * @returns whole readings and the figure before rounding up; null with a reason if no number does it
 * @throws {RangeError} if `wanted` is not between 0 and 1, or the reliability is above 1
 * @see Spearman 1910; Brown 1910
 */
export function readingsNeeded(
  reliability: number,
  wanted: number,
): {
  readonly readings: number | null;
  readonly readings_reason: Reason | null;
  readonly beforeRounding: number | null;
} {
  checkReliability(reliability);
  if (!(wanted > 0 && wanted < 1)) {
    throw new RangeError(`A wanted reliability lies between 0 and 1, was given ${wanted}`);
  }
  if (reliability <= 0) {
    return {
      readings: null,
      readings_reason: { code: "not-positive", which: "reliability" },
      beforeRounding: null,
    };
  }
  const beforeRounding = wanted * (1 - reliability) / (reliability * (1 - wanted));
  // 3.0000000000000004 is three.
  const readings = Math.max(1, Math.ceil(beforeRounding * (1 - 1e-12)));
  return { readings, readings_reason: null, beforeRounding };
}

function checkReliability(reliability: number): void {
  if (!(reliability <= 1 && reliability > -Infinity)) {
    throw new RangeError(`A reliability is at most 1, was given ${reliability}`);
  }
}
