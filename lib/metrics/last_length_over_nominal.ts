import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween } from "./domain.ts";
import type { LabelOptions } from "./inside_length_over_nominal.ts";
import type { MetricValue } from "./metric_value.ts";
import { nominalFootLength } from "./nominal_foot_length.ts";
import { propagate } from "./propagate.ts";

/**
 * How much longer than the foot on the label did the maker build the last?
 *
 * Measured last length minus the foot that the label means. 10 to 20 mm is common, no source.
 *
 * @param last_length_mm measured last (or a cast of the inside), 100 to 450
 * @param options the label's `size` and `size_system`; the conventions; `u_last_length_mm`, the
 *   standard uncertainty of the length
 * @returns the allowance in mm; the standard uncertainty joins that of the label's meaning
 *   (nominalFootLength)
 * @throws {RangeError} if the length is implausible, or the size is outside the adult scale
 * @see related: ISO 9407 (Mondopoint), from memory; no conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.lastLengthOverNominal(277, { size: 260, size_system: "mondopoint" });
 * assert.equal(value, 17);
 * ```
 */
export function lastLengthOverNominal(
  last_length_mm: number,
  { size, u_last_length_mm, ...label }: LabelOptions & { readonly u_last_length_mm?: number },
): MetricValue {
  option.check("metrics.lastLengthOverNominal", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size: option.needed(option.number),
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
    u_last_length_mm: option.notNegative,
  });
  requireBetween("last_length_mm", last_length_mm, [100, 450], "mm of a last");
  const foot = nominalFootLength(size, label);
  return {
    value: last_length_mm - foot.value,
    unit: "mm",
    ...propagate([
      { name: "u_last_length_mm", u: u_last_length_mm, slope: 1 },
      { name: "u_nominal_foot_mm", u: foot.standard_uncertainty ?? undefined, slope: -1 },
    ]),
    caution: sizeCaution,
  };
}
