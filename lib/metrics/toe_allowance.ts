import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much room is left before the longest toe?
 *
 * Inside length minus foot length, the foot measured standing, heel to longest toe; the longer foot
 * counts. About 8 to 15 mm is common practice, no source.
 *
 * @param inside_length_mm 100 to 450
 * @param options `foot_length_mm` 100 to 400; `u_…` the standard uncertainties of both, 0 for an
 *   exact one
 * @returns the room in mm, negative where the foot is longer
 * @throws {RangeError} if a length is implausible, such as one in cm
 * @see common practice, no source
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.toeAllowance(284, { foot_length_mm: 272 }).value, 12);
 * ```
 */
export function toeAllowance(
  inside_length_mm: number,
  { foot_length_mm, u_inside_length_mm, u_foot_length_mm }: {
    readonly foot_length_mm: number;
    readonly u_inside_length_mm?: number;
    readonly u_foot_length_mm?: number;
  },
): MetricValue {
  option.check("metrics.toeAllowance", arguments[1], {
    foot_length_mm: option.needed(option.number),
    u_inside_length_mm: option.notNegative,
    u_foot_length_mm: option.notNegative,
  });
  requireBetween("inside_length_mm", inside_length_mm, [100, 450], "mm of a shoe");
  requireBetween("foot_length_mm", foot_length_mm, [100, 400], "mm of a foot");
  return {
    value: inside_length_mm - foot_length_mm,
    unit: "mm",
    ...propagate([
      { name: "u_inside_length_mm", u: u_inside_length_mm, slope: 1 },
      { name: "u_foot_length_mm", u: u_foot_length_mm, slope: -1 },
    ]),
    caution: sizeCaution,
  };
}
