/** Up to here every set of columns (or rows, where they are fewer) is looked at. */
const MOST_SETS = 16;

/**
 * Which rows and columns of a table with gaps hold no gap together, and the most cells?
 *
 * All sets of columns are looked at, or all sets of rows where they are fewer: the block is the largest
 * there is, with at least two of each. Of two alike the one with more columns is taken. A table with more
 * than 16 of both has too many sets: there the larger is taken of full rows, full columns, and what is left
 * when the row or column with the largest share of gaps is taken away again and again.
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
  if (Math.min(rows.length, columns.length) <= MOST_SETS) {
    const wide = columns.length <= rows.length;
    const found = wide
      ? largestBlock(columns, rows, (j, i) => gap(i, j), true)
      : largestBlock(rows, columns, gap, false);
    if (found === null) return { rows: fullRows, columns };
    return wide
      ? { rows: found.others, columns: found.chosen }
      : { rows: found.chosen, columns: found.others };
  }
  const fullColumns = columns.filter((j) => !rows.some((i) => gap(i, j)));
  const candidates = [
    { rows: fullRows, columns },
    { rows, columns: fullColumns },
    peeled(rows, columns, gap),
  ];
  const worth = (block: { rows: readonly number[]; columns: readonly number[] }) =>
    Math.min(block.rows.length, block.columns.length) < 2
      ? 0
      : block.rows.length * block.columns.length;
  return candidates.reduce((best, block) => worth(block) > worth(best) ? block : best);
}

/** The best set of the few, with those of the many that have no gap in it. */
function largestBlock(
  few: readonly number[],
  many: readonly number[],
  gap: (one: number, other: number) => boolean,
  preferFew: boolean,
): { readonly chosen: readonly number[]; readonly others: readonly number[] } | null {
  const filled = many.map((other) =>
    few.reduce((mask, one) => gap(one, other) ? mask : mask | 1 << one, 0)
  );
  // How many of the many are full on a set: those full on just that, and on every wider one.
  const full = new Int32Array(1 << few.length);
  for (const mask of filled) full[mask]++;
  for (const one of few) {
    for (let set = 0; set < full.length; set++) {
      if ((set & 1 << one) === 0) full[set] += full[set | 1 << one];
    }
  }
  let [best, cells, size] = [0, 0, 0];
  for (let set = 1; set < full.length; set++) {
    const chosen = few.filter((one) => (set & 1 << one) !== 0).length;
    if (chosen < 2 || full[set] < 2) continue;
    const holds = chosen * full[set];
    const wider = preferFew ? chosen > size : chosen < size;
    if (holds > cells || holds === cells && wider) [best, cells, size] = [set, holds, chosen];
  }
  return cells === 0 ? null : {
    chosen: few.filter((one) => (best & 1 << one) !== 0),
    others: many.filter((_, at) => (filled[at] & best) === best),
  };
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
