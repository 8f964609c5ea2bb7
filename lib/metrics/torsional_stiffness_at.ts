import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How stiff in twist is a shoe whose torque was read at one set angle?
 *
 * Torque over angle, with zero torque at zero angle taken as exact. Several points and
 * `torsionalStiffness` say more.
 *
 * @param torque_n_m torque at the set angle, 0 or more
 * @param options `angle_deg` above 0; `u_…` the standard uncertainties of both, 0 for an exact one
 * @returns the stiffness in N·m per degree
 * @throws {RangeError} if the torque is negative or the angle is not above 0
 * @see textbook beam theory, k = M/θ
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.torsionalStiffnessAt(1.2, { angle_deg: 15 }).value.toFixed(3), "0.080");
 * ```
 */
export function torsionalStiffnessAt(
  torque_n_m: number,
  { angle_deg, u_torque_n_m, u_angle_deg }: {
    readonly angle_deg: number;
    readonly u_torque_n_m?: number;
    readonly u_angle_deg?: number;
  },
): MetricValue {
  option.check("metrics.torsionalStiffnessAt", arguments[1], {
    angle_deg: option.needed(option.number),
    u_torque_n_m: option.notNegative,
    u_angle_deg: option.notNegative,
  });
  requireAtLeast("torque_n_m", torque_n_m, 0);
  requireAbove("angle_deg", angle_deg, 0);
  const value = torque_n_m / angle_deg;
  return {
    value,
    unit: "N.m/deg",
    ...propagate([
      { name: "u_torque_n_m", u: u_torque_n_m, slope: 1 / angle_deg },
      { name: "u_angle_deg", u: u_angle_deg, slope: value / angle_deg },
    ]),
    caution: benchCaution,
  };
}
