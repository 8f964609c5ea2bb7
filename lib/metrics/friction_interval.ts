import { wrong } from "./domain.ts";
import { frictionFromTilt, requireTilt } from "./friction_from_tilt.ts";

/**
 * Between which frictions does a shoe lie whose slip angle lies between two limits?
 *
 * The tangents of both limits: tan only rises below 90°, so an interval of the angle, of whatever
 * confidence, becomes one of friction with the same confidence.
 *
 * @param lower_deg lower limit of the angle
 * @param upper_deg upper limit, not below the lower one
 * @returns both limits as coefficients of static friction (unit `1`)
 * @throws {RangeError} if a limit is below 0, or 90 or more, or the two are the wrong way round
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { lower, upper } = metrics.frictionInterval(35, 42);
 * assert.deepEqual([lower.toFixed(2), upper.toFixed(2)], ["0.70", "0.90"]);
 * ```
 */
export function frictionInterval(
  lower_deg: number,
  upper_deg: number,
): { readonly lower: number; readonly upper: number; readonly unit: "1" } {
  requireTilt("lower_deg", lower_deg);
  requireTilt("upper_deg", upper_deg);
  if (upper_deg < lower_deg) {
    throw wrong("upper_deg", upper_deg, `an angle of at least lower_deg, ${lower_deg}`);
  }
  return {
    lower: frictionFromTilt(lower_deg).value,
    upper: frictionFromTilt(upper_deg).value,
    unit: "1",
  };
}
