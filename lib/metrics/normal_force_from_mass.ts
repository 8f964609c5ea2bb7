import * as option from "../options.ts";
import { requireAbove } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";
import { standardGravity_m_per_s2 } from "./standard_gravity.ts";

/**
 * How hard does a loaded shoe press on a level plate?
 *
 * Mass times standard gravity; the mass is that of shoe and load together. Gravity differs by up to
 * 0.3% from place to place, which pull and load on the same scale share.
 *
 * @param mass_kg above 0
 * @param options `u_mass_kg` the standard uncertainty of the mass
 * @returns the force in newtons
 * @throws {RangeError} if the mass is not above 0
 * @see NIST Special Publication 811 (standard gravity)
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.normalForceFromMass(10).value.toFixed(4), "98.0665");
 * ```
 */
export function normalForceFromMass(
  mass_kg: number,
  { u_mass_kg }: { readonly u_mass_kg?: number } = {},
): MetricValue {
  option.check("metrics.normalForceFromMass", arguments[1], { u_mass_kg: option.notNegative });
  requireAbove("mass_kg", mass_kg, 0);
  return {
    value: mass_kg * standardGravity_m_per_s2,
    unit: "N",
    ...propagate([{ name: "u_mass_kg", u: u_mass_kg, slope: standardGravity_m_per_s2 }]),
    caution: null,
  };
}
