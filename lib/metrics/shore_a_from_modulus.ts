import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { gentScale, gentSlope } from "./modulus_from_shore_a.ts";
import { propagate } from "./propagate.ts";

/**
 * Which Shore A hardness would a rubber of this modulus read?
 *
 * Gent's relation solved for S.
 *
 * @param modulus_mpa Young's modulus, at least that of hardness 0 (about 0.16 MPa)
 * @param options `u_modulus_mpa` its standard uncertainty
 * @returns the hardness on the A scale (unit `shore-a`)
 * @throws {RangeError} if the modulus lies below that of hardness 0
 * @see Gent AN (1958), Rubber Chemistry and Technology 31:896–906
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.shoreAFromModulus(metrics.modulusFromShoreA(60).value).value.toFixed(9), "60.000000000");
 * ```
 */
export function shoreAFromModulus(
  modulus_mpa: number,
  { u_modulus_mpa }: { readonly u_modulus_mpa?: number } = {},
): MetricValue {
  option.check("metrics.shoreAFromModulus", arguments[1], { u_modulus_mpa: option.notNegative });
  requireAtLeast("modulus_mpa", modulus_mpa, (gentScale * 56) / 100);
  const steepness = modulus_mpa + gentScale * gentSlope;
  return {
    value: (100 * modulus_mpa - 56 * gentScale) / steepness,
    unit: "shore-a",
    ...propagate([
      {
        name: "u_modulus_mpa",
        u: u_modulus_mpa,
        slope: (gentScale * (100 * gentSlope + 56)) / steepness ** 2,
      },
    ]),
    caution: benchCaution,
  };
}
