import * as option from "../options.ts";
import type { MetricValue } from "./metric_value.ts";
import { convertSize } from "./convert_size.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/**
 * How long is the foot that the label means?
 *
 * A Mondopoint label says it; the other systems measure the last, so the allowance is taken off.
 *
 * @param size as labelled; Mondopoint in mm
 * @param options `size_system`, and the conventions that differ by maker, `allowance_mm` and
 *   `us_women_over_men`
 * @returns the length in mm; exact for Mondopoint, else with the standard uncertainty of the
 *   allowance
 * @throws {RangeError} if the size is outside the adult scale or a convention outside its common
 *   range
 * @see ISO 9407 (Mondopoint), from memory; a label 260/102 reads: foot 260 mm long, 102 mm wide
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.nominalFootLength(42, { size_system: "eu" }).value.toFixed(6), "265.000000");
 * ```
 */
export function nominalFootLength(
  size: number,
  { size_system, ...conventions }: SizeConventions & { readonly size_system: SizeSystem },
): MetricValue {
  option.check("metrics.nominalFootLength", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
  });
  const { value, unit, standard_uncertainty, standard_uncertainty_reason, caution } = convertSize(
    size,
    { from: size_system, to: "mondopoint", ...conventions },
  );
  return { value, unit, standard_uncertainty, standard_uncertainty_reason, caution };
}
