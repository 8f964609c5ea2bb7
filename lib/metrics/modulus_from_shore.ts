import * as option from "../options.ts";
import { requireOneOf } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { modulusFromShoreA } from "./modulus_from_shore_a.ts";

/**
 * How stiff is a rubber whose durometer reading comes with its scale?
 *
 * Scale A goes through Gent's relation. Scale D is refused: it has another indenter and another
 * spring, the relation was never made for it, and an A reading that is worked out from a D reading
 * would only look like a measurement.
 *
 * @param hardness the durometer reading
 * @param scale the durometer's scale
 * @param options `u_hardness` the standard uncertainty of the reading
 * @returns Young's modulus in MPa
 * @throws {RangeError} for scale D, for a scale that is neither, and for a hardness outside 0 to
 *   below 100
 * @see `modulusFromShoreA`
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.modulusFromShore(60, "A").value.toFixed(3), "3.605");
 * assert.throws(() => metrics.modulusFromShore(60, "D"), /no conversion/);
 * ```
 */
export function modulusFromShore(
  hardness: number,
  scale: "A" | "D",
  { u_hardness }: { readonly u_hardness?: number } = {},
): MetricValue {
  option.check("metrics.modulusFromShore", arguments[2], { u_hardness: option.notNegative });
  requireOneOf("scale", scale, ["A", "D"]);
  if (scale === "D") {
    throw new RangeError(
      `${hardness} Shore D has no conversion to a modulus: scale D uses another indenter and spring than ` +
        "the one Gent's relation describes; expected a reading on scale A",
    );
  }
  return modulusFromShoreA(hardness, { u_shore_a: u_hardness });
}
