import { readDay } from "./dates.ts";
import { tableOf } from "./import_columns.ts";
import { columnLetters } from "./import_sheet_marks.ts";
import { suggestNames, suggestShoes } from "./import_suggest_names.ts";
import { looksTurned, tablesBeside } from "./import_suggest_shape.ts";
import { type Gathered, suggestSheet } from "./import_suggest_sheet.ts";
import type { CellContent, Workbook } from "./import_workbook.ts";
import { parseQuantity } from "./units.ts";

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
    parts: new Map(),
    outOf: new Set(),
    words: new Set(),
    sizeSystems: [],
  };
  const filled = workbook.sheets.filter(({ rows }) => rows.some((row) => row.some(Boolean)));
  // A sheet of loose notes has no table; its cells are listed as not taken.
  const tables = filled.filter(({ rows }) =>
    filled.length === 1 || rows.filter((row) => row.filter(Boolean).length > 1).length > 1
  );
  const { saved = null } = workbook;
  const sheets = (tables.length === 0 ? filled : tables).flatMap((sheet) => {
    const places = looksTurned(sheet) ? [] : tablesBeside(sheet);
    if (places.length < 2) return [suggestSheet(sheet, gathered, { saved })];
    return places.map(([from, to]) => ({
      ...suggestSheet(tableOf(sheet, from, to), gathered, { saved }),
      table_columns: [columnLetters(from), columnLetters(to)],
    }));
  });
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
      ...benchOf(gathered, ratings),
    },
    ...wordsOf(gathered),
    metrics: [...gathered.metrics.values()],
    shoes: suggestShoes(
      [...gathered.shoes.values()],
      [...gathered.makers.values()],
      gathered.parts,
    ),
    ...Object.fromEntries(named),
    sheets: joinedAlike(sheets),
  };
}

type SheetGuess = ReturnType<typeof suggestSheet>;

/** Sheets that read alike as one entry, which names the others and what holds for their rows alone. */
function joinedAlike(sheets: readonly SheetGuess[]): readonly Record<string, unknown>[] {
  const groups = Map.groupBy(sheets, (one) => {
    const { sheet: _sheet, fixed: _fixed, ...rest } = one as Record<string, unknown>;
    return JSON.stringify(rest, (key, value) => key === "guess" ? undefined : value);
  });
  return [...groups.values()].map(([first, ...others]) => {
    if (others.length === 0 || "table_columns" in first) return first;
    const { columns, ...head } = first as Record<string, unknown>;
    const also = others.map((one) => [one.sheet, changedIn(first.fixed ?? {}, one.fixed ?? {})]);
    return { ...head, also: Object.fromEntries(also), columns };
  });
}

function changedIn(first: object, other: object): Record<string, unknown> {
  const before = new Map(Object.entries(first));
  return Object.fromEntries(
    Object.entries(other).filter(([key, value]) => before.get(key) !== value),
  );
}

/** The settings of a new bench, as far as the file says them. */
function benchOf({ sizeSystems, outOf }: Gathered, ratings: boolean): Record<string, unknown> {
  const [system] = sizeSystems;
  const isOne = system !== undefined && sizeSystems.every((one) => one === system);
  const told = [
    ...(isOne ? ["sizes"] : []),
    ...(outOf.size === 1 ? ["the ratings' scale"] : []),
  ];
  return {
    size_system: isOne ? system : "eu",
    ...(ratings
      ? { rating: { min: 0, max: outOf.size === 1 ? [...outOf][0] : 10, step: 0.5 } }
      : {}),
    guess: told.length === 0
      ? "Nothing in the file says any of these."
      : `The file says ${told.join(" and ")}; nothing says the rest.`,
  };
}

const ORDER = [
  ["terrible", "awful", "useless"],
  ["bad", "poor", "weak"],
  ["ok", "okay", "fair", "average", "so-so", "meh", "middling"],
  ["good", "nice", "fine"],
  ["very good", "great"],
  ["excellent", "superb", "perfect", "outstanding"],
];

/** Ratings in words, in the order that most people give them; nothing where one of them is unknown. */
function wordsOf({ words }: Gathered): Record<string, unknown> {
  const place = (word: string) => ORDER.findIndex((level) => level.includes(word));
  const known = [...words].sort((a, b) => place(a) - place(b));
  const placed = new Set(known.map(place));
  if (known.length < 2 || placed.has(-1) || placed.size < known.length) return {};
  return { rating_words: known };
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
