import { plainName } from "./import_cells.ts";
import type { ColumnMapping, ImportMapping, SheetMapping } from "./import_mapping.ts";
import { cellAddress, columnLetters, columnNumber } from "./import_sheet_marks.ts";
import { type CellContent, type Sheet, shownContent, type Workbook } from "./import_workbook.ts";
import { lineOf } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";
import type { Problem } from "./types.ts";

/** A column of a sheet with what the mapping says it holds; columns count from 0. */
export type PlacedColumn = {
  readonly at: number;
  readonly header: string;
  readonly about: ColumnMapping;
};

/** What a mapping says about a sheet, with its header rows; those of a turned one count its columns. */
export type SheetRows = SheetMapping & { readonly header_rows: readonly number[] };

/** A sheet with its part of the mapping. */
export type PlacedSheet = {
  /** The sheet as it is read: a turned one with its rows as columns. */
  readonly sheet: Sheet;
  readonly about: SheetRows;
  readonly columns: readonly PlacedColumn[];
  /** A cell's content, that of its block's first cell where it is merged; and that cell's place. */
  readonly filled: (row: number, column: number) => FilledCell | null;
};

/** A cell's content and the place it was written in. */
export type FilledCell = {
  readonly content: CellContent;
  readonly row: number;
  readonly column: number;
};

/** Where a mapping file's text is, so that problems can name its lines. */
export type MappingSource = { readonly file: string; readonly text: string };

/**
 * Which columns of which sheets does the mapping mean?
 *
 * @returns the sheets found; empty of meaning when a problem was reported
 */
export function importColumns(
  workbook: Workbook,
  mapping: ImportMapping,
  source: MappingSource,
  onProblem: (problem: Problem) => void,
): PlacedSheet[] {
  const report = (path: readonly PropertyKey[], found: string, expected: string, fix: string) =>
    onProblem({
      file: source.file,
      line: source.text === "" ? null : lineOf(source.text, path),
      column: path.map((step) => typeof step === "number" ? `[${step}]` : `.${String(step)}`)
        .join("").replace(/^\./, ""),
      found,
      expected,
      fix,
      severity: "error",
    });

  const placed: PlacedSheet[] = [];
  mapping.sheets.forEach((given, place) => {
    const s = given.at ?? place;
    const about = turnedRows(given);
    const names = workbook.sheets.map(({ name }) => name);
    const found = about.sheet === undefined
      ? workbook.sheets.length === 1 ? workbook.sheets[0] : undefined
      : workbook.sheets.find(({ name }) => plainName(name) === plainName(about.sheet!));
    if (found === undefined) {
      const near = nearestName(about.sheet ?? "", names);
      report(
        ["sheets", s, "sheet"],
        about.sheet === undefined ? "no sheet's name" : quoted(about.sheet),
        `a sheet of ${workbook.file}: ${names.join(", ")}`,
        near === null ? "" : `Write ${near} if that is meant.`,
      );
      return;
    }
    const range = about.table_columns?.map(columnNumber) as [number, number] | undefined;
    const overlaps = placed.some(({ sheet: { turnedFrom, partOf }, sheet }) => {
      if (partOf?.sheet !== found) return (turnedFrom ?? sheet) === found;
      return range === undefined || (range[0] <= partOf.to && range[1] >= partOf.from);
    });
    if (overlaps) {
      const fix = 'Join the two entries, or give each its own "table_columns".';
      report(["sheets", s, "sheet"], quoted(found.name), "each cell of a sheet once", fix);
      return;
    }
    const sheet = about.turned
      ? turnedSheet(found)
      : range === undefined
      ? found
      : tableOf(found, ...range);
    const line = about.turned ? "row" : "column";
    const nameOf = (at: number) => about.turned ? String(at + 1) : columnLetters(at);
    const filled = filledCells(sheet);
    const headers = headersOf(sheet, about.header_rows, filled);
    const columns: PlacedColumn[] = [];
    about.columns.forEach((column, c) => {
      const path = ["sheets", s, "columns", c];
      const at = findColumn(
        column,
        headers,
        { line, nameOf },
        (key, found, expected, fix) => report([...path, key], found, expected, fix),
      );
      if (at === null) return;
      if (columns.some((other) => other.at === at)) {
        report(
          path,
          `${line} ${nameOf(at)} again`,
          `each ${line} once`,
          "Take one of the two out.",
        );
        return;
      }
      columns.push({ at, header: headers[at] ?? "", about: column });
    });
    for (const { path, found, expected } of missing(about, columns)) {
      report(["sheets", s, ...path], found, expected, "Add it to this sheet's part.");
    }
    placed.push({ sheet, about, columns, filled });
  });
  return placed;
}

