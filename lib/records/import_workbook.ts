import { Buffer, isUtf8 } from "node:buffer";
import { createHash } from "node:crypto";
import { basename } from "node:path";
import { CsvError, parse } from "csv-parse/sync";
import { zipSync } from "fflate";
import {
  cellAddress,
  type Hidden,
  importSheetMarks,
  type Merge,
  savedOn,
  sheetFiles,
  type SheetMarks,
} from "./import_sheet_marks.ts";
import { fileTrouble } from "./bench_file.ts";
import { withoutStrayCells } from "./import_stray.ts";
import { importUnzip } from "./import_unzip.ts";

/** What one cell of a spreadsheet holds. */
export type CellContent =
  | { readonly kind: "text"; readonly text: string }
  | {
    readonly kind: "number";
    readonly value: number;
    readonly percent: boolean;
    /** The unit that the cell's format shows behind the number. */
    readonly unit?: string;
  }
  | { readonly kind: "date"; readonly date: string; readonly time: string | null }
  | { readonly kind: "boolean"; readonly value: boolean }
  | { readonly kind: "trouble"; readonly shown: string; readonly why: string };

/** One sheet, as rows of cells; null is an empty cell. Row 0 is the spreadsheet's row 1. */
export type Sheet = {
  readonly name: string;
  readonly rows: readonly (readonly (CellContent | null)[])[];
  readonly merges: readonly Merge[];
  readonly comments: ReadonlyMap<string, string>;
  /** Addresses of cells whose content is struck through. */
  readonly struck?: ReadonlySet<string>;
  /** What of it is hidden; rows and columns as they stand in the file. */
  readonly hidden?: Hidden;
  /** The sheet as it stands in the file, where this one has its rows as columns. */
  readonly turnedFrom?: Sheet;
  /** The sheet as it stands in the file, where this is a table of it that stands beside others. */
  readonly partOf?: { readonly sheet: Sheet; readonly from: number; readonly to: number };
};

/** A spreadsheet file, read but not yet understood. */
export type Workbook = {
  readonly file: string;
  readonly sha256: string;
  readonly sheets: readonly Sheet[];
  readonly notes: readonly string[];
  /** The day the file says it was last saved, where it says one. */
  readonly saved?: string | null;
};

/** Thrown when a file is no spreadsheet that can be read; the message is for the person who chose it. */
export class WorkbookError extends Error {
  /** Tells it apart from other errors. */
  override readonly name = "WorkbookError";
}

/**
 * What cells does a spreadsheet file hold?
 *
 * An .xlsx file keeps its sheets, types, merged blocks and comments. A .csv file is one sheet of texts,
 * named as the file without its ending; `;`, `,` or a tab between its cells, UTF-8, UTF-16 with its
 * byte-order mark, Windows-1252 where it is neither, and every kind of line end are taken; what is not
 * plain UTF-8 with commas is said in `notes`.
 *
 * @throws {WorkbookError} when it is neither, or is damaged
 */
export async function importWorkbook(path: string): Promise<Workbook> {
  const trouble = await fileTrouble(path, "sheet");
  if (trouble !== null) {
    const { found, expected } = trouble;
    throw new WorkbookError(`${basename(path)}: found ${found}, expected ${expected}.`);
  }
  return await workbookOf(basename(path), await Deno.readFile(path));
}

/** `importWorkbook` for a file that is in memory already; its name's ending says what it is. */
export async function workbookOf(file: string, bytes: Uint8Array): Promise<Workbook> {
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const zipped = bytes[0] === 0x50 && bytes[1] === 0x4b;
  if (zipped && /\.ods$/i.test(file)) {
    throw new WorkbookError(
      `${file} is an .ods file, which the kit does not read. Open it, save it as .xlsx, ` +
        "then import that.",
    );
  }
  if (zipped) return { file, sha256, ...await readXlsx(file, bytes) };
  if (bytes[0] === 0xd0 && bytes[1] === 0xcf) {
    throw new WorkbookError(
      `${file} is an old .xls file or has a password. Save it as .xlsx without one, then import that.`,
    );
  }
  if (/\.xlsx$/i.test(file)) {
    throw new WorkbookError(`${file} is named .xlsx but is no such file. Save it again as .xlsx.`);
  }
  const notes: string[] = [];
  return { file, sha256, sheets: [readCsv(file, bytes, notes)], notes };
}

