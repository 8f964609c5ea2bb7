/** Middle value; the mean of the two in the middle for an even number. NaN for none. */
export function middle(values: readonly number[] | Float64Array): number {
  const sorted = inOrder(values);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/** A few numbers are sorted by hand: most sets have some five, and there may be a hundred thousand sets. */
function inOrder(values: readonly number[] | Float64Array): Float64Array {
  const sorted = new Float64Array(values);
  if (sorted.length > 12) return sorted.sort();
  for (let i = 1; i < sorted.length; i++) {
    const value = sorted[i];
    let at = i;
    for (; at > 0 && sorted[at - 1] > value; at--) sorted[at] = sorted[at - 1];
    sorted[at] = value;
  }
  return sorted;
}

/** Spread around the middle that outliers hardly move: 1.4826 times the median absolute deviation. */
export function robustSpread(values: readonly number[]): number {
  const centre = middle(values);
  return 1.4826 * middle(values.map((value) => Math.abs(value - centre)));
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
  return Math.sqrt(middle(scaled));
}
