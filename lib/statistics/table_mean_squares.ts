/** Sums of squares of a complete table and its sources. */
export type TableMeanSquares = {
  readonly rows: number;
  readonly columns: number;
  readonly betweenRows: number;
  readonly withinRows: number;
  readonly betweenColumns: number;
  readonly error: number;
  /** Sums of squares below this are rounding of the readings themselves. */
  readonly rounding: number;
};

/**
 * How do the readings of a complete table scatter between rows, between columns and beyond both?
 *
 * Every reading is taken from the table's own centre before it is squared, and each source from
 * residuals rather than from differences of totals, so that a large offset costs no digits.
 *
 * @param table one row a subject, one column a rater or trial, at least two of each
 */
export function tableMeanSquares(table: readonly (readonly number[])[]): TableMeanSquares {
  const rows = table.length;
  const columns = table[0].length;
  const pivot = table[0][0];
  let largest = 0;
  let grand = 0;
  for (const row of table) {
    for (const reading of row) {
      largest = Math.max(largest, Math.abs(reading));
      grand += (reading - pivot) / (rows * columns);
    }
  }
  const rowMean = new Float64Array(rows);
  const columnMean = new Float64Array(columns);
  for (let i = 0; i < rows; i++) {
    for (let j = 0; j < columns; j++) {
      const reading = table[i][j] - pivot - grand;
      rowMean[i] += reading / columns;
      columnMean[j] += reading / rows;
    }
  }
  let [between, within, across, error] = [0, 0, 0, 0];
  for (let i = 0; i < rows; i++) {
    between += columns * rowMean[i] ** 2;
    for (let j = 0; j < columns; j++) {
      const fromRow = table[i][j] - pivot - grand - rowMean[i];
      within += fromRow ** 2;
      error += (fromRow - columnMean[j]) ** 2;
    }
  }
  for (let j = 0; j < columns; j++) across += rows * columnMean[j] ** 2;
  return {
    rows,
    columns,
    betweenRows: between / (rows - 1),
    withinRows: within / (rows * (columns - 1)),
    betweenColumns: across / (columns - 1),
    error: error / ((rows - 1) * (columns - 1)),
    rounding: rows * columns * (4 * Number.EPSILON * largest) ** 2,
  };
}
