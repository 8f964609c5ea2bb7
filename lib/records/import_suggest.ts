import { plainName, readDay } from "./import_cells.ts";
import { filledCells, headersOf, turnedSheet } from "./import_columns.ts";
import { columnLetters } from "./import_sheet_marks.ts";
import {
  contextOf,
  everyday,
  type GuessedColumn,
  isMaker,
  isSummary,
  saysWhatItHolds,
  suggestColumn,
  unitInCells,
} from "./import_suggest_columns.ts";
import { suggestMetricNames, suggestNames, suggestShoes } from "./import_suggest_names.ts";
import { type CellContent, type Sheet, shownContent, type Workbook } from "./import_workbook.ts";
import { parseQuantity, unitOf } from "./units.ts";

/** A mapping to start from, as JSON; every guess is marked with a key `guess`. */
export type SuggestedMapping = Readonly<Record<string, unknown>>;

/** A mapping as a file's text: one line a shoe, a metric, a column. */
export function mappingText(mapping: unknown): string {
  return lines(mapping, "") + "\n";
}

function lines(value: unknown, indent: string): string {
  const holdsList = (one: unknown): boolean =>
    typeof one === "object" && one !== null &&
    (Array.isArray(one)
      ? one.some((entry) => typeof entry === "object")
      : Object.values(one).some(holdsList));
  if (indent !== "" && !holdsList(value)) {
    return JSON.stringify(value, null, 1).replace(/\n\s*/g, " ");
  }
  const isList = Array.isArray(value);
  const parts = Object.entries(value as object).map(([key, part]) =>
    `${indent}  ${isList ? "" : `${JSON.stringify(key)}: `}${lines(part, `${indent}  `)}`
  );
  const [open, close] = isList ? ["[", "]"] : ["{", "}"];
  return `${open}\n${parts.join(",\n")}\n${indent}${close}`;
}

/** What the sheets have in common, gathered sheet by sheet. */
type Gathered = {
  readonly metrics: Map<string, Record<string, unknown>>;
  /** By kind, each plain spelling with the first one met. */
  readonly shoes: Map<string, string>;
  readonly makers: Map<string, string>;
  readonly operators: Map<string, string>;
  readonly rigs: Map<string, string>;
  readonly testers: Map<string, string>;
  readonly attributes: Map<string, string>;
};

/**
 * What might the columns of this spreadsheet mean?
 *
 * Goes by headers and by what most cells hold. Nothing in it is sure: each guess says so and why. A
 * column that it can't place is left out, so that its cells are listed.
 */
export function importSuggest(workbook: Workbook): SuggestedMapping {
  const gathered: Gathered = {
    metrics: new Map(),
    shoes: new Map(),
    makers: new Map(),
    operators: new Map(),
    rigs: new Map(),
    testers: new Map(),
    attributes: new Map(),
  };
  const filled = workbook.sheets.filter(({ rows }) => rows.some((row) => row.some(Boolean)));
  // A sheet of loose notes has no table; its cells are listed as not taken.
  const tables = filled.filter(({ rows }) =>
    filled.length === 1 || rows.filter((row) => row.filter(Boolean).length > 1).length > 1
  );
  const sheets = (tables.length === 0 ? filled : tables).map((one) => suggestSheet(one, gathered));
  const order = dateOrderOf(workbook);
  const ratings = sheets.some(({ columns }) => columns.some(({ holds }) => holds === "impression"));
  const named = (["operators", "rigs", "testers", "attributes"] as const).flatMap((kind) => {
    const names = suggestNames([...gathered[kind].values()]);
    return names.length === 0 ? [] : [[kind, names] as const];
  });
  return {
    kind: "import-mapping",
    schema: 1,
    about: "Suggested from the file. Check every guess, then delete the key that marks it. Each " +
      "key is explained by: deno task import -- --help" +
      (order === null ? "" : `. Dates: ${order.dates}, as ${order.because} can be nothing else`),
    decimal: decimalOf(workbook),
    dates: order?.dates ?? null,
    unlisted_shoes: "leave",
    bench: {
      name: "My bench",
      size_system: "eu",
      ...(ratings ? { rating: { min: 0, max: 10, step: 0.5 } } : {}),
      guess: "Nothing in the file says any of these.",
    },
    metrics: [...gathered.metrics.values()],
    shoes: suggestShoes([...gathered.shoes.values()], [...gathered.makers.values()]),
    ...Object.fromEntries(named),
    sheets,
  };
}

