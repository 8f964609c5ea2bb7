import { requireAtLeast, wrong } from "./domain.ts";

/**
 * How uncertain is the mean of a few readings whose scatter is known?
 *
 * SD/√n. It covers scatter only: what all readings share, such as a wrong drop height, does not
 * average out.
 *
 * @param sd standard deviation of single readings, in their unit
 * @param n readings averaged
 * @returns the standard uncertainty of the mean in that unit
 * @throws {RangeError} if the SD is negative, or n is not a whole number of at least 1
 * @see JCGM 100:2008 (GUM), 4.2.3
 *
 * @example Three drops that scatter with an SD of 0.6 cm
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.meanReadingUncertainty(0.6, 3).toFixed(3), "0.346");
 * ```
 */
export function meanReadingUncertainty(sd: number, n: number): number {
  requireAtLeast("sd", sd, 0);
  if (!Number.isInteger(n) || n < 1) throw wrong("n", n, "a whole number of at least 1");
  return sd / Math.sqrt(n);
}
