import { type Stiffness, stiffness, type StiffnessOptions } from "./stiffness.ts";

/**
 * How much load does it take to bend the forefoot?
 *
 * Slope of load over deflection by least squares, over the linear part if a window is given, with
 * its standard uncertainty from the scatter about the line.
 *
 * @param deflection_mm deflection at each point, taken as free of error
 * @param load_n load at each point, in newtons
 * @param options `line`, with its own intercept or through the origin (they answer differently when
 *   there is slack); `window` the deflections of the linear part
 * @returns the stiffness in N/mm; null with a reason if the points set no rising slope
 * @throws {RangeError} if the lists differ in length or are empty, a number is not finite, or the
 *   window is the wrong way round
 * @see textbook beam theory; `flexuralRigidity` turns it into a figure of the sole without the rig
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value, intercept } = metrics.bendingStiffness([0, 2, 4], [1, 5, 9], { line: "own-intercept" });
 * assert.deepEqual([value?.toFixed(9), intercept?.toFixed(9)], ["2.000000000", "1.000000000"]);
 * ```
 */
export function bendingStiffness(
  deflection_mm: readonly number[],
  load_n: readonly number[],
  options: StiffnessOptions,
): Stiffness {
  return stiffness(deflection_mm, load_n, options, {
    names: ["deflection_mm", "load_n"],
    unit: "N/mm",
  });
}
