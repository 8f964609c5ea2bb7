import { plainName, readReading, readSize } from "./import_cells.ts";
import { filledCells, headersOf, turnedSheet } from "./import_columns.ts";
import { slugOf } from "./import_shoe_names.ts";
import { columnLetters } from "./import_sheet_marks.ts";
import {
  type ColumnContext,
  contextOf,
  everyday,
  type GuessedColumn,
  isMaker,
  ratedOutOf,
  shoePart,
  suggestColumn,
  unitInCells,
} from "./import_suggest_columns.ts";
import { suggestMetricNames } from "./import_suggest_names.ts";
import {
  headerRowsOf,
  looksTurned,
  summaryNames,
  summaryRows,
  turnedHeaders,
} from "./import_suggest_shape.ts";
import { type CellContent, type Sheet, shownContent } from "./import_workbook.ts";
import { unitOf } from "./units.ts";
import type { ShoeParts } from "./import_suggest_names.ts";

/** What the sheets have in common, gathered sheet by sheet. */
export type Gathered = {
  readonly metrics: Map<string, Record<string, unknown>>;
  /** By kind, each plain spelling with the first one met. */
  readonly shoes: Map<string, string>;
  readonly makers: Map<string, string>;
  readonly operators: Map<string, string>;
  readonly rigs: Map<string, string>;
  readonly testers: Map<string, string>;
  readonly attributes: Map<string, string>;
  /** Maker, model and edition of a shoe whose name several columns make, by its plain name. */
  readonly parts: Map<string, ShoeParts>;
  /** Out of how many ratings are, where headers say it. */
  readonly outOf: Set<number>;
  /** Ratings written in words. */
  readonly words: Set<string>;
  /** The systems that cells of sizes name. */
  readonly sizeSystems: string[];
};

/** A guess, and the column that it is about, counted from 0. */
type Placed = { readonly at: number; readonly column: GuessedColumn };

/** A sheet while it is being guessed at. */
type Guessing = {
  readonly sheet: Sheet;
  readonly given: Sheet;
  readonly turned: boolean;
  readonly headerRows: readonly number[];
  readonly headers: readonly string[];
  readonly skipped: readonly number[];
  /** Rows with readings, counted from 0. */
  readonly read: readonly number[];
  readonly context: Omit<ColumnContext, "shoeSeen">;
};

/** What might one sheet, or one table of it, hold? Adds to what was gathered from those before it. */
export function suggestSheet(
  given: Sheet,
  gathered: Gathered,
  { saved }: { readonly saved: string | null },
): Record<string, unknown> & { readonly columns: readonly GuessedColumn[] } {
  const guessing = begin(given);
  const { sheet, read, turned, context, headerRows, skipped } = guessing;
  const placed = suggestColumns(guessing, gathered);
  const columns = placed.map(({ column }) => column);
  const named = shoeNamesIn(sheet, read, placed);
  for (const { name, parts } of named) {
    if (!gathered.shoes.has(plainName(name))) gathered.shoes.set(plainName(name), name);
    const plain = plainName(name);
    // As it was spelt first: what comes later is as often short for it.
    if (parts !== null && !gathered.parts.has(plain)) gathered.parts.set(plain, parts);
  }
  numberTrials(guessing, named, placed);
  if (context.long === "trial") suggestLong(sheet, read, placed, gathered);
  asRatings(columns);
  const fixed = fixedOf(guessing, columns, named, saved);
  const lacks = lacking(columns, fixed);
  const letters = headerRows.map((row) => columnLetters(row - 1));
  return {
    sheet: sheet.name,
    guess: guessOf(guessing, letters, fixed, lacks),
    ...(turned ? { turned: true, header_columns: letters } : { header_rows: headerRows }),
    skip_names: summaryNames(sheet, skipped),
    fixed,
    columns,
  };
}

function begin(given: Sheet): Guessing {
  const turned = given.partOf === undefined && looksTurned(given);
  const sheet = turned ? turnedSheet(given) : given;
  const headerRows = turned ? turnedHeaders(sheet) : headerRowsOf(sheet);
  const headers = headersOf(sheet, headerRows);
  const first = headerRows.at(-1)!;
  const skipped = summaryRows(sheet, first);
  const read = sheet.rows.flatMap((row, r) =>
    r < first || skipped.includes(r + 1) || !row.some(Boolean) ? [] : [r]
  );
  const shoeParts = !turned && partsNameShoe(sheet, headers, read);
  const context = contextOf(headers, turned, { sheetName: sheet.name, shoeParts });
  return { sheet, given, turned, headerRows, headers, skipped, read, context };
}

