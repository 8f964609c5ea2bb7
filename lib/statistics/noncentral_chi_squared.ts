import * as option from "../options.ts";
import { chiSquaredCdf, logGamma } from "./distributions.ts";

/**
 * How much of a noncentral chi-squared distribution lies at or below x?
 *
 * That of a sum of squares of normal numbers with SD 1 whose own squared means sum to `noncentrality`: chi-squared
 * distributions of rising freedom, mixed as Poisson says, summed from the likeliest outwards.
 *
 * @param freedom above 0
 * @param noncentrality 0 or more
 * @throws {RangeError} if an argument is out of range
 * @see Johnson, Kotz & Balakrishnan 1995, Continuous Univariate Distributions 2, chapter 29 (from memory)
 */
export function noncentralChiSquaredCdf(x: number, freedom: number, noncentrality: number): number {
  if (!(noncentrality >= 0 && noncentrality < Infinity)) {
    throw new RangeError(`noncentrality must be 0 or more, was given ${noncentrality}`);
  }
  if (noncentrality === 0 || x <= 0) return chiSquaredCdf(Math.max(0, x), freedom);
  const half = noncentrality / 2;
  const term = (count: number) =>
    Math.exp(count * Math.log(half) - half - logGamma(count + 1)) *
    chiSquaredCdf(x, freedom + 2 * count);
  const middle = Math.floor(half);
  // Poisson: beyond this many on either side less than 1e-16 is left.
  const reach = Math.ceil(9 * Math.sqrt(half) + 40);
  let total = 0;
  for (let count = Math.max(0, middle - reach); count <= middle + reach; count++) {
    total += term(count);
  }
  return Math.min(1, total);
}

/**
 * How large can the noncentrality be behind a sum of squares, at most?
 *
 * The largest of which so small a sum, or a smaller one, still comes about with a chance of 1 − confidence.
 *
 * @param squares the sum of squares observed, each term in units of its own noise
 * @param terms how many it has
 * @returns 0 where even none at all gives so small a sum more seldom
 * @throws {RangeError} if an argument is out of range
 */
export function noncentralityLimit(
  squares: number,
  terms: number,
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): number {
  option.check("statistics.noncentralityLimit", arguments[2], { confidence: option.share });
  if (!(squares >= 0 && squares < Infinity)) {
    throw new RangeError(`A sum of squares is 0 or more, was given ${squares}`);
  }
  const risk = 1 - confidence;
  const isHeld = (noncentrality: number) =>
    noncentralChiSquaredCdf(squares, terms, noncentrality) > risk;
  if (!isHeld(0)) return 0;
  let [low, high] = [0, squares + 1];
  while (isHeld(high)) [low, high] = [high, 2 * high];
  while (high - low > 1e-10 * high) {
    const middle = (low + high) / 2;
    if (isHeld(middle)) low = middle;
    else high = middle;
  }
  return low;
}
