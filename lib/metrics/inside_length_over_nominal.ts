import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { nominalFootLength } from "./nominal_foot_length.ts";
import { propagate } from "./propagate.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/** A shoe's label, what goes with it, and how sure the length is. */
export type LabelOptions = SizeConventions & {
  /** As labelled; Mondopoint in mm. */
  readonly size: number;
  readonly size_system: SizeSystem;
};

/**
 * Does a shoe run long or short for its label?
 *
 * Inside length minus the foot that the label means: what is left at the toes of a foot of just
 * that length.
 *
 * @param inside_length_mm heel to toe inside the shoe, 100 to 450
 * @param options the label's `size` and `size_system`; the conventions; `u_inside_length_mm`, the
 *   standard uncertainty of the length
 * @returns the excess in mm, negative for a short shoe; the standard uncertainty joins that of the
 *   label's meaning (nominalFootLength)
 * @throws {RangeError} if the length is implausible, or the size is outside the adult scale
 * @see related: ISO 9407 (Mondopoint), from memory; no conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.insideLengthOverNominal(272, { size: 260, size_system: "mondopoint" });
 * assert.equal(value, 12);
 * ```
 */
export function insideLengthOverNominal(
  inside_length_mm: number,
  { size, u_inside_length_mm, ...label }: LabelOptions & { readonly u_inside_length_mm?: number },
): MetricValue {
  option.check("metrics.insideLengthOverNominal", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size: option.needed(option.number),
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
    u_inside_length_mm: option.notNegative,
  });
  requireBetween("inside_length_mm", inside_length_mm, [100, 450], "mm of a shoe");
  const foot = nominalFootLength(size, label);
  return {
    value: inside_length_mm - foot.value,
    unit: "mm",
    ...propagate([
      { name: "u_inside_length_mm", u: u_inside_length_mm, slope: 1 },
      { name: "u_nominal_foot_mm", u: foot.standard_uncertainty ?? undefined, slope: -1 },
    ]),
    caution: sizeCaution,
  };
}
