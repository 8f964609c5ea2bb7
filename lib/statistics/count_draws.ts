/** Turns drawn row numbers into counts per row, in place. */
export function countDrawsInto(draws: ArrayLike<number>, counts: Int32Array): Int32Array {
  counts.fill(0);
  for (let i = 0; i < draws.length; i++) counts[draws[i]]++;
  return counts;
}
