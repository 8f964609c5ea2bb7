import * as option from "../options.ts";
import { slipCaution } from "./cautions.ts";
import { requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * At which tilt would a shoe of this friction begin to slip?
 *
 * arctan μ, to set a friction that was pulled beside angles that were tilted.
 *
 * @param friction coefficient of static friction, 0 or more
 * @param options `u_friction` its standard uncertainty
 * @returns the angle in degrees
 * @throws {RangeError} if the friction is negative or not finite
 * @see textbook mechanics
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.tiltFromFriction(1).value.toFixed(6), "45.000000");
 * ```
 */
export function tiltFromFriction(
  friction: number,
  { u_friction }: { readonly u_friction?: number } = {},
): MetricValue {
  option.check("metrics.tiltFromFriction", arguments[1], { u_friction: option.notNegative });
  requireAtLeast("friction", friction, 0);
  return {
    value: (Math.atan(friction) * 180) / Math.PI,
    unit: "deg",
    ...propagate([
      { name: "u_friction", u: u_friction, slope: 180 / Math.PI / (1 + friction ** 2) },
    ]),
    caution: slipCaution,
  };
}
