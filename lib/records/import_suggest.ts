import { plainName, readDay, readReading, readYesNo } from "./import_cells.ts";
import { headersOf } from "./import_columns.ts";
import { columnLetters } from "./import_sheet_marks.ts";
import { slugOf } from "./import_shoe_names.ts";
import { type CellContent, type Sheet, shownContent, type Workbook } from "./import_workbook.ts";
import { nearestName } from "./similar_names.ts";
import { parseQuantity, sameDimension, unitOf } from "./units.ts";

/** A mapping to start from, as JSON; every guess is marked with a key `guess`. */
export type SuggestedMapping = Readonly<Record<string, unknown>>;

type Column = Record<string, unknown> & { holds: string };

/**
 * What might the columns of this spreadsheet mean?
 *
 * Goes by headers and by what most cells hold. Nothing in it is sure: each guess says so and why. A
 * column that it can't place is left out, so that its cells are listed.
 */
export function importSuggest(workbook: Workbook): SuggestedMapping {
  const metrics = new Map<string, Record<string, unknown>>();
  const names = new Map<string, string>(); // plain spelling: first spelling met
  const sheets = workbook.sheets.filter(({ rows }) => rows.some((row) => row.some(Boolean)))
    .map((sheet) => suggestSheet(sheet, metrics, names));
  const order = dateOrderOf(workbook);
  const ratings = sheets.some(({ columns }) => columns.some(({ holds }) => holds === "impression"));
  return {
    kind: "import-mapping",
    schema: 1,
    about: "Suggested from the file. Check every guess, then delete the key that marks it." +
      (order === null ? "" : ` Dates: ${order.dates}, as ${order.because} can be nothing else.`),
    decimal: decimalOf(workbook),
    dates: order?.dates ?? null,
    unlisted_shoes: "leave",
    bench: {
      name: "My bench",
      size_system: "eu",
      ...(ratings ? { rating: { min: 0, max: 10, step: 0.5 } } : {}),
      guess: "Nothing in the file says any of these.",
    },
    metrics: [...metrics.values()],
    shoes: suggestShoes([...names.values()]),
    sheets,
  };
}

