import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween, requireOneOf } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { resolutionUncertainty } from "./resolution_uncertainty.ts";

/**
 * Which Mondopoint length is nearest to a foot?
 *
 * The foot's length rounded to the interval that the label counts in; a foot midway goes up.
 *
 * @param foot_length_mm mean of a person's readings, or of several feet; 100 to 400
 * @param options `interval_mm` between labels, 5 or 7.5 (default 5)
 * @returns the label in mm, with the standard uncertainty of the rounding
 * @throws {RangeError} if the length is implausible, such as one in cm
 * @see ISO 9407 and the intervals of ISO 19407, from memory; that the nearest one is taken is
 *   common practice
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.mondopointLabel(263).value, 265);
 * ```
 */
export function mondopointLabel(
  foot_length_mm: number,
  { interval_mm = 5 }: { readonly interval_mm?: 5 | 7.5 } = {},
): MetricValue {
  option.check("metrics.mondopointLabel", arguments[1], { interval_mm: option.oneOf(5, 7.5) });
  requireBetween("foot_length_mm", foot_length_mm, [100, 400], "mm of a foot");
  requireOneOf("interval_mm", interval_mm, [5, 7.5]);
  return {
    value: Math.round(foot_length_mm / interval_mm) * interval_mm,
    unit: "mm",
    standard_uncertainty: resolutionUncertainty(interval_mm),
    standard_uncertainty_reason: null,
    caution: sizeCaution,
  };
}
