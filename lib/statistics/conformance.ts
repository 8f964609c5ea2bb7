import * as option from "../options.ts";
import { normalCdf, normalUpper } from "./distributions.ts";

/** Within which a value is allowed to lie; a side without a limit is null. */
export type Tolerance = { readonly low: number | null; readonly high: number | null };

/**
 * How likely does a thing lie within its tolerance, given its measured value?
 *
 * The share of a normal distribution about the measured value that lies between the limits.
 *
 * @param uncertainty standard uncertainty of the value, above 0
 * @see JCGM 106:2012, 7.2 to 7.4
 */
export function conformanceProbability(
  value: number,
  uncertainty: number,
  { low, high }: Tolerance,
): number {
  option.check("statistics.conformanceProbability", arguments[2], {
    low: option.needed(option.orNull(option.number)),
    high: option.needed(option.orNull(option.number)),
  });
  checkTolerance({ low, high }, uncertainty);
  const below = low === null ? 0 : normalCdf((low - value) / uncertainty);
  const above = high === null ? 0 : normalUpper((high - value) / uncertainty);
  return Math.max(0, 1 - below - above);
}

/**
 * Between which measured values may a thing be accepted at little risk of it lying outside?
 *
 * The tolerance drawn in on each side by a guard band of `factor` times the expanded uncertainty (factor 1,
 * common practice); a factor below 0 widens it, for rejecting at little risk.
 *
 * @param expanded expanded uncertainty, a half-width
 * @returns limits; `possible` is false where the bands meet, so that no value could be accepted
 * @see JCGM 106:2012, 8.3.2 (guarded acceptance) and 8.3.3 (guarded rejection)
 */
export function guardBand(
  { low, high }: Tolerance,
  expanded: number,
  { factor = 1 }: { readonly factor?: number } = {},
): Tolerance & { readonly possible: boolean } {
  option.check("statistics.guardBand", arguments[2], { factor: option.number });
  checkTolerance({ low, high }, expanded);
  const band = factor * expanded;
  const inner = {
    low: low === null ? null : low + band,
    high: high === null ? null : high - band,
  };
  return {
    ...inner,
    possible: inner.low === null || inner.high === null || inner.low < inner.high,
  };
}

function checkTolerance({ low, high }: Tolerance, uncertainty: number): void {
  if (!(uncertainty > 0 && uncertainty < Infinity)) {
    throw new RangeError(`An uncertainty lies above 0, was given ${uncertainty}`);
  }
  if (low !== null && high !== null && !(low < high)) {
    throw new RangeError(`A tolerance runs from low to high, was given ${low} to ${high}`);
  }
}