function suggestSheet(
  sheet: Sheet,
  metrics: Map<string, Record<string, unknown>>,
  names: Map<string, string>,
) {
  const headerRows = headerRowsOf(sheet);
  const headers = headersOf(sheet, headerRows);
  const first = headerRows.at(-1)!;
  const skipped = summaryRows(sheet, first);
  const trialsOf = new Map<string, number>();
  let shoeSeen = false;
  const columns = headers.map((header, at): Column => {
    const cells = sheet.rows.flatMap((row, r) =>
      r < first || skipped.includes(r + 1) ? [] : row[at] ?? []
    );
    const twice = headers.filter((one) => plainName(one) === plainName(header)).length > 1;
    const place = {
      ...(header === "" || twice ? { column: columnLetters(at) } : {}),
      ...(header === "" ? {} : { header }),
    };
    const column = suggestColumn(header, cells, shoeSeen);
    if (column.holds === "shoe") {
      shoeSeen = true;
      for (const cell of cells) {
        const text = shownContent(cell).trim();
        if (cell.kind === "text" && !names.has(plainName(text))) names.set(plainName(text), text);
      }
    }
    if (column.holds === "trial") {
      const id = String(column.metric);
      const key = `${id} ${column.side ?? ""}`;
      trialsOf.set(key, (trialsOf.get(key) ?? 0) + 1);
      column.trial = trialsOf.get(key);
      if (!metrics.has(id)) {
        const unit = String(column.unit ?? unitInCells(cells, 0) ?? "1");
        const guess = "Check unit and better; add plausible, group and method if you know them.";
        metrics.set(id, { id, unit, better: betterOf(id), guess });
      }
    }
    return { ...place, ...column };
  });
  if (columns.every(({ holds }) => holds !== "trial")) {
    for (const column of columns) { // a sheet of the court: its date is the day of playing
      if (column.holds === "session detail" && column.field === "date") {
        column.holds = "impression detail";
      }
    }
  }
  const has = (field: string) => columns.some((column) => column.field === field);
  const trials = columns.some(({ holds }) => holds === "trial");
  const impressions = columns.filter(({ holds }) => holds === "impression");
  // Nothing stands in for these: an import that lacks one says so, where a made-up day would go in.
  const lacks = [
    ...(shoeSeen ? [] : ["shoe"]),
    ...(trials && !has("operator") ? ["operator"] : []),
    ...(trials && !has("date") ? ["session_date"] : []),
    ...(impressions.some(({ tester }) => tester === undefined) && !has("tester") ? ["tester"] : []),
    ...(impressions.length > 0 && !has("date") ? ["impression_date"] : []),
  ];
  return {
    sheet: sheet.name,
    guess: `Header in row ${headerRows.join(" and ")}.` + (lacks.length === 0 ? "" : (
      ` No column gives ${lacks.join(", ")}: write ${lacks.length === 1 ? "it" : "them"} in ` +
      `"fixed", such as "fixed": ${JSON.stringify({ [lacks[0]]: EXAMPLES[lacks[0]] })}.`
    )),
    header_rows: headerRows,
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

/** The first row of three or more texts, and the row below it when that continues it. */
function headerRowsOf(sheet: Sheet): number[] {
  const texts = (row: readonly (CellContent | null)[] | undefined) =>
    (row ?? []).filter((cell) => cell?.kind === "text").length;
  const width = Math.max(0, ...sheet.rows.slice(0, 30).map((row) => row.filter(Boolean).length));
  const least = Math.min(3, Math.max(1, width));
  const at = Math.max(0, sheet.rows.slice(0, 30).findIndex((row) => texts(row) >= least));
  const spread = sheet.merges.some(({ top, left, right }) => top === at && right > left);
  return spread && sheet.rows.length > at + 2 ? [at + 1, at + 2] : [at + 1];
}

function summaryRows(sheet: Sheet, first: number): number[] {
  return sheet.rows.flatMap((row, r) => {
    const text = row.find((cell) => cell !== null);
    const isSummary = r >= first && text?.kind === "text" &&
      /^(mean|average|avg|total|median|sd|min|max|mittel(wert)?|moyenne)\b/i.test(text.text.trim());
    return isSummary ? [r + 1] : [];
  });
}

function summaryNames(sheet: Sheet, rows: readonly number[]): string[] {
  const names = rows.map((row) => shownContent(sheet.rows[row - 1].find((cell) => cell !== null)!));
  return [...new Set(names.map((name) => name.trim()))];
}

function suggestColumn(header: string, cells: readonly CellContent[], shoeSeen: boolean): Column {
  const plain = plainName(header.split("/").at(-1)!);
  const guess = `by its header ${JSON.stringify(header)}`;
  const detail = (kind: string, field: string): Column => ({ holds: kind, field, guess });
  if (!shoeSeen && /^(shoe|shoe name|model|name|schuh|chaussure)$/.test(plain)) {
    return { holds: "shoe", guess };
  }
  const shoe = /^(maker|model|edition|released|surface|size|width|price|currency)$/.exec(plain);
  if (shoe) return detail("shoe detail", shoe[1]);
  if (/^(brand|manufacturer)$/.test(plain)) return detail("shoe detail", "maker");
  if (/^(session|session id)$/.test(plain)) return { holds: "session", guess };
  if (/^(date|tested|tested on|day|datum)$/.test(plain)) return detail("session detail", "date");
  if (/^(operator|tester at the bench|by)$/.test(plain)) {
    return detail("session detail", "operator");
  }
  if (/^rig$/.test(plain)) return detail("session detail", "rig");
  if (/^(room|air|temp|temperature|lab temp)\b/.test(plain)) {
    const unit = unitInHeader(header);
    return {
      ...detail("session detail", "temperature_c"),
      ...(unit !== null && sameDimension(unit, "Cel") ? { unit } : {}),
    };
  }
  if (/humidity/.test(plain)) return detail("session detail", "humidity_pct");
  if (/^(side|foot)$/.test(plain)) return detail("trial detail", "side");
  if (/^pair$/.test(plain)) return detail("trial detail", "pair");
  if (/^(note|notes|remark|remarks|comment)$/.test(plain)) return detail("trial detail", "note");
  if (cells.length === 0) return { holds: "left out", because: "an empty column", guess };

  const share = (test: (cell: CellContent) => boolean) => cells.filter(test).length / cells.length;
  if (share((cell) => typeof readYesNo(cell) === "string" && cell.kind !== "number") > 0.7) {
    return { holds: "feature", feature: slugOf(header) || "feature", guess: "cells say yes or no" };
  }
  if (share((cell) => "date" in readDay(cell, { dates: null, two_digit_years: "refuse" })) > 0.7) {
    return detail("session detail", "date");
  }
  const options = { decimal: null, unit: null, notes: "take" } as const;
  const numeric = share((cell) => !("why" in readReading(cell, options)));
  if (numeric < 0.6) {
    return {
      holds: "left out",
      because: "say here why, or what it holds",
      guess: "not recognized",
    };
  }
  const rating = /^(.+?)[\s:,/-]+(energy|comfort|grip|stability|feel|rating|fit|cushioning)$/i
    .exec(header.trim());
  if (rating && unitInHeader(header) === null) {
    const [, tester, attribute] = rating;
    return {
      holds: "impression",
      tester: slugOf(tester) || "t1",
      attribute: slugOf(attribute),
      guess: "a tester's rating, by its header",
    };
  }
  return trialColumn(header, cells);
}

function trialColumn(header: string, cells: readonly CellContent[]): Column {
  const unit = unitInHeader(header);
  const bare = header.replace(/[([][^)\]]*[)\]]/g, " ").replace(/\b(left|right)\b/gi, " ")
    .replace(/[\s/#.:-]*\b(trial|t|no)?\s*\d+\s*$/i, " ");
  const side = /\b(left|right)\b/i.exec(header)?.[1].toLowerCase();
  return {
    holds: "trial",
    metric: slugOf(bare) || slugOf(header) || "reading",
    ...(unit === null || unitInCells(cells) !== null ? {} : { unit }),
    ...(side === undefined ? {} : { side }),
    guess: "readings, because most cells are numbers" +
      (unit === null && unitInCells(cells) === null ? "; no unit is written, so add one" : ""),
  };
}

function unitInHeader(header: string): string | null {
  for (const [, inside] of header.matchAll(/[([]([^)\]]+)[)\]]/g)) {
    if (unitOf(inside) !== null) return unitOf(inside)!.code;
  }
  const last = /[\s,]([^\s,/]+)$/.exec(header.split("/").at(-1)!.trim())?.[1] ?? "";
  return /^\d+$/.test(last) ? null : unitOf(last)?.code ?? null;
}

