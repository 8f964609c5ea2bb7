/**
 * Which rows and columns of a table with gaps hold no gap together, and many cells?
 *
 * The larger of three blocks: all columns with the rows they all fill, all rows with the columns that
 * fill them all, and what is left when the row or column with the largest share of gaps is taken away
 * again and again. Not the largest of all blocks, which is hard to find, but never a poor one.
 *
 * @returns positions of rows and columns, in order; both empty when every cell is a gap
 */
export function completeBlock(
  table: readonly (readonly (number | null)[])[],
): { readonly rows: readonly number[]; readonly columns: readonly number[] } {
  const rows = table.map((_, i) => i);
  const columns = (table[0] ?? []).map((_, j) => j);
  const gap = (i: number, j: number) => table[i][j] === null;
  const fullRows = rows.filter((i) => !columns.some((j) => gap(i, j)));
  const fullColumns = columns.filter((j) => !rows.some((i) => gap(i, j)));
  const candidates = [
    { rows: fullRows, columns },
    { rows, columns: fullColumns },
    peeled(rows, columns, gap),
  ];
  // At least two columns and two rows, or nothing can be compared.
  const worth = (block: { rows: readonly number[]; columns: readonly number[] }) =>
    Math.min(block.rows.length, block.columns.length) < 2
      ? 0
      : block.rows.length * block.columns.length;
  return candidates.reduce((best, block) => worth(block) > worth(best) ? block : best);
}

function peeled(
  rows: readonly number[],
  columns: readonly number[],
  gap: (i: number, j: number) => boolean,
) {
  let [keptRows, keptColumns] = [[...rows], [...columns]];
  while (keptRows.length > 0 && keptColumns.length > 0) {
    const rowGaps = keptRows.map((i) => keptColumns.filter((j) => gap(i, j)).length);
    const columnGaps = keptColumns.map((j) => keptRows.filter((i) => gap(i, j)).length);
    const worstRow = Math.max(...rowGaps) / keptColumns.length;
    const worstColumn = Math.max(...columnGaps) / keptRows.length;
    if (worstRow === 0) break;
    if (worstColumn >= worstRow) {
      const at = columnGaps.indexOf(Math.max(...columnGaps));
      keptColumns = keptColumns.filter((_, j) => j !== at);
    } else {
      const at = rowGaps.indexOf(Math.max(...rowGaps));
      keptRows = keptRows.filter((_, i) => i !== at);
    }
  }
  return { rows: keptRows, columns: keptColumns };
}
