import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast, requireBetween } from "./domain.ts";
import { lastLengthFromSize } from "./last_length_from_size.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/**
 * What would a shoe weigh in the size that all are compared in?
 *
 * Mass × (reference last / its last)^exponent. Common practice, no source. It assumes one model
 * whose sizes grow alike: length and girth grow with the size and thicknesses hardly do, which is
 * an exponent of 2; parts that grow in all three directions would give 3, parts of one size for all
 * (laces, hardware) less than 2. Weigh the reference size itself where you can.
 *
 * @param mass_g mass of one shoe, above 0
 * @param options `size` weighed and `reference_size`, both of `size_system`; `exponent` 0 to 3
 *   (default 2); `u_exponent` (default 0.29: 1.5 to 2.5 equally likely); the conventions;
 *   `u_mass_g`, the standard uncertainty of the mass
 * @returns the mass in g; the standard uncertainty holds the exponent's share, which is 0 in the
 *   reference size itself
 * @throws {RangeError} if the mass is not above 0, a size is outside the adult scale, or the
 *   exponent outside 0 to 3
 * @see common practice, no source
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.massAtReferenceSize(380, { size: 44, reference_size: 42, size_system: "eu" });
 * assert.equal(value.toFixed(1), "346.2");
 * ```
 */
export function massAtReferenceSize(
  mass_g: number,
  {
    size,
    reference_size,
    size_system,
    exponent = 2,
    u_exponent = 1 / Math.sqrt(12),
    u_mass_g,
    ...conventions
  }: SizeConventions & {
    readonly size: number;
    readonly reference_size: number;
    readonly size_system: SizeSystem;
    readonly exponent?: number;
    readonly u_exponent?: number;
    readonly u_mass_g?: number;
  },
): MetricValue {
  option.check("metrics.massAtReferenceSize", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size: option.needed(option.number),
    reference_size: option.needed(option.number),
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
    exponent: option.number,
    u_exponent: option.notNegative,
    u_mass_g: option.notNegative,
  });
  requireAbove("mass_g", mass_g, 0);
  requireBetween("exponent", exponent, [0, 3], "3 when all three directions grow alike");
  requireAtLeast("u_exponent", u_exponent, 0);
  const last = (labelled: number) =>
    lastLengthFromSize(labelled, { size_system, ...conventions }).value;
  const ratio = last(reference_size) / last(size);
  const factor = ratio ** exponent;
  const value = mass_g * factor;
  return {
    value,
    unit: "g",
    ...propagate([
      { name: "u_mass_g", u: u_mass_g, slope: factor },
      { name: "u_exponent", u: u_exponent, slope: value * Math.log(ratio) },
    ]),
    caution: benchCaution,
  };
}