function suggestSheet(given: Sheet, gathered: Gathered) {
  const turned = looksTurned(given);
  const sheet = turned ? turnedSheet(given) : given;
  const headerRows = turned ? turnedHeaders(sheet) : headerRowsOf(sheet);
  const headers = headersOf(sheet, headerRows);
  const first = headerRows.at(-1)!;
  const skipped = summaryRows(sheet, first);
  const read = sheet.rows.flatMap((row, r) =>
    r < first || skipped.includes(r + 1) || !row.some(Boolean) ? [] : [r]
  );
  const context = contextOf(headers, turned);
  const trialsOf = new Map<string, number>();
  let shoeSeen = false;
  const columns = headers.map((header, at): GuessedColumn => {
    const cells = read.flatMap((r) => sheet.rows[r][at] ?? []);
    const twice = headers.filter((one) => plainName(one) === plainName(header)).length > 1;
    const line = turned ? { row: at + 1 } : { column: columnLetters(at) };
    const place = {
      ...(header === "" || twice ? line : {}),
      ...(header === "" ? {} : { header }),
    };
    const column = suggestColumn(header, cells, { ...context, shoeSeen });
    if (column.holds === "shoe") shoeSeen = true;
    if (isMaker(header)) gather(gathered.makers, cells);
    const kind = `${column.field}s`;
    if (kind === "operators" || kind === "rigs" || kind === "testers" || kind === "attributes") {
      gather(gathered[kind], cells);
    }
    if (column.holds === "trial" && column.metric !== undefined) {
      const id = String(column.metric);
      const key = `${id} ${column.side ?? ""}`;
      trialsOf.set(key, (trialsOf.get(key) ?? 0) + 1);
      if (!context.numbered) column.trial = trialsOf.get(key);
      if (hasComment(given, at, turned)) column.notes = "take";
      const unit = column.unit ?? unitInCells(cells) ?? unitInCells(cells, 0) ?? "1";
      addMetric(gathered, id, everyday(String(unit)), []);
    }
    return { ...place, ...column };
  });
  const named = shoeNamesIn(sheet, read, columns);
  for (const [name] of named) {
    if (!gathered.shoes.has(plainName(name))) gathered.shoes.set(plainName(name), name);
  }
  const single = [...trialsOf.values()].every((count) => count === 1);
  const numbered = columns.some(({ field }) => field === "trial");
  if (!numbered && single) numberInOrder(sheet, named, columns);
  if (context.long === "trial") suggestLong(sheet, read, columns, gathered);
  const trials = columns.some(({ holds }) => holds === "trial");
  const impressions = columns.filter(({ holds }) => holds === "impression");
  if (!trials) {
    for (const column of columns) { // a sheet of the court: the day of playing, and who played
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
  const has = (field: string) => columns.some((column) => column.field === field);
  // Nothing stands in for these: an import that lacks one says so, where a made-up day would go in.
  const lacks = [
    ...(shoeSeen ? [] : ["shoe"]),
    ...(trials && !has("operator") ? ["operator"] : []),
    ...(trials && !has("date") ? ["session_date"] : []),
    ...(impressions.some(({ tester }) => tester === undefined) && !has("tester") ? ["tester"] : []),
    ...(impressions.length > 0 && !has("date") ? ["impression_date"] : []),
  ];
  const letters = headerRows.map((row) => columnLetters(row - 1));
  return {
    sheet: sheet.name,
    guess:
      (turned
        ? `Turned: shoes across. Headers in column ${letters.join(" and ")}.`
        : `Header in row ${headerRows.join(" and ")}.`) + (lacks.length === 0 ? "" : (
          ` No ${turned ? "row" : "column"} gives ${lacks.join(", ")}: write ` +
          `${lacks.length === 1 ? "it" : "them"} in "fixed", such as "fixed": ` +
          `${JSON.stringify({ [lacks[0]]: EXAMPLES[lacks[0]] })}.`
        )),
    ...(turned ? { turned: true, header_columns: letters } : { header_rows: headerRows }),
    skip_names: summaryNames(sheet, skipped),
    fixed: {},
    columns,
  };
}

const EXAMPLES: Readonly<Record<string, string>> = {
  shoe: "Alder 2",
  operator: "op1",
  session_date: "2026-07-14",
  tester: "t1",
  impression_date: "2026-07-14",
};

/** The shoe's name in each row that holds more than it: a name alone is a heading between the shoes. */
function shoeNamesIn(
  sheet: Sheet,
  read: readonly number[],
  columns: readonly GuessedColumn[],
): (readonly [string, number])[] {
  const filled = filledCells(sheet);
  const isShoe = columns.map(({ holds }) => holds === "shoe");
  return read.flatMap((r) => {
    const words = columns.flatMap((_, c) => {
      const cell = isShoe[c] ? filled(r, c)?.content : undefined;
      return cell?.kind === "text" || cell?.kind === "number" ? [shownContent(cell).trim()] : [];
    });
    const hasMore = columns.some((_, c) => !isShoe[c] && filled(r, c) !== null);
    return words.length > 0 && hasMore ? [[words.join(" "), r] as const] : [];
  });
}

/** Where rows repeat a shoe and its session, each row is one more trial of it. */
function numberInOrder(
  sheet: Sheet,
  named: readonly (readonly [string, number])[],
  columns: readonly GuessedColumn[],
): void {
  const telling = columns.flatMap(({ field }, c) =>
    ["date", "operator", "rig", "side", "pair", "metric"].includes(String(field)) ? [c] : []
  );
  const visits = named.map(([name, r]) => {
    const cells = telling.map((c) => sheet.rows[r][c] ?? null);
    return [name, ...cells.map((cell) => cell === null ? "" : shownContent(cell))].map(plainName)
      .join("\0");
  });
  const repeats = visits.length - new Set(visits).size;
  if (repeats === 0 || repeats < visits.length / 4) return;
  for (const column of columns) {
    if (column.holds !== "trial") continue;
    column.trial = "in order";
    column.guess = `${column.guess}; rows repeat a shoe's session, so numbered as they come`;
  }
}

/** One row a reading: the metrics that its rows name, and trials numbered as they come if need be. */
function suggestLong(
  sheet: Sheet,
  read: readonly number[],
  columns: readonly GuessedColumn[],
  gathered: Gathered,
): void {
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
  const cellsOf = (r: number, c: number) => sheet.rows[r][c] ?? null;
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
    const guess = "Check unit and better; add plausible, group and method if you know them.";
    const also = spelt.length === 0 ? {} : { spelt };
    metrics.set(id, { id, unit, better: betterOf(id), ...also, guess });
  } else if (spelt.length > 0 && known.spelt === undefined) known.spelt = spelt;
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

/** The first row of three or more texts, and the row below it when that continues it. */
function headerRowsOf(sheet: Sheet): number[] {
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
function looksTurned(sheet: Sheet): boolean {
  const text = (cell: CellContent | null | undefined) =>
    cell?.kind === "text" ? [cell.text.trim()] : [];
  const header = headerRowOf(sheet);
  const across = (sheet.rows[header] ?? []).flatMap(text);
  const down = sheet.rows.slice(header).flatMap((row) => text(row[0]));
  const telling = (words: readonly string[]) => {
    const base = (word: string) => plainName(word.replace(/[\s#.:-]*\d+$/, ""));
    const numbered = words.filter((word) => /\d$/.test(word)).map(base);
    const counted = (word: string) =>
      /\p{L}.*\d$/u.test(word) && numbered.filter((one) => one === base(word)).length > 1;
    return words.filter((word) => saysWhatItHolds(word) || counted(word)).length;
  };
  const [wide, high] = [telling(across), telling(down)];
  return high >= 2 && high > wide && high >= down.length / 2;
}

/** The columns of a turned sheet, counted from 1, that hold headers: the first, and one of units. */
function turnedHeaders({ rows }: Sheet): number[] {
  const second = (rows[1] ?? []).flatMap((cell) =>
    cell === null ? [] : [shownContent(cell).trim()]
  );
  const units = second.filter((text) => unitOf(text) !== null || /^units?$/i.test(text));
  return second.length > 0 && units.length >= second.length * 0.6 ? [1, 2] : [1];
}

function summaryRows(sheet: Sheet, first: number): number[] {
  return sheet.rows.flatMap((row, r) => {
    const cell = row.find((one) => one !== null);
    return r >= first && cell?.kind === "text" && isSummary(cell.text) ? [r + 1] : [];
  });
}

function summaryNames(sheet: Sheet, rows: readonly number[]): string[] {
  const names = rows.map((row) => shownContent(sheet.rows[row - 1].find((cell) => cell !== null)!));
  return [...new Set(names.map((name) => name.trim()))];
}

function betterOf(id: string): string {
  if (/mass|weight|wear|temperature|slip/.test(id)) return "lower";
  return /rebound|height|grip|traction|energy/.test(id) ? "higher" : "none";
}

/** The mark in texts that can be read in one way only; null when both occur, or none. */
function decimalOf(workbook: Workbook): "." | "," | null {
  const seen = new Set<string>();
  for (const { rows } of workbook.sheets) {
    for (const row of rows) {
      for (const cell of row) {
        if (cell?.kind !== "text") continue;
        const mark = /^\s*[-+]?\d+([.,])\d+(\s*\D{0,12})?$/.exec(cell.text)?.[1];
        if (mark !== undefined && "value" in parseQuantity(cell.text)) seen.add(mark);
      }
    }
  }
  return seen.size === 1 ? [...seen][0] as "." | "," : null;
}

/** The order of day and month that every date typed as text allows, where one allows it only. */
function dateOrderOf(workbook: Workbook): { dates: string; because: string } | null {
  const texts = workbook.sheets.flatMap(({ rows }) =>
    rows.flat().flatMap((cell) =>
      cell?.kind === "text" && /^\d{1,2}[./-]\d{1,2}[./-](\d{4}|\d{2})\b/.test(cell.text.trim())
        ? [cell]
        : []
    )
  );
  const reads = (cell: CellContent, dates: "day-month-year" | "month-day-year") =>
    "date" in readDay(cell, { dates, two_digit_years: "2000s" });
  const orders = ["day-month-year", "month-day-year"] as const;
  const fitting = orders.filter((dates) => texts.every((cell) => reads(cell, dates)));
  if (texts.length === 0 || fitting.length !== 1) return null;
  const other = orders.find((dates) => dates !== fitting[0])!;
  const telling = texts.find((cell) => !reads(cell, other))!;
  return { dates: fitting[0], because: telling.text.trim() };
}
