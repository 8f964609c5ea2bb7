import * as option from "../options.ts";
import { slipCaution } from "./cautions.ts";
import { requireAtLeast, wrong } from "./domain.ts";
import { frictionFromTilt, requireTilt } from "./friction_from_tilt.ts";
import { halfWidthUncertainty } from "./half_width_uncertainty.ts";
import type { MetricValue } from "./metric_value.ts";

/** A slip angle between two readings, and the friction it stands for. */
export type SlipAngle = MetricValue & {
  /** The shoe still held here. */
  readonly low_deg: number;
  /** The shoe had slipped here. */
  readonly high_deg: number;
  /** Tangents of the bracket: friction lies between them, as far as the protractor is right. */
  readonly friction_low: number;
  readonly friction_high: number;
  /** Tangent of the middle angle. */
  readonly friction: number;
  readonly friction_standard_uncertainty: number;
};

/**
 * At which angle does a shoe slip, when the plate was raised in steps?
 *
 * It held at one angle and had slipped at the next; every angle between is as likely as another.
 * The middle is given, with half the step over √3 as standard uncertainty, joined by that of the
 * protractor.
 *
 * @param held_deg the steepest angle at which the shoe held in this run
 * @param slipped_deg the angle of the same run at which it had slipped, steeper than `held_deg`
 * @param options `u_tilt_deg` standard uncertainty of the protractor (default 0: the step is all
 *   there is)
 * @returns the angle in degrees, the bracket, and the friction interval by tan, which only rises
 * @throws {RangeError} if an angle is below 0 or 90 or more, or the shoe slipped no steeper than it
 *   held
 * @see textbook mechanics; JCGM 100:2008 (GUM), 4.3.7
 *
 * @example Held at 38°, slipped at 40°
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value, standard_uncertainty, friction_low, friction_high } = metrics.slipAngle(38, 40);
 * assert.equal(value, 39);
 * assert.equal(standard_uncertainty?.toFixed(3), "0.577");
 * assert.deepEqual([friction_low.toFixed(2), friction_high.toFixed(2)], ["0.78", "0.84"]);
 * ```
 */
export function slipAngle(
  held_deg: number,
  slipped_deg: number,
  { u_tilt_deg = 0 }: { readonly u_tilt_deg?: number } = {},
): SlipAngle {
  option.check("metrics.slipAngle", arguments[2], { u_tilt_deg: option.notNegative });
  requireTilt("held_deg", held_deg);
  requireTilt("slipped_deg", slipped_deg);
  requireAtLeast("u_tilt_deg", u_tilt_deg, 0);
  if (slipped_deg <= held_deg) {
    throw wrong("slipped_deg", slipped_deg, `an angle above held_deg, ${held_deg}`);
  }
  const middle_deg = (held_deg + slipped_deg) / 2;
  const u_deg = Math.hypot(halfWidthUncertainty((slipped_deg - held_deg) / 2), u_tilt_deg);
  const middle = frictionFromTilt(middle_deg, { u_tilt_deg: u_deg });
  return {
    value: middle_deg,
    unit: "deg",
    standard_uncertainty: u_deg,
    standard_uncertainty_reason: null,
    low_deg: held_deg,
    high_deg: slipped_deg,
    friction_low: frictionFromTilt(held_deg).value,
    friction_high: frictionFromTilt(slipped_deg).value,
    friction: middle.value,
    friction_standard_uncertainty: middle.standard_uncertainty as number,
    caution: slipCaution,
  };
}
