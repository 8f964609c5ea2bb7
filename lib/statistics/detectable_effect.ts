import * as option from "../options.ts";
import { normalCdf, normalQuantile } from "./distributions.ts";

/**
 * How likely is it that a rank correlation of this size is found?
 *
 * Power of the two-sided test of no association, taking atanh of the sample rho as normal with variance
 * (1 + rho²/2)/(n − 3) under the correlation, and 1/(n − 3) without one.
 *
 * @param rho the true rank correlation
 * @param n rows
 * @returns from alpha (rho 0) to 1; null with fewer than four rows
 * @throws {RangeError} if rho is not between −1 and 1
 * @see Bonett & Wright 2000, Psychometrika 65:23, for the variance
 */
export function rankCorrelationPower(
  rho: number,
  n: number,
  { alpha = 0.05 }: { readonly alpha?: number } = {},
): number | null {
  option.check("statistics.rankCorrelationPower", arguments[2], { alpha: option.share });
  if (!(rho >= -1 && rho <= 1)) throw new RangeError(`rho lies from -1 to 1, was given ${rho}`);
  checkLevel("alpha", alpha);
  if (n < 4) return null;
  if (Math.abs(rho) === 1) return 1;
  const limit = normalQuantile(1 - alpha / 2);
  const centre = Math.atanh(Math.abs(rho)) * Math.sqrt(n - 3);
  const spread = Math.sqrt(1 + rho * rho / 2);
  return normalCdf((centre - limit) / spread) + normalCdf((-centre - limit) / spread);
}

/**
 * What is the smallest rank correlation that so many rows would find?
 *
 * @param n rows
 * @param power the wanted chance of finding it
 * @returns |rho|; null with fewer than four rows
 *
 * @example 48 shoes find |rho| = .4 four times in five
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.detectableEffect(48)?.toFixed(1), "0.4");
 * ```
 */
export function detectableEffect(
  n: number,
  { power = 0.8, alpha = 0.05 }: { readonly power?: number; readonly alpha?: number } = {},
): number | null {
  option.check("statistics.detectableEffect", arguments[1], {
    power: option.share,
    alpha: option.share,
  });
  checkLevel("power", power);
  checkLevel("alpha", alpha);
  if (n < 4) return null;
  if (power <= alpha) return 0;
  let low = 0;
  let high = 1;
  // 60 halvings leave nothing of the interval.
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (rankCorrelationPower(middle, n, { alpha })! < power) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * How many rows would find a rank correlation of this size?
 *
 * @returns the smallest n whose power is at least the wanted one; null for rho = 0, which no n finds
 */
export function rowsToDetect(
  rho: number,
  { power = 0.8, alpha = 0.05 }: { readonly power?: number; readonly alpha?: number } = {},
): number | null {
  option.check("statistics.rowsToDetect", arguments[1], {
    power: option.share,
    alpha: option.share,
  });
  checkLevel("power", power);
  if (rankCorrelationPower(rho, 4, { alpha })! >= power) return 4;
  if (rho === 0) return null;
  let low = 4;
  let high = 8;
  while (rankCorrelationPower(rho, high, { alpha })! < power) {
    low = high;
    high *= 2;
    if (high > 1e12) return null;
  }
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (rankCorrelationPower(rho, middle, { alpha })! < power) low = middle;
    else high = middle;
  }
  return high;
}

function checkLevel(name: string, value: number): void {
  if (!(value > 0 && value < 1)) {
    throw new RangeError(`${name} lies between 0 and 1, was given ${value}`);
  }
}
