/**
 * Which values are equal but for the rounding of arithmetic?
 *
 * Means of readings that are equal on paper may differ in the last binary digit, and would then be ranked
 * apart, one way in centimetres and another in inches. Values closer than a billionth of the range are
 * set to the lowest of them.
 *
 * @param values null is a missing value
 */
export function tieNearEqual(values: readonly (number | null)[]): (number | null)[] {
  const rows = values.flatMap((value, row) => value === null ? [] : [row])
    .sort((a, b) => values[a]! - values[b]! || a - b);
  const tied = values.slice();
  if (rows.length === 0) return tied;
  const [low, high] = [values[rows[0]]!, values[rows.at(-1)!]!];
  const slack = Math.max(1e-9 * (high - low), 1e-13 * Math.max(Math.abs(low), Math.abs(high)));
  let lowest = low;
  for (const row of rows) {
    if (values[row]! - lowest > slack) lowest = values[row]!;
    tied[row] = lowest;
  }
  return tied;
}
