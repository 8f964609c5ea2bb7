import { Buffer, isAscii, isUtf8 } from "node:buffer";
import { createHash, type Hash } from "node:crypto";
import { CsvError, type Options, parse } from "csv-parse/sync";
import type { z } from "zod";
import { columnAbout } from "./cells.ts";
import { controlTrouble, mayHoldControl, withoutControl } from "./control_characters.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";
import { looksLikeThousands } from "./units.ts";
import type { Problem } from "./types.ts";

/** The columns of a table that the loader knows, with the schema of their cells. */
export type ColumnSchemas = Readonly<Record<string, z.ZodType>>;

/** What reading a table gave besides its rows. */
export type TableRead = {
  /** Rows below the header, blank ones not counted. */
  readonly rows: number;
  /** False when the header could not be understood, so that no row was read. */
  readonly readable: boolean;
  readonly load_notes: readonly string[];
  readonly sha256: string;
};

/**
 * Takes one row: every known column's cell text, "" where the column is absent, and its line.
 *
 * The object is the same one for every row, so that whoever keeps it copies it.
 */
export type OnRow<Columns extends ColumnSchemas> = (
  row: { readonly [Name in keyof Columns]: string },
  line: number,
) => void;

/**
 * Which rows does a CSV table hold?
 *
 * Reads piece by piece, so that a table of any length takes little memory. Line numbers count as a
 * spreadsheet does: the header is line 1, and a cell with a line break in it is still one line.
 * Decides the delimiter, `,` or `;`, from the header, and the decimal mark from the first number
 * with a fraction; decimal commas reach `onRow` as points.
 *
 * @param path of the file on disk
 * @param file its name in problems
 * @param columns every known column; `column()` says which are required and which hold numbers
 * @param onProblem takes each problem of the file's form; those of a cell's content are the caller's
 */
export async function readCsvTable<Columns extends ColumnSchemas>(
  path: string,
  file: string,
  columns: Columns,
  onRow: OnRow<Columns>,
  onProblem: (problem: Problem) => void,
): Promise<TableRead> {
  const names = Object.keys(columns);
  const isNumber = names.map((name) => columnAbout(columns[name]).number);
  const notes: string[] = [];
  const report = (
    line: number | null,
    column: string | null,
    found: string,
    expected: string,
    fix = "",
    severity: Problem["severity"] = "error",
  ) => onProblem({ file, line, column, found, expected, fix, severity });

  const hash = createHash("sha256");
  const marks = decimalMarks(report);
  const row = Object.fromEntries(names.map((name) => [name, ""]));
  let header: Header | null = null;
  let line = 0;
  let rows = 0;
  let blank = 0;
  let bytesSeen = 0;

  for await (const bytes of wholeRecords(path, hash)) {
    let part = bytes;
    if (bytesSeen === 0 && startsWithMark(part)) {
      part = part.subarray(3);
      notes.push(`${file}: read with a byte-order mark`);
    }
    bytesSeen += bytes.length;
    if (!isUtf8(part)) {
      const bad = line + lineOfBadText(part);
      report(bad, null, "bytes that are not UTF-8", "a UTF-8 file", "Save it as CSV UTF-8.");
      if (header === null) break;
    }
    header ??= readHeader(part, file, names, columns, report, notes);
    if (header === null) break;

    const { records, skipped } = parseRecords(part, header.delimiter);
    const mayControl = mayHoldControl(asBuffer(part));
    let skip = 0;
    for (let i = 0; i <= records.length; i++) {
      while (skip < skipped.length && skipped[skip].before === i) {
        line++;
        const { found, expected, fix } = skipped[skip++];
        report(line, null, found, expected, fix);
        rows++;
      }
      if (i === records.length) break;
      line++;
      if (line === 1) continue; // the header
      const cells = records[i];
      if (!fits(cells, header.width)) {
        if (cells.length === 1 && cells[0].trim() === "") blank++;
        else {
          rows++;
          reportWidth(cells.length, line, header, report);
        }
        continue;
      }
      if (isBlank(cells)) {
        blank++;
        continue;
      }
      rows++;
      noteFilled(cells, header);
      if (mayControl) clearControls(cells, line, header, names, report);
      const conflicts = marks.conflicts();
      pick(row, cells, header.positions, names, isNumber, marks, line);
      // A cell whose number could be read in two ways is reported; its row is not guessed at.
      if (marks.conflicts() === conflicts) onRow(row as never, line);
    }
  }

  if (bytesSeen === 0) {
    report(null, null, "an empty file", "a header line", `Start it with ${names.join(",")}.`);
  }
  if (header !== null) {
    reportNameless(header, report);
    marks.finish(header.delimiter, file, notes);
  }
  if (blank > 0) notes.push(`${file}: passed over ${countOf(blank, "blank line")}`);
  const readable = header !== null;
  return { rows, readable, load_notes: notes, sha256: hash.digest("hex") };
}