/** A cell's content as a person sees it, for reports and for text columns. */
export function shownContent(content: CellContent): string {
  switch (content.kind) {
    case "text":
      return content.text;
    case "number":
      if (content.unit !== undefined) return `${content.value} ${content.unit}`;
      return content.percent ? `${percentOf(content.value)} %` : String(content.value);
    case "date":
      return content.time === null ? content.date : `${content.date} ${content.time}`;
    case "boolean":
      return content.value ? "TRUE" : "FALSE";
    case "trouble":
      return content.shown;
  }
}

/** 45 for a stored 0.45, without the digits that doubling back and forth would add. */
export function percentOf(share: number): number {
  return Number((share * 100).toPrecision(15));
}

async function readXlsx(
  file: string,
  bytes: Uint8Array,
): Promise<Pick<Workbook, "sheets" | "notes" | "saved">> {
  try {
    const { files, strays } = withoutStrayCells(importUnzip(bytes));
    const places = sheetFiles(files);
    const notes = strays.map(({ sheetFile, cell }) => {
      const name = [...places].find(([, path]) => path === sheetFile)?.[0] ?? sheetFile;
      return `'${name}' ${cell} stands far from the table and was not read; empty it, or move it there`;
    });
    const marks = importSheetMarks(files);
    // Packed again, so that the values are read from the very bytes that were checked.
    const whole = Buffer.from(zipSync({ ...files }, { level: 0, mtime: "1980-01-02" }));
    // Loaded here, because no other study should wait for it.
    const { default: readXlsxFile } = await import("read-excel-file/node");
    const sheets = await readXlsxFile(whole, { trim: false });
    const read = sheets.map(({ sheet: name, data }): Sheet => {
      refuseEndless(file, name, data);
      const about = marks.get(name);
      const { merges = [], comments = new Map(), struck, hidden } = about ?? {};
      const rows = data.map((row, r) =>
        row.map((value, c): CellContent | null => contentOf(value, about, cellAddress(r, c)))
      );
      for (const [at, trouble] of about?.troubles ?? []) {
        put(rows, at, { kind: "trouble", ...trouble });
      }
      return { name, rows, merges, comments, struck, hidden };
    });
    return { sheets: read, notes, saved: savedOn(files) };
  } catch (error) {
    if (error instanceof WorkbookError) throw error;
    throw new WorkbookError(
      `${file} can't be read as a spreadsheet (${(error as Error).message}). ` +
        "Open it, save it as .xlsx under another name, and import that.",
    );
  }
}

function contentOf(
  value: unknown,
  about: SheetMarks | undefined,
  at: string,
): CellContent | null {
  if (value === null || value === undefined) return null;
  if (typeof value === "number") {
    const unit = about?.shownUnits.get(at);
    const percent = about?.percents.has(at) ?? false;
    return { kind: "number", value, percent, ...(unit === undefined ? {} : { unit }) };
  }
  if (typeof value === "boolean") return { kind: "boolean", value };
  if (value instanceof Date) {
    // Times come a millisecond short; a second is as fine as a spreadsheet shows.
    const seconds = new Date(Math.round(value.getTime() / 1000) * 1000);
    if (Number.isNaN(seconds.getTime())) {
      return { kind: "trouble", shown: "a date", why: "a date that no calendar has; correct it" };
    }
    const [date, time] = seconds.toISOString().slice(0, 19).split("T");
    // Day 0 is where spreadsheets put a time without a day, and days before March 1900 are a day off.
    if (date < "1900-03-01") {
      return {
        kind: "trouble",
        shown: time,
        why: "a time of day, or a day before March 1900; write a date",
      };
    }
    return { kind: "date", date, time: time === "00:00:00" ? null : time };
  }
  return textContent(String(value));
}

/** Longer than any note that a person reads; what looks for units and notes in it takes the square of that. */
const LONGEST_TEXT = 2_000;

function textContent(text: string): CellContent | null {
  if (text.length <= LONGEST_TEXT) return text.trim() === "" ? null : { kind: "text", text };
  return {
    kind: "trouble",
    shown: `${text.slice(0, 60).trim()}…`,
    why: `a text of ${text.length} characters; at most ${LONGEST_TEXT} are read, so shorten it`,
  };
}

/** More than any season fills; a small file can name as many as fill the memory. */
const MOST = { columns: 2_000, cells: 3_000_000 } as const;