/** The header over each column: the texts of its header rows, joined with " / ". */
export function headersOf(
  sheet: Sheet,
  headerRows: readonly number[],
  filled: PlacedSheet["filled"] = filledCells(sheet),
): string[] {
  const width = sheet.rows.reduce((most, row) => Math.max(most, row.length), 0);
  return Array.from({ length: width }, (_, c) => {
    const parts = headerRows.flatMap((row) => {
      const cell = filled(row - 1, c);
      return cell === null ? [] : [shownContent(cell.content).trim().replace(/\s+/g, " ")];
    });
    return parts.filter((part, i) => part !== "" && part !== parts[i - 1]).join(" / ");
  });
}

/** Reads a sheet's cells so that every cell of a merged block has the first one's content. */
export function filledCells(sheet: Sheet): PlacedSheet["filled"] {
  const byRow = new Map<number, Sheet["merges"][number][]>();
  for (const merge of sheet.merges) {
    // A block down a whole column must not cost a million entries.
    for (let row = merge.top; row <= Math.min(merge.bottom, sheet.rows.length - 1); row++) {
      byRow.set(row, [...(byRow.get(row) ?? []), merge]);
    }
  }
  return (row, column) => {
    const own = sheet.rows[row]?.[column] ?? null;
    if (own !== null) return { content: own, row, column };
    const merge = byRow.get(row)?.find(({ left, right }) => column >= left && column <= right);
    if (merge === undefined) return null;
    const content = sheet.rows[merge.top]?.[merge.left] ?? null;
    return content === null ? null : { content, row: merge.top, column: merge.left };
  };
}

/** The table in these columns of a sheet, counted from 0, both ends in it; all cells keep their places. */
export function tableOf(sheet: Sheet, from: number, to: number): Sheet {
  return {
    ...sheet,
    partOf: { sheet, from, to },
    rows: sheet.rows.map((row) => row.slice(0, to + 1).map((cell, c) => c < from ? null : cell)),
    merges: sheet.merges.filter(({ left, right }) => right >= from && left <= to),
  };
}

/** A sheet with its rows as columns; its cells keep their addresses in the ledger. */
export function turnedSheet(sheet: Sheet): Sheet {
  const width = sheet.rows.reduce((most, row) => Math.max(most, row.length), 0);
  return {
    name: sheet.name,
    turnedFrom: sheet,
    rows: Array.from({ length: width }, (_, c) => sheet.rows.map((row) => row[c] ?? null)),
    merges: sheet.merges.map(({ top, left, bottom, right }) => (
      { top: left, left: top, bottom: right, right: bottom }
    )),
    comments: sheet.comments,
    ...(sheet.struck === undefined ? {} : { struck: sheet.struck }),
    ...(sheet.hidden === undefined ? {} : { hidden: sheet.hidden }),
  };
}

/** Is this line of a sheet as it is read hidden in the file? Of a turned one, rows are the file's columns. */
export function isHiddenLine(sheet: Sheet, kind: "row" | "column", at: number): boolean {
  if (sheet.hidden === undefined) return false;
  const ofRows = (kind === "row") === (sheet.turnedFrom === undefined);
  return (ofRows ? sheet.hidden.rows : sheet.hidden.columns).has(at);
}

/** Is a cell of a sheet as it is read struck through in the file? */
export function isStruck(sheet: Sheet, row: number, column: number): boolean {
  if (sheet.struck === undefined || sheet.struck.size === 0) return false;
  const at = sheet.turnedFrom === undefined ? cellAddress(row, column) : cellAddress(column, row);
  return sheet.struck.has(at);
}

function turnedRows(given: SheetMapping): SheetRows {
  const rows = (letters: readonly string[]) => letters.map((one) => columnNumber(one) + 1);
  if (!given.turned) return { ...given, header_rows: given.header_rows ?? [1] };
  return {
    ...given,
    header_rows: rows(given.header_columns ?? ["A"]),
    skip_rows: rows(given.skip_columns),
    ...(given.last_column === undefined ? {} : { last_row: columnNumber(given.last_column) + 1 }),
  };
}

