import { requireAtLeast } from "./domain.ts";

/**
 * How uncertain is a reading known to lie within plus or minus a half-width, and nothing more?
 *
 * Half-width/√3, the standard deviation of a rectangular distribution.
 *
 * @param half_width in the reading's unit, such as the tolerance printed on a gauge
 * @returns the standard uncertainty in that unit
 * @throws {RangeError} if the half-width is negative or not finite
 * @see JCGM 100:2008 (GUM), 4.3.7
 *
 * @example A protractor good to half a degree
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.halfWidthUncertainty(0.5).toFixed(4), "0.2887");
 * ```
 */
export function halfWidthUncertainty(half_width: number): number {
  return requireAtLeast("half_width", half_width, 0) / Math.sqrt(3);
}
