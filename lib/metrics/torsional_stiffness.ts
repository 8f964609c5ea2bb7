import { type Stiffness, stiffness, type StiffnessOptions } from "./stiffness.ts";

/**
 * How much torque does it take to twist the forefoot against the heel?
 *
 * Slope of torque over angle by least squares, over the linear part if a window is given.
 *
 * @param angle_deg twist at each point, taken as free of error
 * @param torque_n_m torque at each point
 * @param options `line`, with its own intercept or through the origin; `window` the angles of the
 *   linear part
 * @returns the stiffness in N·m per degree; null with a reason if the points set no rising slope
 * @throws {RangeError} if the lists differ in length or are empty, a number is not finite, or the
 *   window is the wrong way round
 * @see textbook beam theory, k = M/θ
 *
 * @example One point, held at the origin
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.torsionalStiffness([15], [1.2], { line: "through-origin" });
 * assert.equal(value?.toFixed(3), "0.080");
 * ```
 */
export function torsionalStiffness(
  angle_deg: readonly number[],
  torque_n_m: readonly number[],
  options: StiffnessOptions,
): Stiffness {
  return stiffness(angle_deg, torque_n_m, options, {
    names: ["angle_deg", "torque_n_m"],
    unit: "N.m/deg",
  });
}
