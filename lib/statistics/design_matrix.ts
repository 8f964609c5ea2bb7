/**
 * Checks a table of predictors and its outcome.
 *
 * @returns how many rows and columns there are
 * @throws {RangeError} if rows differ in length, y does not match them, or a value is not finite
 */
export function checkDesign(
  X: readonly (readonly number[])[],
  y: readonly number[],
): { readonly rows: number; readonly columns: number } {
  if (X.length !== y.length) {
    throw new RangeError(`X has ${X.length} rows and y ${y.length} values; they must match`);
  }
  const columns = X.length === 0 ? 0 : X[0].length;
  X.forEach((row, i) => {
    if (row.length !== columns) {
      throw new RangeError(`Row ${i + 1} of X has ${row.length} values, the first has ${columns}`);
    }
    const odd = row.find((value) => !Number.isFinite(value));
    if (odd !== undefined) throw new RangeError(`Row ${i + 1} of X holds ${odd}; expected numbers`);
  });
  const odd = y.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`y holds ${odd}; expected finite numbers`);
  return { rows: X.length, columns };
}
