type Column = readonly (number | null)[];

/** Pairs of a column and a target that have the same rows. */
type SharedRows = {
  readonly rows: readonly number[];
  readonly pairs: readonly { readonly column: number; readonly target: number }[];
};

/** Which pairs of columns and targets can be resampled together, because the same rows have both? */
export function sharedRows(
  columns: readonly Column[],
  targets: readonly Column[],
): readonly SharedRows[] {
  const groups = new Map<string, { rows: number[]; pairs: { column: number; target: number }[] }>();
  columns.forEach((x, column) =>
    targets.forEach((y, target) => {
      const rows = x.flatMap((value, row) => value !== null && y[row] !== null ? [row] : []);
      const key = rows.join();
      const group = groups.get(key) ?? { rows, pairs: [] };
      group.pairs.push({ column, target });
      groups.set(key, group);
    })
  );
  return [...groups.values()];
}

/** Values of a column in some of its rows, where none is missing. */
export function valuesAt(column: Column, rows: readonly number[]): number[] {
  return rows.map((row) => column[row] as number);
}