type Report = (
  line: number | null,
  column: string | null,
  found: string,
  expected: string,
  fix?: string,
  severity?: Problem["severity"],
) => void;

type Header = {
  readonly delimiter: string;
  readonly names: readonly string[];
  readonly width: number;
  /** For each known column, where it stands; -1 when it is absent. */
  readonly positions: readonly number[];
  readonly unknown: readonly number[];
  readonly unknownFilled: Set<number>;
};

function reportWidth(cells: number, line: number, header: Header, report: Report): void {
  report(
    line,
    null,
    countOf(cells, "cell"),
    `${countOf(header.width, "cell")}, as in the header`,
    cells > header.width
      ? `Put quotes around a cell that holds "${header.delimiter}".`
      : "Add the missing cells, empty if need be.",
  );
}

/** Puts a replacement sign in the place of control characters, and warns of each cell that had some. */
function clearControls(
  cells: string[],
  line: number,
  { positions }: Header,
  names: readonly string[],
  report: Report,
): void {
  positions.forEach((at, i) => {
    const trouble = at < 0 ? null : controlTrouble(cells[at]);
    if (trouble === null) return;
    report(line, names[i], trouble.found, trouble.expected, trouble.fix, "warning");
    cells[at] = withoutControl(cells[at]);
  });
}

function reportNameless({ unknownFilled, names }: Header, report: Report): void {
  for (const at of unknownFilled) {
    if (names[at] !== "") continue;
    report(1, null, `cells under no header in column ${at + 1}`, "a header", "", "warning");
  }
}

const QUOTE = 34;
const LINE_FEED = 10;
const RETURN = 13;

/** Pieces of a file that end where a record ends, so that each can be parsed alone. */
async function* wholeRecords(path: string, hash: Hash): AsyncGenerator<Uint8Array> {
  using file = await Deno.open(path, { read: true });
  let pending: Uint8Array[] = [];
  let insideQuotes = false;
  while (true) {
    const buffer = new Uint8Array(1 << 16);
    const length = await file.read(buffer);
    if (length === null) break;
    const bytes = buffer.subarray(0, length);
    hash.update(bytes);
    // A doubled quote inside a quoted cell switches twice, which leaves it inside.
    let end = -1;
    for (let i = 0; i < length; i++) {
      const byte = bytes[i];
      if (byte === QUOTE) insideQuotes = !insideQuotes;
      else if (byte === LINE_FEED && !insideQuotes) end = i;
    }
    if (end < 0) {
      pending.push(bytes);
      continue;
    }
    yield joined([...pending, bytes.subarray(0, end + 1)]);
    pending = end + 1 < length ? [bytes.subarray(end + 1)] : [];
  }
  if (pending.length > 0) yield joined(pending);
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  return parts.length === 1 ? parts[0] : Buffer.concat(parts);
}

