import { checkColumns, columnsOf } from "./show_table.ts";
import type { TableRow } from "./write_table.ts";

/**
 * Which numbers stand in this column of a table?
 *
 * @param rows such as `shoeTable` gives
 * @returns one entry a row, null for what is missing, as the functions of `statistics` take them
 * @throws {RangeError} if no row has the column, or it holds anything but numbers
 */
export function numberColumn(
  rows: readonly TableRow[],
  name: string,
): readonly (number | null)[] {
  if (rows.length > 0) checkColumns([name], columnsOf(rows), "take");
  return rows.map((row) => {
    const value = row[name] ?? null;
    if (value === null || Number.isNaN(value)) return null;
    if (typeof value === "number") return value;
    throw new RangeError(
      `Cannot take column "${name}" for numbers: found ${JSON.stringify(value)}, expected a number`,
    );
  });
}

/**
 * What does a figure of one's own come to in each row?
 *
 * Where one of the columns it is computed from is missing, so is the figure; JavaScript alone would reckon with 0.
 *
 * @param name of the new column
 * @param from the columns of numbers it is computed from
 * @param by takes their numbers, in that order
 * @returns the same rows with the column added; null where a number is missing or no finite number comes out
 * @throws {RangeError} if no row has one of the columns, or it holds anything but numbers
 *
 * @example Rebound for its weight, against what the panel felt
 * ```ts
 * import { loadBench, records, statistics } from "bench-to-court";
 * const { numberColumn } = records;
 * const shoes = records.computeColumn(
 *   records.shoeTable(await loadBench("data-demo")),
 *   "rebound per kg",
 *   ["heel-rebound", "mass"],
 *   (rebound_cm, mass_g) => rebound_cm / (mass_g / 1000),
 * );
 * statistics.spearman(numberColumn(shoes, "rebound per kg"), numberColumn(shoes, "liveliness"));
 * ```
 */
export function computeColumn(
  rows: readonly TableRow[],
  name: string,
  from: readonly string[],
  by: (...numbers: readonly number[]) => number,
): readonly TableRow[] {
  const columns = from.map((source) => numberColumn(rows, source));
  return rows.map((row, i) => {
    const numbers = columns.map((column) => column[i]).filter((value) => value !== null);
    const value = numbers.length === from.length ? by(...numbers) : NaN;
    return { ...row, [name]: Number.isFinite(value) ? value : null };
  });
}
