import * as option from "../options.ts";
import { normalCdf, normalQuantile } from "./distributions.ts";

/**
 * How many rows would show that a rank correlation is small?
 *
 * The smallest n at which its interval lies inside ±`within` with the wanted chance, taking atanh of the
 * sample rho as normal with variance (1 + rho²/2)/(n − 3).
 *
 * @param rho the true rank correlation
 * @param options `within`: what counts as small; `power`: the wanted chance; `confidence` of the interval
 * @returns null if rho itself is not smaller than `within`: no n would show it
 * @throws {RangeError} if rho, within, power or confidence is out of range
 * @see Bonett & Wright 2000, Psychometrika 65:23, for the variance
 *
 * @example An unrelated metric: 113 shoes show four times in five that |rho| is below .3
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.rowsToRuleOut(0), 113);
 * assert.equal(statistics.rowsToRuleOut(0.35), null);
 * ```
 */
export function rowsToRuleOut(
  rho: number,
  { within = 0.3, power = 0.8, confidence = 0.95 }: {
    readonly within?: number;
    readonly power?: number;
    readonly confidence?: number;
  } = {},
): number | null {
  option.check("statistics.rowsToRuleOut", arguments[1], {
    within: option.number,
    power: option.share,
    confidence: option.share,
  });
  if (!(rho >= -1 && rho <= 1)) throw new RangeError(`rho lies from -1 to 1, was given ${rho}`);
  for (const [name, value] of Object.entries({ within, power, confidence })) {
    if (!(value > 0 && value < 1)) {
      throw new RangeError(`${name} lies between 0 and 1, was given ${value}`);
    }
  }
  if (Math.abs(rho) >= within) return null;
  const edge = Math.atanh(within);
  const centre = Math.atanh(rho);
  const reach = normalQuantile((1 + confidence) / 2);
  const chance = (n: number) => {
    const error = Math.sqrt((1 + rho * rho / 2) / (n - 3));
    const inner = edge - reach * error;
    return inner <= 0
      ? 0
      : normalCdf((inner - centre) / error) - normalCdf((-inner - centre) / error);
  };
  let low = 4;
  let high = 8;
  while (chance(high) < power) {
    low = high;
    high *= 2;
    if (high > 1e12) return null;
  }
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (chance(middle) < power) low = middle;
    else high = middle;
  }
  return high;
}
