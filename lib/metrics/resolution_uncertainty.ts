import { requireAtLeast } from "./domain.ts";

/**
 * How uncertain is a reading that a display or a scale rounds to its step?
 *
 * Every value within half a step is as likely as another, so step/√12: 0.29 of a step.
 *
 * @param step the smallest step of the display, in the reading's unit
 * @returns the standard uncertainty in that unit
 * @throws {RangeError} if the step is negative or not finite
 * @see JCGM 100:2008 (GUM), F.2.2.1
 *
 * @example A ruler read to the millimetre, in cm
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.resolutionUncertainty(0.1).toFixed(4), "0.0289");
 * ```
 */
export function resolutionUncertainty(step: number): number {
  return requireAtLeast("step", step, 0) / Math.sqrt(12);
}
