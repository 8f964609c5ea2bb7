import * as option from "../options.ts";
import type { Estimate } from "./estimate.ts";

/**
 * How far from its long-run value does the mean of a few trials usually lie?
 *
 * The repeatability SD over √k. Not the standard error of a sample mean across subjects.
 *
 * @param repeatability the SD of one trial, as `repeatabilitySd` gives it
 * @param options.averaged trials in the mean, k
 * @throws {RangeError} if k is less than 1
 * @see Weir 2005; ISO 5725-6
 */
export function standardErrorOfMeasurement(
  repeatability: Estimate,
  { averaged = 1 }: { readonly averaged?: number } = {},
): Estimate {
  option.check("statistics.standardErrorOfMeasurement", arguments[1], {
    averaged: option.whole(1),
  });
  if (!(averaged >= 1 && averaged < Infinity)) {
    throw new RangeError(`A mean is of 1 trial or more, was given ${averaged}`);
  }
  return scaleEstimate(repeatability, 1 / Math.sqrt(averaged), `over √${averaged}`);
}

/** An estimate and its limits times a positive number. */
export function scaleEstimate(of: Estimate, factor: number, note: string): Estimate {
  const times = (x: number | null) => x === null ? null : x * factor;
  return {
    estimate: times(of.estimate),
    estimate_reason: of.estimate_reason,
    lower: times(of.lower),
    upper: times(of.upper),
    confidence: of.confidence,
    method: `${of.method}, ${note}`,
    n: of.n,
    warnings: of.warnings,
  };
}