/**
 * Do maker, model and edition in columns of their own name the shoe together?
 *
 * Not where one column says the whole name, so that the others only say a part of it again.
 */
function partsNameShoe(sheet: Sheet, headers: readonly string[], read: readonly number[]): boolean {
  const at = (part: string) => headers.findIndex((header) => shoePart(header) === part);
  const [maker, model, edition] = [at("maker"), at("model"), at("edition")];
  if (model < 0 || (maker < 0 && edition < 0)) return false;
  const text = (r: number, c: number) => {
    const cell = c < 0 ? null : sheet.rows[r][c] ?? null;
    return cell === null ? "" : plainName(shownContent(cell));
  };
  const rows = read.filter((r) => text(r, model) !== "");
  const says = (c: number) =>
    rows.filter((r) => {
      const [part, whole] = [text(r, c), text(r, model)];
      return part !== "" && (whole.startsWith(`${part} `) || whole.endsWith(` ${part}`));
    }).length;
  return [maker, edition].some((c) => c >= 0 && says(c) < rows.length / 2);
}

function suggestColumns(
  { sheet, given, turned, headers, read, context }: Guessing,
  gathered: Gathered,
): Placed[] {
  const trialsOf = new Map<string, number>();
  let shoeSeen = false;
  const line = (at: number) => turned ? { row: at + 1 } : { column: columnLetters(at) };
  const columns = headers.flatMap((header, at): Placed[] => {
    const cells = read.flatMap((r) => sheet.rows[r][at] ?? []);
    if (header === "" && cells.length === 0) return [];
    const twice = headers.filter((one) => plainName(one) === plainName(header)).length > 1;
    const place = {
      ...(header === "" || twice ? line(at) : {}),
      ...(header === "" ? {} : { header }),
    };
    const { words, ...column } = suggestColumn(header, cells, { ...context, shoeSeen });
    if (column.holds === "shoe") shoeSeen = true;
    if (isMaker(header)) gather(gathered.makers, cells);
    gatherColumn(column, header, cells, words, gathered);
    if (column.holds === "trial" && column.metric !== undefined) {
      const id = String(column.metric);
      const key = `${id} ${column.side ?? ""}`;
      trialsOf.set(key, (trialsOf.get(key) ?? 0) + 1);
      if (!context.numbered && column.trial === undefined) column.trial = trialsOf.get(key);
      if (hasComment(given, at, turned)) column.notes = "take";
      const unit = column.unit ?? unitInCells(cells, 0) ?? "1";
      addMetric(gathered, id, everyday(String(unit)), []);
    }
    return [{ at, column: { ...place, ...column } }];
  });
  if (!shoeSeen) firstNamesAreShoes(columns.map(({ column }) => column));
  return columns;
}

/** Without a header that says so, the first column of texts names the shoes. */
function firstNamesAreShoes(columns: readonly GuessedColumn[]): void {
  const [first] = columns;
  if (first?.holds !== "left out" || first.guess !== "not recognized") return;
  delete first.because;
  Object.assign(first, { holds: "shoe", guess: "the first column, and its cells are words" });
}

function gatherColumn(
  column: GuessedColumn,
  header: string,
  cells: readonly CellContent[],
  words: unknown,
  gathered: Gathered,
): void {
  const kind = `${column.field}s`;
  if (kind === "operators" || kind === "rigs" || kind === "testers" || kind === "attributes") {
    gather(gathered[kind], cells);
  }
  const outOf = column.holds === "impression" ? ratedOutOf(header) : null;
  if (outOf !== null) gathered.outOf.add(outOf);
  if (Array.isArray(words)) {
    for (const word of words) {
      const read = readReading({ kind: "text", text: word }, ANY_READING);
      if ("why" in read) gathered.words.add(word);
    }
  }
  if (column.field === "size") {
    for (const cell of cells) {
      const read = readSize(cell, null);
      if ("system" in read && read.system !== null) gathered.sizeSystems.push(read.system);
    }
  }
}

const ANY_READING = { decimal: null, unit: null, notes: "take" } as const;

/** A sheet of the court: the day of playing, and who played. */
function asRatings(columns: readonly GuessedColumn[]): void {
  if (columns.some(({ holds }) => holds === "trial")) return;
  const impressions = columns.filter(({ holds }) => holds === "impression");
  for (const column of columns) {
    if (column.holds === "session detail" && column.field === "date") {
      column.holds = "impression detail";
    }
    if (column.holds === "trial detail" && column.field === "note") {
      column.holds = "impression detail";
    }
    const who = column.holds === "session detail" && column.field === "operator";
    if (who && impressions.some(({ tester }) => tester === undefined)) {
      Object.assign(column, { holds: "impression detail", field: "tester" });
    }
  }
}