function findColumn(
  { column, row, header }: ColumnMapping,
  headers: readonly string[],
  { line, nameOf }: {
    readonly line: "row" | "column";
    readonly nameOf: (at: number) => string;
  },
  report: (key: string, found: string, expected: string, fix: string) => void,
): number | null {
  const at = column !== undefined ? columnNumber(column) : row !== undefined ? row - 1 : null;
  if (header === undefined) {
    if (at! < headers.length) return at;
    const within = `a ${line} up to ${nameOf(headers.length - 1)}`;
    report(line, quoted(nameOf(at!)), within, `Nothing stands beyond that ${line}.`);
    return null;
  }
  const same = headers.flatMap((one, i) => plainName(one) === plainName(header) ? [i] : []);
  if (at !== null) {
    if (same.includes(at)) return at;
    const fix = same.length === 0
      ? `Write that, or take "${line}" out.`
      : `It stands at ${line} ${same.map(nameOf).join(" and ")}.`;
    const there = `the header of ${line} ${nameOf(at)}, ${quoted(headers[at] ?? "")}`;
    report("header", quoted(header), there, fix);
    return null;
  }
  if (same.length === 1) return same[0];
  if (same.length > 1) {
    const places = same.map(nameOf);
    const spelled = line === "row" ? places : places.map((one) => `"${one}"`);
    const fix = `Say which with "${line}": ${spelled.join(" or ")}.`;
    const found = `${quoted(header)} at ${line}s ${places.join(" and ")}`;
    report("header", found, `one ${line}`, fix);
    return null;
  }
  const near = nearestName(header, headers.filter((one) => one !== ""));
  const known = headers.filter((one) => one !== "").map((one) => quoted(one)).join(", ");
  const rows = line === "row" ? "header_columns" : "header_rows";
  report(
    "header",
    quoted(header),
    `a header of the sheet: ${known.slice(0, 400) || "it has none there"}`,
    near === null
      ? `Copy one of them, or correct "${rows}".`
      : `Write ${quoted(near)} if that is meant.`,
  );
  return null;
}

type Missing = {
  readonly path: readonly PropertyKey[];
  readonly found: string;
  readonly expected: string;
};

function missing(
  { fixed, columns: about }: SheetMapping,
  columns: readonly PlacedColumn[],
): Missing[] {
  if (columns.length < about.length) return []; // the column that was not found may be the one
  const path = ["columns"];
  const holds = (kind: ColumnMapping["holds"]) => about.some((column) => column.holds === kind);
  const detail = (kind: string, field: string) =>
    about.some((column) => column.holds === kind && "field" in column && column.field === field);
  const lacks: Missing[] = [];
  for (const [kind, field] of [["trial", "metric"], ["impression", "attribute"]] as const) {
    const untold = about.some((column) =>
      column.holds === kind && (column as Readonly<Record<string, unknown>>)[field] === undefined
    );
    if (!untold || detail(`${kind} detail`, field)) continue;
    const expected = `"${field}" at each ${kind} column, or a "${kind} detail" column with field ` +
      field;
    lacks.push({ path, found: `a ${kind} column that names no ${field}`, expected });
  }
  if (!holds("shoe") && fixed.shoe === undefined) {
    lacks.push({ path, found: "no shoe", expected: 'a column that holds "shoe", or fixed.shoe' });
  }
  const dated = detail("session detail", "date") || fixed.session_date !== undefined ||
    fixed.published !== undefined;
  if (holds("trial") && !dated) {
    const expected =
      'a "session detail" column with field date, or fixed.session_date; for a table ' +
      "of published figures fixed.published, the day it came out";
    lacks.push({ path, found: "trials without a date", expected });
  }
  if (!holds("impression")) return lacks;
  const untold = about.some((column) =>
    column.holds === "impression" && column.tester === undefined
  );
  if (untold && !detail("impression detail", "tester") && fixed.tester === undefined) {
    const expected =
      '"tester" at each impression column, an "impression detail" column with field ' +
      "tester, or fixed.tester";
    lacks.push({ path, found: "impressions without a tester", expected });
  }
  if (!detail("impression detail", "date") && !dated && fixed.impression_date === undefined) {
    const expected = 'an "impression detail" column with field date, or fixed.impression_date';
    lacks.push({ path, found: "impressions without a date", expected });
  }
  return lacks;
}
