import * as option from "../options.ts";
import { dustCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much rubber would have gone if today's abrasive were as sharp as it should be?
 *
 * Volume loss times the defined over the found mass loss of a control rubber on the same day: a
 * sharp sheet takes more from both.
 *
 * @param mass_loss_mg the shoe's loss, 0 or more
 * @param options `density_mg_per_mm3` of the shoe's rubber; `control_mass_loss_mg`, the control's
 *   loss on the same day; `defined_control_loss_mg`, what the control should lose (default 200);
 *   `u_…` standard uncertainties
 * @returns the volume in mm³
 * @throws {RangeError} if a loss is negative, or a density or control loss is not above 0
 * @see related: ISO 4649, formula and the 200 mg of its first reference compound from memory; no
 *   conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.relativeVolumeLoss(84, {
 *   density_mg_per_mm3: 1.12,
 *   control_mass_loss_mg: 195,
 * });
 * assert.equal(value.toFixed(3), "76.923");
 * ```
 */
export function relativeVolumeLoss(
  mass_loss_mg: number,
  {
    density_mg_per_mm3,
    control_mass_loss_mg,
    defined_control_loss_mg = 200,
    u_mass_loss_mg,
    u_density_mg_per_mm3,
    u_control_mass_loss_mg,
  }: {
    readonly density_mg_per_mm3: number;
    readonly control_mass_loss_mg: number;
    readonly defined_control_loss_mg?: number;
    readonly u_mass_loss_mg?: number;
    readonly u_density_mg_per_mm3?: number;
    readonly u_control_mass_loss_mg?: number;
  },
): MetricValue {
  option.check("metrics.relativeVolumeLoss", arguments[1], {
    density_mg_per_mm3: option.needed(option.number),
    control_mass_loss_mg: option.needed(option.number),
    defined_control_loss_mg: option.number,
    u_mass_loss_mg: option.notNegative,
    u_density_mg_per_mm3: option.notNegative,
    u_control_mass_loss_mg: option.notNegative,
  });
  requireAtLeast("mass_loss_mg", mass_loss_mg, 0);
  requireAbove("density_mg_per_mm3", density_mg_per_mm3, 0);
  requireAbove("control_mass_loss_mg", control_mass_loss_mg, 0);
  requireAbove("defined_control_loss_mg", defined_control_loss_mg, 0);
  const perMilligram = defined_control_loss_mg / (density_mg_per_mm3 * control_mass_loss_mg);
  const value = mass_loss_mg * perMilligram;
  return {
    value,
    unit: "mm3",
    ...propagate([
      { name: "u_mass_loss_mg", u: u_mass_loss_mg, slope: perMilligram },
      { name: "u_density_mg_per_mm3", u: u_density_mg_per_mm3, slope: value / density_mg_per_mm3 },
      {
        name: "u_control_mass_loss_mg",
        u: u_control_mass_loss_mg,
        slope: value / control_mass_loss_mg,
      },
    ]),
    caution: dustCaution,
  };
}
