import { withGuard } from "./cells.ts";
import { writeWhole } from "./write_whole.ts";

/** What a cell of a written table may hold; null and undefined make an empty cell. */
export type CellValue = string | number | boolean | null | undefined;

/** One row of a table, by column name. */
export type TableRow = Readonly<Record<string, CellValue>>;

/**
 * Writes rows as a CSV table that `loadBench` reads back exactly.
 *
 * RFC 4180 quoting, a header line, `.` decimals with every digit that a number needs. Text that a
 * spreadsheet would run as a formula gets an apostrophe in front, which the loader takes off again.
 *
 * @param path of the file, which is written whole or not at all
 * @param columns in this order; default: every key of the rows, in the order they first appear
 * @throws {TypeError} if a cell holds anything but text, a finite number, a boolean or nothing
 */
export async function writeTable(
  path: string,
  rows: readonly TableRow[],
  columns?: readonly string[],
): Promise<void> {
  await writeWhole(path, tableText(rows, columns));
}

/** The text of the file that `writeTable` writes. */
export function tableText(rows: readonly TableRow[], columns?: readonly string[]): string {
  const names = columns ?? [...new Set(rows.flatMap((row) => Object.keys(row)))];
  const header = names.map((name) => cellText(name, "the header")).join(",");
  const lines = rows.map((row, i) =>
    names.map((name) => {
      // A column may be called like what every object has.
      const value = Object.hasOwn(row, name) ? row[name] : null;
      return cellText(value, `row ${i + 1}, column "${name}"`);
    }).join(",")
  );
  // A row of one empty cell would be a blank line, which readers pass over.
  const kept = lines.map((line) => line === "" && names.length > 0 ? '""' : line);
  return [header, ...kept, ""].join("\r\n");
}

function cellText(value: CellValue, place: string): string {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "true" : "false";
  if (typeof value === "number" && Number.isFinite(value)) {
    return Object.is(value, -0) ? "-0" : String(value);
  }
  if (typeof value !== "string") {
    const found = typeof value === "number" ? String(value) : typeof value;
    throw new TypeError(`Cannot write ${place}: ${found} is no text, finite number or boolean`);
  }
  const inert = withGuard(value);
  return /[",;\t\r\n]|^\s|\s$|^\uFEFF/.test(inert) ? `"${inert.replaceAll('"', '""')}"` : inert;
}