/** What holds for every row: the court that the sheet is named for, the day figures were published. */
function fixedOf(
  { sheet }: Guessing,
  columns: readonly GuessedColumn[],
  named: readonly NamedRow[],
  saved: string | null,
): Record<string, string> {
  const has = (field: string) => columns.some((column) => column.field === field);
  const trials = columns.filter(({ holds }) => holds === "trial");
  const court = /\b(all[- ]court|hard|clay|grass|indoor)\b/i.exec(sheet.name)?.[1].toLowerCase();
  const isPublished = trials.length > 0 && named.length > 1 && !has("date") && !has("operator") &&
    trials.every(({ trial }) => trial === 1) &&
    new Set(named.map(({ name }) => slugOf(name))).size === named.length;
  return {
    ...(court === undefined || has("surface") ? {} : { surface: court.replace(" ", "-") }),
    ...(isPublished && saved !== null ? { published: saved } : {}),
  };
}

// Nothing stands in for these: an import that lacks one says so, where a made-up day would go in.
function lacking(
  columns: readonly GuessedColumn[],
  fixed: Readonly<Record<string, string>>,
): string[] {
  const has = (field: string) => columns.some((column) => column.field === field);
  const trials = columns.some(({ holds }) => holds === "trial");
  const impressions = columns.filter(({ holds }) => holds === "impression");
  const isPublished = fixed.published !== undefined;
  return [
    ...(columns.some(({ holds }) => holds === "shoe") ? [] : ["shoe"]),
    ...(trials && !isPublished && !has("operator") ? ["operator"] : []),
    ...(trials && !isPublished && !has("date") ? ["session_date"] : []),
    ...(impressions.some(({ tester }) => tester === undefined) && !has("tester") ? ["tester"] : []),
    ...(impressions.length > 0 && !has("date") ? ["impression_date"] : []),
  ];
}

function guessOf(
  { sheet, turned, headerRows }: Guessing,
  letters: readonly string[],
  fixed: Readonly<Record<string, string>>,
  lacks: readonly string[],
): string {
  const parts = [
    turned
      ? `Turned: shoes across. Headers in column ${letters.join(" and ")}.`
      : `Header in row ${headerRows.join(" and ")}.`,
  ];
  if (fixed.published !== undefined) {
    parts.push(
      `One figure a shoe and test, without day or operator: taken as published on ${fixed.published}, ` +
        "when the file was saved; correct the day. Their noise is not known.",
    );
  }
  if (fixed.surface !== undefined) parts.push(`The court is that of the sheet's name.`);
  const { rows = new Set(), columns = new Set(), sheet: whole = false } = sheet.hidden ?? {};
  if (whole || rows.size + columns.size > 0) {
    const what = whole ? "The sheet is" : "Some rows or columns are";
    parts.push(`${what} hidden: say "hidden": "take" or "leave".`);
  }
  if (lacks.length > 0) {
    const example = JSON.stringify({ [lacks[0]]: EXAMPLES[lacks[0]] });
    parts.push(
      `No ${turned ? "row" : "column"} gives ${lacks.join(", ")}: write ` +
        `${lacks.length === 1 ? "it" : "them"} in "fixed", such as "fixed": ${example}.`,
    );
  }
  if (lacks.includes("session_date") && lacks.includes("operator")) {
    parts.push('Figures whose day nobody knows: "fixed": {"published": "the day they came out"}.');
  }
  return parts.join(" ");
}

const EXAMPLES: Readonly<Record<string, string>> = {
  shoe: "Alder 2",
  operator: "op1",
  session_date: "2026-07-14",
  tester: "t1",
  impression_date: "2026-07-14",
};

/** A row with the shoe that it names. */
type NamedRow = {
  readonly name: string;
  readonly row: number;
  readonly parts: ShoeParts | null;
};

/** The shoe's name in each row that holds more than it: a name alone is a heading between the shoes. */
function shoeNamesIn(
  sheet: Sheet,
  read: readonly number[],
  placed: readonly Placed[],
): NamedRow[] {
  const filled = filledCells(sheet);
  const shoes = placed.filter(({ column }) => column.holds === "shoe");
  return read.flatMap((row) => {
    const words = shoes.flatMap(({ column, at }) => {
      const cell = filled(row, at)?.content;
      if (cell?.kind !== "text" && cell?.kind !== "number") return [];
      return [{ field: column.field, text: shownContent(cell).trim() }];
    });
    const hasMore = placed.some(({ at, column }) =>
      column.holds !== "shoe" && filled(row, at) !== null
    );
    if (words.length === 0 || !hasMore) return [];
    const parts = words.flatMap(({ field, text }) => field === undefined ? [] : [[field, text]]);
    const name = words.map(({ text }) => text).join(" ");
    return [{ name, row, parts: parts.length === 0 ? null : Object.fromEntries(parts) }];
  });
}

