import { median as middleOf, medianAbsoluteDeviation } from "simple-statistics";

/** Middle value; the mean of the two in the middle for an even number. NaN for none. */
export function median(values: readonly number[] | Float64Array): number {
  return values.length === 0 ? NaN : middleOf(values as number[]);
}

/** Spread around the middle that outliers hardly move: 1.4826 times the median absolute deviation. */
export function robustSpread(values: readonly number[]): number {
  return values.length === 0 ? NaN : 1.4826 * medianAbsoluteDeviation([...values]);
}

/**
 * How many standard deviations does chance alone hardly ever exceed?
 *
 * The normal deviate beyond which, in either direction, lies `share`. By iterating on the tail's
 * leading term, 1/(z√2π)·exp(−z²/2), which is within 1 % from z = 3 up and errs on the far side.
 */
export function farDeviate(share: number): number {
  let z = 3;
  for (let i = 0; i < 20; i++) {
    z = Math.sqrt(Math.max(1, -2 * Math.log((share / 2) * z * Math.sqrt(2 * Math.PI))));
  }
  return z;
}

/**
 * Scatter of one reading when it is repeated, for normal readings, whatever a minority of sets do.
 *
 * Each set's variance is put on one scale by the median of its chi-squared distribution
 * (the cube-root approximation of 1931), and the middle one is taken.
 *
 * @param variances of sets, each with its degrees of freedom
 */
export function typicalSpread(variances: Float64Array, freedoms: Float64Array): number {
  const scaled = variances.map((variance, i) => variance / (1 - 2 / (9 * freedoms[i])) ** 3);
  return Math.sqrt(median(scaled));
}
