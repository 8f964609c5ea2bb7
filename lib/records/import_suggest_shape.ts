import { plainName } from "./import_cells.ts";
import { headersOf, tableOf } from "./import_columns.ts";
import { isShoe, isSummary, saysWhatItHolds } from "./import_suggest_columns.ts";
import { type CellContent, type Sheet, shownContent } from "./import_workbook.ts";
import { unitOf } from "./units.ts";

/** The first row of three or more texts, and the row below it when that continues it; counted from 1. */
export function headerRowsOf(sheet: Sheet): number[] {
  const at = headerRowOf(sheet);
  const spread = sheet.merges.some(({ top, left, right }) => top === at && right > left);
  return spread && sheet.rows.length > at + 2 ? [at + 1, at + 2] : [at + 1];
}

function headerRowOf(sheet: Sheet): number {
  const texts = (row: readonly (CellContent | null)[] | undefined) =>
    (row ?? []).filter((cell) => cell?.kind === "text").length;
  const width = Math.max(0, ...sheet.rows.slice(0, 30).map((row) => row.filter(Boolean).length));
  const least = Math.min(3, Math.max(1, width));
  return Math.max(0, sheet.rows.slice(0, 30).findIndex((row) => texts(row) >= least));
}

/** Do the words down the first column say what is measured, and not those across the top? */
export function looksTurned(sheet: Sheet): boolean {
  const text = (cell: CellContent | null | undefined) =>
    cell?.kind === "text" ? [cell.text.trim()] : [];
  const header = headerRowOf(sheet);
  const across = (sheet.rows[header] ?? []).flatMap(text);
  const down = sheet.rows.slice(header).flatMap((row) => text(row[0]));
  const says = (words: readonly string[]) => words.filter(saysWhatItHolds).length;
  // Headers stand once each: names that come again are those of shoes in several rows.
  const isOnce = new Set(down.map(plainName)).size === down.length;
  // "Torsion 1", "Torsion 2" down the side are trials, unless the words across are headers already.
  const counted = isOnce && says(across) < 2 ? numbered(down) : 0;
  const [wide, high] = [says(across), says(down) + counted];
  return high >= 2 && high > wide && high >= down.length / 2;
}

/** How many words differ from another in the number at their end only, and say nothing by themselves? */
function numbered(words: readonly string[]): number {
  const base = (word: string) => plainName(word.replace(/[\s#.:-]*\d+$/, ""));
  const all = words.filter((word) => /\d$/.test(word)).map(base);
  return words.filter((word) =>
    !saysWhatItHolds(word) && /\p{L}.*\d$/u.test(word) &&
    all.filter((one) => one === base(word)).length > 1
  ).length;
}

/** The columns of a turned sheet, counted from 1, that hold headers: the first, and one of units. */
export function turnedHeaders({ rows }: Sheet): number[] {
  const second = (rows[1] ?? []).flatMap((cell) =>
    cell === null ? [] : [shownContent(cell).trim()]
  );
  const units = second.filter((text) => unitOf(text) !== null || /^units?$/i.test(text));
  return second.length > 0 && units.length >= second.length * 0.6 ? [1, 2] : [1];
}

/**
 * Which tables stand beside each other on a sheet?
 *
 * A second one begins at a second column of shoes, or behind an empty column at a column of names.
 *
 * @returns first and last column of each, counted from 0; one entry for a sheet of one table
 */
export function tablesBeside(sheet: Sheet): (readonly [number, number])[] {
  const width = sheet.rows.reduce((most, row) => Math.max(most, row.length), 0);
  const headers = headersOf(sheet, headerRowsOf(sheet));
  const isEmpty = Array.from(
    { length: width },
    (_, c) => headers[c] === "" && sheet.rows.every((row) => (row[c] ?? null) === null),
  );
  const starts = [0];
  let shoes = 0;
  for (let c = 0; c < width; c++) {
    if (isEmpty[c]) continue;
    const isSecond = isShoe(headers[c]) && ++shoes > 1;
    const behindGap = c > 0 && isEmpty[c - 1] && beginsTable(tableOf(sheet, c, width - 1), c);
    if (c > 0 && (isSecond || behindGap)) {
      starts.push(c);
      shoes = 1;
    }
  }
  return starts.map((from, i) => {
    let to = (starts[i + 1] ?? width) - 1;
    while (to > from && isEmpty[to]) to--;
    return [from, to] as const;
  });
}

/** Are the cells of this first column names, with numbers beside them? */
function beginsTable(table: Sheet, column: number): boolean {
  const headers = headerRowsOf(table);
  const below = table.rows.slice(headers.at(-1)!);
  const names = below.flatMap((row) => row[column] ?? []);
  const texts = names.filter((cell) => cell.kind === "text" && !/^[-\d]/.test(cell.text.trim()));
  const beside = below.flatMap((row) => row[column + 1] ?? []);
  const holdsNumbers = beside.some((cell) =>
    cell.kind === "number" || (cell.kind === "text" && /^\d/.test(cell.text.trim()))
  );
  return texts.length > 1 && texts.length > names.length * 0.6 && holdsNumbers &&
    new Set(texts.map((cell) => plainName(shownContent(cell)))).size > 1;
}

/** Rows, counted from 1, that sum the others up. */
export function summaryRows(sheet: Sheet, first: number): number[] {
  return sheet.rows.flatMap((row, r) => {
    const cell = row.find((one) => one !== null);
    return r >= first && cell?.kind === "text" && isSummary(cell.text) ? [r + 1] : [];
  });
}

/** What those rows are called, each name once. */
export function summaryNames(sheet: Sheet, rows: readonly number[]): string[] {
  const names = rows.map((row) => shownContent(sheet.rows[row - 1].find((cell) => cell !== null)!));
  return [...new Set(names.map((name) => name.trim()))];
}
