import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove, requireBetween } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much shoe lies between foot and court?
 *
 * Height of the rim above the plate minus depth from the rim to the footbed, at one place of the
 * sole; insole included unless it was taken out. Say which place: `stackPositions` gives the usual
 * two.
 *
 * @param rim_height_mm from the plate up to the rim, above 0
 * @param options `rim_depth_mm` from the rim down to the footbed, 0 to the height; `u_…` the
 *   standard uncertainties of both
 * @returns the height in mm
 * @throws {RangeError} if the height is not above 0 or the depth is negative or above it
 * @see common practice, no source
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.stackHeight(92, { rim_depth_mm: 61 }).value, 31);
 * ```
 */
export function stackHeight(
  rim_height_mm: number,
  { rim_depth_mm, u_rim_height_mm, u_rim_depth_mm }: {
    readonly rim_depth_mm: number;
    readonly u_rim_height_mm?: number;
    readonly u_rim_depth_mm?: number;
  },
): MetricValue {
  option.check("metrics.stackHeight", arguments[1], {
    rim_depth_mm: option.needed(option.number),
    u_rim_height_mm: option.notNegative,
    u_rim_depth_mm: option.notNegative,
  });
  requireAbove("rim_height_mm", rim_height_mm, 0);
  requireBetween("rim_depth_mm", rim_depth_mm, [0, rim_height_mm], "the rim's height");
  return {
    value: rim_height_mm - rim_depth_mm,
    unit: "mm",
    ...propagate([
      { name: "u_rim_height_mm", u: u_rim_height_mm, slope: 1 },
      { name: "u_rim_depth_mm", u: u_rim_depth_mm, slope: -1 },
    ]),
    caution: benchCaution,
  };
}
