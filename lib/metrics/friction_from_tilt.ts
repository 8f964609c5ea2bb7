import * as option from "../options.ts";
import { slipCaution } from "./cautions.ts";
import { wrong } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much grip does the angle show at which a shoe on a tilting plate begins to slip?
 *
 * Static friction, tan θ. The mean of tangents is not the tangent of the mean: average angles or
 * friction, and say which. Above 1 is normal for rubber. As common practice, no source: painted
 * hard court on concrete slips at about 35° to 42°, a friction of 0.70 to 0.90.
 *
 * @param tilt_deg from level, 0 to below 90
 * @param options `u_tilt_deg` the standard uncertainty of the angle
 * @returns the coefficient of static friction (unit `1`)
 * @throws {RangeError} if the angle is below 0, or 90 or more
 * @see textbook mechanics; related: EN 16165 (ramp tests with a person in oiled boots), no class
 *   may be claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.frictionFromTilt(35).value.toFixed(2), "0.70");
 * ```
 */
export function frictionFromTilt(
  tilt_deg: number,
  { u_tilt_deg }: { readonly u_tilt_deg?: number } = {},
): MetricValue {
  option.check("metrics.frictionFromTilt", arguments[1], { u_tilt_deg: option.notNegative });
  requireTilt("tilt_deg", tilt_deg);
  const radians = tilt_deg * radiansPerDegree;
  return {
    value: Math.tan(radians),
    unit: "1",
    ...propagate([
      { name: "u_tilt_deg", u: u_tilt_deg, slope: radiansPerDegree / Math.cos(radians) ** 2 },
    ]),
    caution: slipCaution,
  };
}

const radiansPerDegree = Math.PI / 180;

/** A plate can stand level or steeper, never upright. */
export function requireTilt(name: string, given: number): number {
  if (!(Number.isFinite(given) && given >= 0 && given < 90)) {
    throw wrong(name, given, "an angle of at least 0 and below 90 degrees");
  }
  return given;
}
