import * as option from "../options.ts";
import { dustCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much rubber did sanding take away?
 *
 * Mass lost over density, so that a light and a heavy rubber can be compared.
 *
 * @param mass_loss_mg mass before minus mass after, 0 or more; brush the dust off before weighing
 * @param options `density_mg_per_mm3` above 0 (the same number as g/cm³); `u_…` the standard
 *   uncertainties of both
 * @returns the volume in mm³
 * @throws {RangeError} if the loss is negative or the density is not above 0
 * @see related: ISO 4649, from memory; no conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.abrasionVolumeLoss(84, { density_mg_per_mm3: 1.12 }).value.toFixed(6), "75.000000");
 * ```
 */
export function abrasionVolumeLoss(
  mass_loss_mg: number,
  { density_mg_per_mm3, u_mass_loss_mg, u_density_mg_per_mm3 }: {
    readonly density_mg_per_mm3: number;
    readonly u_mass_loss_mg?: number;
    readonly u_density_mg_per_mm3?: number;
  },
): MetricValue {
  option.check("metrics.abrasionVolumeLoss", arguments[1], {
    density_mg_per_mm3: option.needed(option.number),
    u_mass_loss_mg: option.notNegative,
    u_density_mg_per_mm3: option.notNegative,
  });
  requireAtLeast("mass_loss_mg", mass_loss_mg, 0);
  requireAbove("density_mg_per_mm3", density_mg_per_mm3, 0);
  const value = mass_loss_mg / density_mg_per_mm3;
  return {
    value,
    unit: "mm3",
    ...propagate([
      { name: "u_mass_loss_mg", u: u_mass_loss_mg, slope: 1 / density_mg_per_mm3 },
      { name: "u_density_mg_per_mm3", u: u_density_mg_per_mm3, slope: value / density_mg_per_mm3 },
    ]),
    caution: dustCaution,
  };
}