/** @throws {WorkbookError} where a sheet is larger than any table made by hand */
function refuseEndless(file: string, name: string, rows: readonly (readonly unknown[])[]): void {
  let cells = 0;
  for (const { length } of rows) {
    cells += length;
    const found = length > MOST.columns
      ? `${length} columns, expected at most ${MOST.columns}`
      : cells > MOST.cells
      ? `more than ${MOST.cells / 1e6} million cells, expected fewer`
      : null;
    if (found === null) continue;
    throw new WorkbookError(
      `${file}: '${name}' has ${found}. Delete what is no reading, or split it into several files.`,
    );
  }
}

function put(rows: (CellContent | null)[][], at: string, content: CellContent): void {
  const parts = /^([A-Z]+)(\d+)$/.exec(at);
  if (!parts) return;
  const row = Number(parts[2]) - 1;
  const column = [...parts[1]].reduce((sum, one) => sum * 26 + one.charCodeAt(0) - 64, 0) - 1;
  while (rows.length <= row) rows.push([]);
  while (rows[row].length <= column) rows[row].push(null);
  rows[row][column] = content;
}

function readCsv(file: string, bytes: Uint8Array, notes: string[]): Sheet {
  const text = decoded(file, bytes, notes);
  if (text.includes("\0")) throw new WorkbookError(`${file} is no .xlsx and no text file.`);
  if (bytes[0] === 0xef && bytes[1] === 0xbb) notes.push(`${file}: read with a byte-order mark`);
  const delimiter = delimiterOf(text);
  if (delimiter !== ",") {
    notes.push(`${file}: read with ${delimiter === ";" ? '";"' : "tabs"} between the columns`);
  }
  try {
    const records = parse(text, {
      delimiter,
      record_delimiter: ["\r\n", "\n", "\r"],
      relax_column_count: true,
      skip_empty_lines: false,
    }) as unknown as string[][];
    const name = file.replace(/\.[^.]*$/, "");
    refuseEndless(file, name, records);
    const rows = records.map((row) => row.map(textContent));
    return { name, rows, merges: [], comments: new Map() };
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = Number((error as { lines?: unknown }).lines ?? 0);
    throw new WorkbookError(
      `${file} line ${line}: a quote that is not closed, or stands in the middle of a cell. ` +
        "Put quotes around the whole cell and double those within it.",
    );
  }
}

/** UTF-8, UTF-16 with its mark, else Windows-1252, which most old spreadsheets of Europe save in. */
function decoded(file: string, bytes: Uint8Array, notes: string[]): string {
  const mark = bytes[0] === 0xff && bytes[1] === 0xfe
    ? "utf-16le"
    : bytes[0] === 0xfe && bytes[1] === 0xff
    ? "utf-16be"
    : null;
  if (mark !== null) {
    notes.push(`${file}: read as UTF-16`);
    return new TextDecoder(mark).decode(bytes); // takes the byte-order mark off
  }
  if (isUtf8(bytes)) return new TextDecoder().decode(bytes);
  const text = new TextDecoder("windows-1252").decode(bytes);
  // Control characters are no text: the file is something else, or damaged.
  // deno-lint-ignore no-control-regex
  if (/[\x00-\x08\x0e-\x1f\x7f\x81\x8d\x8f\x90\x9d]/.test(text)) {
    throw new WorkbookError(
      `${file} is no text that can be read. Save it as CSV UTF-8, or as .xlsx.`,
    );
  }
  notes.push(
    `${file}: read as Windows-1252, as it is not UTF-8; look at its accents, and save it as CSV UTF-8 ` +
      "if they are wrong",
  );
  return text;
}

/** The one of `,`, `;` and tab that stands most often outside quotes in the first lines with any. */
function delimiterOf(text: string): string {
  const counts: Record<string, number> = { ",": 0, ";": 0, "\t": 0 };
  let insideQuotes = false;
  let lines = 0;
  for (const letter of text) {
    if (letter === '"') insideQuotes = !insideQuotes;
    else if (insideQuotes) continue;
    else if (letter === "\n" && ++lines === 20) break;
    else if (letter in counts) counts[letter]++;
  }
  // A decimal comma in every cell must not outvote the semicolons between them.
  if (counts[";"] > 0 && counts[";"] * 2 >= counts[","]) return ";";
  return counts["\t"] > counts[","] ? "\t" : ",";
}