/** Where rows repeat a shoe and its session, each row is one more trial of it. */
function numberTrials(
  { sheet }: Guessing,
  named: readonly NamedRow[],
  placed: readonly Placed[],
): void {
  const trials = placed.map(({ column }) => column).filter(({ holds }) => holds === "trial");
  const isNumbered = placed.some(({ column }) => column.field === "trial");
  if (isNumbered || trials.some(({ trial }) => trial !== undefined && trial !== 1)) return;
  const telling = placed.flatMap(({ at, column: { field } }) =>
    ["date", "operator", "rig", "side", "pair", "metric"].includes(String(field)) ? [at] : []
  );
  const visits = named.map(({ name, row }) => {
    const cells = telling.map((c) => sheet.rows[row][c] ?? null);
    return [name, ...cells.map((cell) => cell === null ? "" : shownContent(cell))].map(plainName)
      .join("\0");
  });
  const repeats = visits.length - new Set(visits).size;
  if (repeats === 0 || repeats < visits.length / 4) return;
  for (const column of trials) {
    column.trial = "in order";
    column.guess = `${column.guess}; rows repeat a shoe's session, so numbered as they come`;
  }
}

/** One row a reading: the metrics that its rows name, and trials numbered as they come if need be. */
function suggestLong(
  sheet: Sheet,
  read: readonly number[],
  placed: readonly Placed[],
  gathered: Gathered,
): void {
  const columns = placed.map(({ column }) => column);
  const at = (holds: string, field?: string) =>
    columns.findIndex((column) => column.holds === holds && column.field === field);
  const [metric, unit] = [at("trial detail", "metric"), at("trial detail", "unit")];
  const value = columns.findIndex(({ holds, metric }) => holds === "trial" && metric === undefined);
  if (metric < 0 || value < 0) return;
  const column = columns[value];
  if (at("trial detail", "trial") < 0 && column.trial === undefined) {
    column.trial = "in order";
    column.guess = `${column.guess}; no column numbers them, so as they come`;
  }
  const cellsOf = (r: number, c: number) => sheet.rows[r][placed[c].at] ?? null;
  const name = (r: number) => {
    const cell = cellsOf(r, metric);
    return cell === null ? "" : shownContent(cell).trim();
  };
  const names = [...new Set(read.map(name))].filter((one) => one !== "");
  for (const { id, spelt } of suggestMetricNames(names)) {
    const rows = read.filter((r) => spelt.some((one) => plainName(one) === plainName(name(r))));
    const units = rows.flatMap((r) => {
      const cell = unit < 0 ? null : cellsOf(r, unit);
      return cell === null ? [] : unitOf(shownContent(cell))?.code ?? [];
    });
    const found = units[0] ?? unitInCells(rows.flatMap((r) => cellsOf(r, value) ?? []), 0) ?? "1";
    addMetric(gathered, id, everyday(found), spelt.filter((one) => plainName(one) !== id));
  }
}

function addMetric({ metrics }: Gathered, id: string, unit: string, spelt: readonly string[]) {
  const known = metrics.get(id);
  if (known === undefined) {
    const guess = 'Check unit and better; while this "guess" stands, no direction is taken. Add ' +
      "plausible, group and method if you know them.";
    const also = spelt.length === 0 ? {} : { spelt };
    metrics.set(id, { id, unit, better: betterOf(id), ...also, guess });
  } else if (spelt.length > 0 && known.spelt === undefined) known.spelt = spelt;
}

/** A first guess at the direction, never taken before somebody confirms it. */
function betterOf(id: string): string {
  // The angle at which a shoe slips is higher the better it holds.
  if (/slip.*angle|tilt|friction|grip|traction/.test(id)) return "higher";
  if (/mass|weight|wear|abrasion|temperature/.test(id)) return "lower";
  return /rebound|height|energy/.test(id) ? "higher" : "none";
}

function gather(names: Map<string, string>, cells: readonly CellContent[]): void {
  for (const cell of cells) {
    const text = shownContent(cell).trim();
    if (cell.kind === "text" && !names.has(plainName(text))) names.set(plainName(text), text);
  }
}

function hasComment({ comments }: Sheet, at: number, turned: boolean): boolean {
  const own = turned ? new RegExp(`^[A-Z]+${at + 1}$`) : new RegExp(`^${columnLetters(at)}\\d+$`);
  return [...comments.keys()].some((address) => own.test(address));
}