/** The unit that more than this share of the cells write: that of the most. */
function unitInCells(cells: readonly CellContent[], share = 0.5): string | null {
  const counts = new Map<string, number>();
  for (const cell of cells) {
    const read = cell.kind === "text" ? parseQuantity(cell.text) : null;
    const unit = cell.kind === "number"
      ? cell.unit
      : read !== null && "value" in read
      ? read.unit
      : null;
    if (typeof unit === "string") counts.set(unit, (counts.get(unit) ?? 0) + 1);
  }
  const [most] = [...counts].sort((a, b) => b[1] - a[1]);
  return most === undefined || most[1] <= share * cells.length ? null : most[0];
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

function suggestShoes(names: readonly string[]) {
  const shoes: { shoe_id: string; spelt: string[]; model: string; guess: string }[] = [];
  for (const name of names) {
    const id = slugOf(name);
    if (id === "") continue;
    const known = shoes.map(({ shoe_id }) => shoe_id);
    // Numbers tell editions apart, so only names with the same ones may be one shoe.
    const digits = (text: string) => arabic(text).replace(/\D/g, "");
    const same = known.filter((other) => digits(other) === digits(id));
    const near = same.find((other) => arabic(other) === arabic(id)) ?? nearestName(id, same) ??
      onlyOne(same.filter((other) => isShortFor(id, other) || isShortFor(other, id)));
    const shoe = shoes.find(({ shoe_id }) => shoe_id === near);
    if (shoe !== undefined) {
      shoe.spelt.push(name);
      shoe.guess = "Names that are nearly alike: take apart what are two shoes. " + WRITE_MAKER;
    } else shoes.push({ shoe_id: id, spelt: [name], model: name, guess: WRITE_MAKER });
  }
  return shoes;
}

function onlyOne(names: readonly string[]): string | null {
  return names.length === 1 ? names[0] : null;
}

/** `alder` and `t-alder` for `tarnwick-alder`: the maker left out, or its first letters. */
function isShortFor(short: string, long: string): boolean {
  const [a, b] = [short.split("-"), long.split("-")];
  const [maker, ...model] = b;
  if (model.length === 0 || model.join("").length < 3) return false;
  if (a.join("-") === model.join("-")) return true;
  const [initial, ...rest] = a;
  return initial.length <= 2 && maker.startsWith(initial) && rest.join("-") === model.join("-");
}

const WRITE_MAKER = 'Write "maker", and leave the maker out of "model".';

/** An id with its edition in digits: `alder-ii` is `alder-2`. */
function arabic(id: string): string {
  const numerals = ["ii", "iii", "iv", "v", "vi", "vii", "viii", "ix"];
  return id.replace(/-([ivx]+)$/, (all, numeral) => {
    const at = numerals.indexOf(numeral);
    return at < 0 ? all : `-${at + 2}`;
  });
}
