import { mean, sampleStandardDeviation } from "simple-statistics";
import * as option from "../options.ts";
import { checkColumns, columnsOf } from "./show_table.ts";
import type { CellValue, TableRow } from "./write_table.ts";

/**
 * What is the mean of each group of rows, over what is known?
 *
 * Rows are of one group where they agree in every column of `by`, whatever its texts hold; what is missing is
 * left out, column by column, and is a group of its own in a column of `by`.
 *
 * @param by the column, or columns, that make the groups
 * @param options `columns` to take the mean of; default: every other column that holds numbers
 * @returns one row a group, in the order they first appear: the columns of `by`, `rows`, and for each column
 *   `…_mean`, `…_sd` (divided by n − 1; null below two) and `…_n`, the values it rests on
 * @throws {RangeError} if there is no such column, or one to take the mean of holds anything but numbers
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { records } from "bench-to-court";
 * const rows = [{ maker: "A", mass: 310 }, { maker: "A", mass: null }, { maker: "B", mass: 280 }];
 * assert.deepEqual(records.groupMeans(rows, "maker"), [
 *   { maker: "A", rows: 2, mass_mean: 310, mass_sd: null, mass_n: 1 },
 *   { maker: "B", rows: 1, mass_mean: 280, mass_sd: null, mass_n: 1 },
 * ]);
 * ```
 */
export function groupMeans(
  rows: readonly TableRow[],
  by: string | readonly string[],
  { columns }: { readonly columns?: readonly string[] } = {},
): readonly TableRow[] {
  option.check("records.groupMeans", arguments[2], { columns: option.listOf(option.text) });
  const keys = typeof by === "string" ? [by] : by;
  const known = columnsOf(rows);
  if (rows.length > 0) checkColumns([...keys, ...columns ?? []], known, "group by");
  const taken = columns ??
    known.filter((name) => !keys.includes(name) && holdsNumbers(rows, name));
  const groups = Map.groupBy(
    rows,
    (row) => JSON.stringify(keys.map((name) => [typeof row[name], row[name] ?? null])),
  );
  return [...groups.values()].map((group) => ({
    ...Object.fromEntries(keys.map((name) => [name, group[0][name] ?? null])),
    rows: group.length,
    ...Object.fromEntries(taken.flatMap((name) => {
      const values = group.map((row) => numberIn(row[name], name)).filter((one) => one !== null);
      return [
        [`${name}_mean`, values.length === 0 ? null : mean(values)],
        [`${name}_sd`, values.length < 2 ? null : sampleStandardDeviation(values)],
        [`${name}_n`, values.length],
      ];
    })),
  }));
}

function holdsNumbers(rows: readonly TableRow[], name: string): boolean {
  const values = rows.map((row) => row[name]).filter((value) => !isMissing(value));
  return values.length > 0 && values.every((value) => typeof value === "number");
}

function isMissing(value: CellValue): value is null | undefined {
  return value === null || value === undefined || Number.isNaN(value);
}

function numberIn(value: CellValue, name: string): number | null {
  if (isMissing(value)) return null;
  if (typeof value === "number") return value;
  throw new RangeError(
    `Cannot take the mean of ${name}: found ${JSON.stringify(value)}, expected numbers`,
  );
}
