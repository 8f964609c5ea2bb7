import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { wrong } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How stiff is a rubber whose Shore A hardness was read?
 *
 * Gent's relation, E in MPa = 0.0981 (56 + 7.62336 S) / (0.137505 (254 − 2.54 S)). First order,
 * made for S from about 20 to 80; outside that the caution says so. It runs to infinity at 100.
 *
 * @param shore_a hardness on the A scale, 0 to below 100
 * @param options `u_shore_a` the standard uncertainty of the reading. It carries the durometer's
 *   error, not the relation's own
 * @returns Young's modulus in MPa
 * @throws {RangeError} if the hardness is below 0, or 100 or more
 * @see Gent AN (1958), On the relation between indentation hardness and Young's modulus, Rubber
 *   Chemistry and Technology 31:896–906; related: ISO 48-4, ASTM D2240 (durometer hardness), no
 *   conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.modulusFromShoreA(60).value.toFixed(3), "3.605");
 * ```
 */
export function modulusFromShoreA(
  shore_a: number,
  { u_shore_a }: { readonly u_shore_a?: number } = {},
): MetricValue {
  option.check("metrics.modulusFromShoreA", arguments[1], { u_shore_a: option.notNegative });
  if (!(Number.isFinite(shore_a) && shore_a >= 0 && shore_a < 100)) {
    throw wrong("shore_a", shore_a, "a hardness of at least 0 and below 100");
  }
  const softness = 100 - shore_a;
  const outside = shore_a < 20 || shore_a > 80;
  return {
    value: (gentScale * (56 + gentSlope * shore_a)) / softness,
    unit: "MPa",
    ...propagate([
      {
        name: "u_shore_a",
        u: u_shore_a,
        slope: (gentScale * (56 + 100 * gentSlope)) / softness ** 2,
      },
    ]),
    caution: outside
      ? `${benchCaution} Gent's relation was made for about 20 to 80 Shore A; ${shore_a} lies outside, so the modulus is a guess.`
      : benchCaution,
  };
}

/** Gent's constants as published; 254 − 2.54 S is written as 2.54 (100 − S). */
export const gentSlope = 7.62336;
export const gentScale = 0.0981 / (0.137505 * 2.54);
