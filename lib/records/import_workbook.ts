import { Buffer, isUtf8 } from "node:buffer";
import { createHash } from "node:crypto";
import { basename } from "node:path";
import { CsvError, parse } from "csv-parse/sync";
import { zipSync } from "fflate";
import {
  cellAddress,
  importSheetMarks,
  type Merge,
  type SheetMarks,
} from "./import_sheet_marks.ts";
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
  /** The sheet as it stands in the file, where this one has its rows as columns. */
  readonly turnedFrom?: Sheet;
};

/** A spreadsheet file, read but not yet understood. */
export type Workbook = {
  readonly file: string;
  readonly sha256: string;
  readonly sheets: readonly Sheet[];
  readonly notes: readonly string[];
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
 * named as the file without its ending; `;`, `,` or a tab between its cells, a byte-order mark and
 * every kind of line end are taken.
 *
 * @throws {WorkbookError} when it is neither, is damaged, or is not UTF-8
 */
export async function importWorkbook(path: string): Promise<Workbook> {
  return await workbookOf(basename(path), await Deno.readFile(path));
}

/** `importWorkbook` for a file that is in memory already; its name's ending says what it is. */
export async function workbookOf(file: string, bytes: Uint8Array): Promise<Workbook> {
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const zipped = bytes[0] === 0x50 && bytes[1] === 0x4b;
  if (zipped && /\.ods$/i.test(file)) {
    throw new WorkbookError(`${file} is an .ods file. Save it as .xlsx, then import that.`);
  }
  if (zipped) return { file, sha256, notes: [], sheets: await readXlsx(file, bytes) };
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

async function readXlsx(file: string, bytes: Uint8Array): Promise<Sheet[]> {
  try {
    const files = importUnzip(bytes);
    const marks = importSheetMarks(files);
    // Packed again, so that the values are read from the very bytes that were checked.
    const whole = Buffer.from(zipSync({ ...files }, { level: 0, mtime: "1980-01-02" }));
    // Loaded here, because no other study should wait for it.
    const { default: readXlsxFile } = await import("read-excel-file/node");
    const sheets = await readXlsxFile(whole, { trim: false });
    return sheets.map(({ sheet: name, data }) => {
      const about = marks.get(name);
      const { merges = [], comments = new Map() } = about ?? {};
      const rows = data.map((row, r) =>
        row.map((value, c): CellContent | null => contentOf(value, about, cellAddress(r, c)))
      );
      for (const [at, trouble] of about?.troubles ?? []) {
        put(rows, at, { kind: "trouble", ...trouble });
      }
      return { name, rows, merges, comments };
    });
  } catch (error) {
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
  const text = String(value);
  return text.trim() === "" ? null : { kind: "text", text };
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
  if (!isUtf8(bytes)) {
    throw new WorkbookError(`${file} is not UTF-8. Save it as CSV UTF-8, or as .xlsx.`);
  }
  const text = new TextDecoder().decode(bytes); // takes the byte-order mark off
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
    const rows = records.map((row) =>
      row.map((cell): CellContent | null =>
        cell.trim() === "" ? null : { kind: "text", text: cell }
      )
    );
    return { name: file.replace(/\.[^.]*$/, ""), rows, merges: [], comments: new Map() };
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = Number((error as { lines?: unknown }).lines ?? 0);
    throw new WorkbookError(
      `${file} line ${line}: a quote that is not closed, or stands in the middle of a cell. ` +
        "Put quotes around the whole cell and double those within it.",
    );
  }
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