function asBuffer(bytes: Uint8Array): Buffer {
  return Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function startsWithMark(bytes: Uint8Array): boolean {
  return bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf;
}

// Counted from 1 within the piece.
function lineOfBadText(bytes: Uint8Array): number {
  let line = 1;
  for (let start = 0; start < bytes.length; line++) {
    const end = bytes.indexOf(LINE_FEED, start);
    const stop = end < 0 ? bytes.length : end + 1;
    if (!isUtf8(bytes.subarray(start, stop))) return line;
    start = stop;
  }
  return line;
}

function readHeader(
  bytes: Uint8Array,
  file: string,
  known: readonly string[],
  columns: ColumnSchemas,
  report: Report,
  notes: string[],
): Header | null {
  const first = new TextDecoder().decode(bytes.subarray(0, 1 << 16));
  const delimiter = delimiterOf(first);
  const { records, skipped } = parseRecords(bytes, delimiter, 1);
  if (skipped.length > 0 && skipped[0].before === 0) {
    report(1, null, skipped[0].found, skipped[0].expected, skipped[0].fix);
    return null;
  }
  const names = (records[0] ?? []).map((name) => name.trim().toLowerCase());
  while (names.length > 1 && names.at(-1) === "") names.pop(); // a spreadsheet's empty last columns
  if (names.length === 0 || names.every((name) => name === "")) {
    report(1, null, "a blank line", "a header line", `Start it with ${known.join(",")}.`);
    return null;
  }
  if (names.length === 1 && names[0].includes("\t")) {
    report(1, null, "tabs between the columns", "commas or semicolons", "Save it as CSV.");
    return null;
  }
  if (delimiter === ";") notes.push(`${file}: read with ";" between the columns`);

  let missing = 0;
  const positions = known.map((name) => names.indexOf(name));
  known.forEach((name, i) => {
    if (positions[i] >= 0 || !columnAbout(columns[name]).required) return;
    missing++;
    const near = nearestName(name, names.filter((other) => !known.includes(other)));
    report(
      1,
      name,
      "no such column",
      "this column, which every row needs",
      near === null ? "Add it to the header." : `Rename ${quoted(near)} if that is it.`,
    );
  });
  names.forEach((name, i) => {
    if (name !== "" && names.indexOf(name) !== i) {
      report(1, name, "this header twice", "each header once", "Rename or remove one of them.");
      missing++;
    }
  });
  const unknown = names.flatMap((name, i) => known.includes(name) ? [] : [i]);
  for (const at of unknown) {
    const name = names[at];
    if (name === "" || names.indexOf(name) !== at) continue;
    const absent = known.filter((other) => !names.includes(other));
    const near = nearestName(name, absent);
    const fix = near === null
      ? "It is not read."
      : `It is not read. Rename it to ${near} if that is it.`;
    report(1, name, "an unknown column", `one of ${known.join(", ")}`, fix, "warning");
  }
  if (missing > 0) return null;
  return { delimiter, names, width: names.length, positions, unknown, unknownFilled: new Set() };
}

/** The one of `,` and `;` that stands more often outside quotes in the first line. */
function delimiterOf(text: string): "," | ";" {
  const counts = { ",": 0, ";": 0 };
  let insideQuotes = false;
  for (const letter of text) {
    if (letter === '"') insideQuotes = !insideQuotes;
    else if (insideQuotes) continue;
    else if (letter === "\n" || letter === "\r") break;
    else if (letter === "," || letter === ";") counts[letter]++;
  }
  return counts[";"] > counts[","] ? ";" : ",";
}

type Skipped = {
  /** How many good records came before it in the piece. */
  readonly before: number;
  readonly found: string;
  readonly expected: string;
  readonly fix: string;
};

function parseRecords(
  bytes: Uint8Array,
  delimiter: string,
  to?: number,
): { records: string[][]; skipped: Skipped[] } {
  const skipped: Skipped[] = [];
  let lastLine = -1;
  const buffer = asBuffer(bytes);
  // The parser asks of each byte what it could be: where no quote and no return occurs, less is asked.
  const options: Options = {
    delimiter,
    record_delimiter: buffer.includes(RETURN) ? ["\r\n", "\n", "\r"] : ["\n"],
    ...(buffer.includes(QUOTE) ? {} : { quote: null }),
    ...(isAscii(buffer) ? { encoding: "latin1" } : {}),
    relax_column_count: true, // ragged rows are reported with their line, not thrown
    skip_records_with_error: true,
    on_skip: (error) => {
      if (!(error instanceof CsvError)) return undefined;
      // One bad line can fail more than once; the parser then names the same line again.
      if (error.lines === lastLine) return undefined;
      lastLine = Number(error.lines);
      skipped.push({ before: Number(error.records), ...quoteTrouble(error.code) });
      return undefined;
    },
    ...(to === undefined ? {} : { to }),
  };
  return { records: parse(buffer, options) as unknown as string[][], skipped };
}

function quoteTrouble(code: string): Omit<Skipped, "before"> {
  if (code === "CSV_QUOTE_NOT_CLOSED") {
    return {
      found: "a quote that is never closed",
      expected: "a closing quote",
      fix: "Close it; everything after it was not read.",
    };
  }
  return {
    found: "a quote in the middle of a cell",
    expected: "quotes around whole cells only",
    fix: 'Put the cell in quotes and double those within it, as in "6"" heel".',
  };
}

// A spreadsheet may leave empty cells beyond the last header.
function fits(cells: string[], width: number): boolean {
  return cells.length === width ||
    (cells.length > width && cells.slice(width).every((cell) => cell.trim() === ""));
}

function isBlank(cells: readonly string[]): boolean {
  return cells[0] === "" && cells.every((cell) => cell.trim() === "");
}

function noteFilled(cells: readonly string[], { unknown, unknownFilled }: Header): void {
  for (const at of unknown) if (cells[at].trim() !== "") unknownFilled.add(at);
}

function pick(
  row: Record<string, string>,
  cells: readonly string[],
  positions: readonly number[],
  names: readonly string[],
  isNumber: readonly boolean[],
  marks: DecimalMarks,
  line: number,
): void {
  for (let i = 0; i < names.length; i++) {
    const at = positions[i];
    let text = at < 0 ? "" : cells[at];
    if (isNumber[i] && text.length > 1) text = marks.read(text, names[i], line);
    row[names[i]] = text;
  }
}

type DecimalMarks = {
  /** The cell with a decimal point, where it is a number of the file's own spelling. */
  readonly read: (text: string, column: string, line: number) => string;
  /** How many cells so far had the other mark. */
  readonly conflicts: () => number;
  /** Says what was decided, once the whole file has been seen. */
  readonly finish: (delimiter: string, file: string, notes: string[]) => void;
};

type Place = { readonly text: string; readonly column: string; readonly line: number };

/** Follows one file's decimal mark: the first number with a fraction sets it, another is a problem. */
function decimalMarks(report: Report): DecimalMarks {
  let first: (Place & { readonly mark: string }) | null = null;
  let commas = 0;
  let conflicts = 0;
  let surely = false;
  return {
    conflicts: () => conflicts,
    read(text, column, line) {
      const comma = text.indexOf(",");
      if (comma < 0 && (first?.mark === "." || text.indexOf(".") < 0)) return text;
      const number = /^\s*[<>]?\s*[-+−]?(?:\d+([.,])\d*|([.,])\d+)(?:[eE][-+]?\d+)?\s*$/.exec(text);
      if (!number) return text; // the cell's schema says what is wrong with it
      const mark = number[1] ?? number[2];
      first ??= { mark, text, column, line };
      if (mark !== first.mark) {
        report(
          line,
          column,
          quoted(text),
          `"${first.mark}" as the decimal mark, as in ${quoted(first.text)} on line ${first.line}`,
          "Use one decimal mark in the whole file, and no marks between thousands.",
        );
        conflicts++;
        return text;
      }
      if (mark === ".") return text;
      commas++;
      surely ||= !looksLikeThousands(text.replace(/^\s*[<>]/, "").trim());
      return text.replace(",", ".");
    },
    finish(delimiter, file, notes) {
      if (first === null || first.mark === ".") return;
      if (delimiter === "," && !surely) {
        report(
          first.line,
          first.column,
          quoted(first.text),
          "a number that can be read in one way only",
          "Take out the marks between thousands, or write decimals with a point.",
        );
        return;
      }
      notes.push(`${file}: read with decimal commas (${countOf(commas, "number")})`);
    },
  };
}

/** `1 row`, `2 rows`. */
function countOf(count: number, word: string): string {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}
