import { plainName } from "./import_cells.ts";
import type { ColumnMapping, ImportMapping, SheetMapping } from "./import_mapping.ts";
import { columnLetters, columnNumber } from "./import_sheet_marks.ts";
import { type CellContent, type Sheet, shownContent, type Workbook } from "./import_workbook.ts";
import { lineOf } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "./similar_names.ts";
import type { Problem } from "./types.ts";

/** A column of a sheet with what the mapping says it holds; columns count from 0. */
export type PlacedColumn = {
  readonly at: number;
  readonly header: string;
  readonly about: ColumnMapping;
};

/** A sheet with its part of the mapping. */
export type PlacedSheet = {
  readonly sheet: Sheet;
  readonly about: SheetMapping;
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
  mapping.sheets.forEach((about, s) => {
    const names = workbook.sheets.map(({ name }) => name);
    const sheet = about.sheet === undefined
      ? workbook.sheets.length === 1 ? workbook.sheets[0] : undefined
      : workbook.sheets.find(({ name }) => plainName(name) === plainName(about.sheet!));
    if (sheet === undefined) {
      const near = nearestName(about.sheet ?? "", names);
      report(
        ["sheets", s, "sheet"],
        about.sheet === undefined ? "no sheet's name" : quoted(about.sheet),
        `a sheet of ${workbook.file}: ${names.join(", ")}`,
        near === null ? "" : `Write ${near} if that is meant.`,
      );
      return;
    }
    if (placed.some((other) => other.sheet === sheet)) {
      report(
        ["sheets", s, "sheet"],
        quoted(sheet.name),
        "each sheet once",
        "Join the two entries.",
      );
      return;
    }
    const filled = filledCells(sheet);
    const headers = headersOf(sheet, about.header_rows, filled);
    const columns: PlacedColumn[] = [];
    about.columns.forEach((column, c) => {
      const path = ["sheets", s, "columns", c];
      const at = findColumn(
        column,
        headers,
        (key, found, expected, fix) => report([...path, key], found, expected, fix),
      );
      if (at === null) return;
      if (columns.some((other) => other.at === at)) {
        report(path, `column ${columnLetters(at)} again`, "each column once", "");
        return;
      }
      columns.push({ at, header: headers[at] ?? "", about: column });
    });
    for (const { path, found, expected } of missing(about, columns)) {
      report(["sheets", s, ...path], found, expected, "");
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

function findColumn(
  { column, header }: ColumnMapping,
  headers: readonly string[],
  report: (key: string, found: string, expected: string, fix: string) => void,
): number | null {
  const at = column === undefined ? -1 : columnNumber(column);
  if (header === undefined) {
    if (at < headers.length) return at;
    report("column", quoted(column!), `a column up to ${columnLetters(headers.length - 1)}`, "");
    return null;
  }
  const same = headers.flatMap((one, i) => plainName(one) === plainName(header) ? [i] : []);
  if (column !== undefined) {
    if (same.includes(at)) return at;
    const fix = same.length === 0
      ? ""
      : `It is over column ${same.map(columnLetters).join(" and ")}.`;
    report(
      "header",
      quoted(header),
      `the header of column ${column}, ${quoted(headers[at] ?? "")}`,
      fix,
    );
    return null;
  }
  if (same.length === 1) return same[0];
  if (same.length > 1) {
    const letters = same.map(columnLetters);
    const fix = `Say which with "column": ${letters.map((one) => `"${one}"`).join(" or ")}.`;
    report("header", `${quoted(header)} over columns ${letters.join(" and ")}`, "one column", fix);
    return null;
  }
  const near = nearestName(header, headers.filter((one) => one !== ""));
  const known = headers.filter((one) => one !== "").map((one) => quoted(one)).join(", ");
  report(
    "header",
    quoted(header),
    `a header of the sheet: ${known.slice(0, 400) || "it has none in these rows"}`,
    near === null ? "" : `Write ${quoted(near)} if that is meant.`,
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
  if (!holds("shoe") && fixed.shoe === undefined) {
    lacks.push({ path, found: "no shoe", expected: 'a column that holds "shoe", or fixed.shoe' });
  }
  if (about.filter((column) => column.holds === "shoe").length > 1) {
    lacks.push({ path, found: "two shoe columns", expected: "one" });
  }
  const dated = detail("session detail", "date") || fixed.session_date !== undefined;
  if (holds("trial") && !dated) {
    const expected = 'a "session detail" column with field date, or fixed.session_date';
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
