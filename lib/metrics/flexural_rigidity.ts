import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove, requireOneOf } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How stiff in bending is the sole itself, whatever the span of the rig?
 *
 * EI = k·L³/3 for a sole clamped at one end, k·L³/48 for one on two supports and loaded midway. A
 * sole is no slender, even beam, so compare only shoes bent on the same rig.
 *
 * @param stiffness_n_per_mm load over deflection, above 0
 * @param options `length_mm` from clamp to load, or between supports; `support`; `u_…` standard
 *   uncertainties of both
 * @returns the flexural rigidity EI in N·m²
 * @throws {RangeError} if the stiffness or the length is not above 0
 * @see textbook beam theory
 *
 * @example 2 N/mm, clamped 80 mm from the load
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.flexuralRigidity(2, { length_mm: 80, support: "cantilever" });
 * assert.equal(value.toFixed(4), "0.3413");
 * ```
 */
export function flexuralRigidity(
  stiffness_n_per_mm: number,
  { length_mm, support, u_stiffness_n_per_mm, u_length_mm }: {
    readonly length_mm: number;
    readonly support: "cantilever" | "three-point";
    readonly u_stiffness_n_per_mm?: number;
    readonly u_length_mm?: number;
  },
): MetricValue {
  option.check("metrics.flexuralRigidity", arguments[1], {
    length_mm: option.needed(option.number),
    support: option.needed(option.oneOf("cantilever", "three-point")),
    u_stiffness_n_per_mm: option.notNegative,
    u_length_mm: option.notNegative,
  });
  requireAbove("stiffness_n_per_mm", stiffness_n_per_mm, 0);
  requireAbove("length_mm", length_mm, 0);
  requireOneOf("support", support, ["cantilever", "three-point"]);
  // N/mm is 1000 N/m.
  const perStiffness = (1000 * (length_mm / 1000) ** 3) / (support === "cantilever" ? 3 : 48);
  const value = stiffness_n_per_mm * perStiffness;
  return {
    value,
    unit: "N.m2",
    ...propagate([
      { name: "u_stiffness_n_per_mm", u: u_stiffness_n_per_mm, slope: perStiffness },
      { name: "u_length_mm", u: u_length_mm, slope: (3 * value) / length_mm },
    ]),
    caution: benchCaution,
  };
}
