import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";
import { standardGravity_m_per_s2 } from "./standard_gravity.ts";

/**
 * How fast is a dropped ball or mass when it meets the shoe?
 *
 * √(2gh) with standard gravity, without air drag.
 *
 * @param drop_height_cm above 0
 * @param options `u_drop_height_cm` the standard uncertainty of the height
 * @returns the speed in m/s
 * @throws {RangeError} if the height is not above 0
 * @see textbook mechanics
 *
 * @example A drop from 100 cm
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.impactSpeed(100).value.toFixed(3), "4.429");
 * ```
 */
export function impactSpeed(
  drop_height_cm: number,
  { u_drop_height_cm }: { readonly u_drop_height_cm?: number } = {},
): MetricValue {
  option.check("metrics.impactSpeed", arguments[1], { u_drop_height_cm: option.notNegative });
  requireAbove("drop_height_cm", drop_height_cm, 0);
  const value = Math.sqrt((2 * standardGravity_m_per_s2 * drop_height_cm) / 100);
  return {
    value,
    unit: "m/s",
    ...propagate([
      { name: "u_drop_height_cm", u: u_drop_height_cm, slope: value / (2 * drop_height_cm) },
    ]),
    caution: benchCaution,
  };
}
