import { isCalendarDate } from "./dates.ts";
import { findAttribute, findMetric, findShoe } from "./find_name.ts";
import { plainName, readPlainNumber, readRating, readReading } from "./import_cells.ts";
import { slugOf } from "./import_shoe_names.ts";
import { type CellContent, type Sheet, shownContent, type Workbook } from "./import_workbook.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";
import type { Bench, Metric, Problem, Shoe } from "./types.ts";
import { sameDimension, unitOf } from "./units.ts";

/** What was said of a session when its sheet is entered; what the sheet itself says goes before it. */
export type SessionSaid = {
  readonly date?: string;
  readonly operator?: string;
  readonly rig?: string;
  readonly temperature_c?: number;
  readonly humidity_pct?: number;
};

/** One reading or rating of a filled sheet, as a row of its table. */
export type EnteredRow = {
  readonly table: "trials.csv" | "impressions.csv";
  readonly row: Readonly<Record<string, string | number>>;
  /** Where it stands in the sheet, such as C7. */
  readonly place: { readonly line: number; readonly column: string };
  /** What it is, for a person: `Pavrico Orbinel 3, Rebound height heel, reading 2`. */
  readonly what: string;
};

/** What a filled sheet holds. */
type EnteredRows = {
  readonly code: string | null;
  readonly session: Readonly<Record<string, string | number>> | null;
  readonly rows: readonly EnteredRow[];
  readonly blank: number;
  readonly odd: readonly string[];
  readonly problems: readonly Problem[];
};

/**
 * What does a filled bench sheet, or a filled set of rating cards, say?
 *
 * Shoes and metrics are known by their ids, or by what people call them. A cell that can't be read is a
 * problem with its place; blank cells stay blank, and those behind them keep their numbers.
 */
export function enteredRows(workbook: Workbook, bench: Bench, said: SessionSaid): EnteredRows {
  const reading = openSheet(workbook);
  if (reading === null) {
    const problem = {
      file: workbook.file,
      line: null,
      column: null,
      found: "no row of headers with a shoe in it",
      expected: "a bench sheet or rating cards, as deno task retest -- --sheet writes them",
      fix: "A spreadsheet of another shape goes in with deno task import.",
      severity: "error" as const,
    };
    return { code: null, session: null, rows: [], blank: 0, odd: [], problems: [problem] };
  }
  return reading.at("tester") === null
    ? readings(reading, bench, said)
    : ratings(reading, bench, said);
}

type OpenSheet = {
  readonly file: string;
  readonly sheet: Sheet;
  /** Rows below the header with anything in them, counted from 0. */
  readonly body: readonly number[];
  readonly headers: readonly string[];
  /** The column under one of these headers; null where there is none. */
  readonly at: (...names: readonly string[]) => number | null;
  readonly cell: (row: number, column: number | null) => CellContent | null;
  readonly text: (row: number, column: number | null) => string;
  readonly problems: Problem[];
  readonly report: (
    row: number | null,
    column: number | string | null,
    found: string,
    expected: string,
    fix?: string,
  ) => void;
};

function openSheet({ file, sheets }: Workbook): OpenSheet | null {
  for (const sheet of sheets) {
    const head = sheet.rows.findIndex((row) =>
      row.some((cell) => cell?.kind === "text" && /^shoe([_ ]?id)?s?$/.test(plainName(cell.text)))
    );
    if (head < 0) continue;
    const headers = sheet.rows[head].map((cell) =>
      cell === null ? "" : plainName(shownContent(cell)).replaceAll("_", " ")
    );
    const problems: Problem[] = [];
    return {
      file,
      sheet,
      headers,
      problems,
      body: sheet.rows.flatMap((row, r) => r > head && row.some(Boolean) ? [r] : []),
      at(...names) {
        const found = headers.findIndex((header) => names.includes(header));
        return found < 0 ? null : found;
      },
      cell: (row, column) => column === null ? null : sheet.rows[row][column] ?? null,
      text(row, column) {
        const cell = column === null ? null : sheet.rows[row][column] ?? null;
        return cell === null ? "" : shownContent(cell).trim();
      },
      report(row, column, found, expected, fix = "") {
        const name = typeof column === "number" ? headers[column] : column;
        problems.push({
          file,
          line: row === null ? null : row + 1,
          column: name,
          found,
          expected,
          fix,
          severity: "error",
        });
      },
    };
  }
  return null;
}

function readings(open: OpenSheet, bench: Bench, said: SessionSaid): EnteredRows {
  const { body, headers, cell, report } = open;
  const columns = headers.flatMap((header, c) =>
    /^(reading )?\d+$/.test(header) ? [{ c, number: Number(/\d+$/.exec(header)![0]) }] : []
  );
  const code = firstOf(open, "sheet");
  const session = sessionOf(open, said);
  const rows: EnteredRow[] = [];
  const odd = new Set<string>();
  const counts = new Map<string, number>();
  let blank = 0;
  if (columns.length === 0) {
    report(null, null, "no column of readings", "columns named reading_1, reading_2 and so on");
  }
  if (open.at("metric id") === null && open.at("metric") === null) {
    report(null, null, "no column of metrics", 'a column named "metric" or "metric_id"');
  }
  for (const r of body) {
    const filled = columns.filter(({ c }) => cell(r, c) !== null);
    blank += columns.length - filled.length;
    const about = readingRow(open, bench, r, { counts, columns: columns.length });
    if (about === null) continue;
    const { shoe_id, released } = about.shoe;
    if (
      filled.length > 0 && released !== null && session !== null && String(session.date) < released
    ) {
      odd.add(`${shoe_id} came out on ${released}, after this session of ${session.date}`);
    }
    for (const { c, number } of filled) {
      const trial = about.first + number - 1;
      const row = readingIn(open, r, c, { about, trial, code, session });
      if (row !== null) rows.push(row);
    }
  }
  return { code, session, rows, blank, odd: [...odd], problems: open.problems };
}

/** What a row of a bench sheet says of all its readings. */
type ReadingRow = {
  readonly shoe: Shoe;
  readonly metric: Metric;
  readonly unit: string;
  readonly pair: string;
  readonly side: string;
  readonly hours: number | null;
  /** The number of its first reading. */
  readonly first: number;
};

/** Null, with the problem reported, where it can't be said what the row's readings are of. */
function readingRow(
  open: OpenSheet,
  bench: Bench,
  r: number,
  { counts, columns }: { readonly counts: Map<string, number>; readonly columns: number },
): ReadingRow | null {
  const { at, text, report } = open;
  const [metricId, metricName] = [at("metric id"), at("metric")];
  const shoe = shoeIn(open, bench, r);
  const metric = found(
    open,
    r,
    metricId ?? metricName,
    "metric",
    () => findMetric(bench, text(r, metricId) || text(r, metricName)),
  );
  if (shoe === null || metric === null) return null;
  const side = text(r, at("side")).toLowerCase();
  const pair = text(r, at("pair")) || "1";
  const key = [shoe.shoe_id, metric.id, pair, side].join("\0");
  const told = Number(text(r, at("first trial")));
  const first = told >= 1 ? told : (counts.get(key) ?? 0) + 1;
  counts.set(key, first - 1 + columns);
  const shown = text(r, at("unit"));
  const unit = shown === "" ? metric.unit : unitOf(shown)?.code ?? null;
  if (unit === null || !sameDimension(unit, metric.unit)) {
    const expected = `a unit such as ${metric.unit}, in which ${metric.id} is read`;
    report(r, at("unit"), quoted(shown), expected);
    return null;
  }
  const played = text(r, at("hours played", "hours"));
  const hours = played === "" ? null : Number(played.replace(/\s*h$/, "").replace(",", "."));
  if (hours !== null && !(hours >= 0)) {
    const expected = "hours that the pair was played in, such as 20";
    report(r, at("hours played", "hours"), quoted(played), expected);
    return null;
  }
  return { shoe, metric, unit, pair, side, hours, first };
}

/** The row of trials.csv that a filled cell makes; null, with the problem reported, where it can't be read. */
function readingIn(
  open: OpenSheet,
  r: number,
  c: number,
  { about, trial, code, session }: {
    readonly about: ReadingRow;
    readonly trial: number;
    readonly code: string | null;
    readonly session: EnteredRows["session"];
  },
): EnteredRow | null {
  const { shoe: { shoe_id }, metric, unit, pair, side, hours } = about;
  const read = readReading(open.cell(r, c)!, { decimal: null, unit, notes: "take" });
  if ("why" in read) {
    open.report(r, c, quoted(open.text(r, c)), `a reading in ${unit}`, `${read.why}.`);
    return null;
  }
  const note = noteOf(code, read.note, open.text(r, open.at("note", "notes")));
  return {
    table: "trials.csv",
    place: { line: r + 1, column: open.headers[c] },
    what: `${shoe_id}, ${metric.id}, reading ${trial}${side === "" ? "" : `, ${side}`}`,
    row: {
      session_id: session === null ? "" : session.session_id,
      shoe_id,
      metric_id: metric.id,
      trial,
      value: read.value === null ? "NA" : read.bound ? `${read.bound}${read.value}` : read.value,
      unit: read.unit ?? unit,
      pair: Number(pair),
      ...(hours === null ? {} : { hours_played: hours }),
      ...(side === "" ? {} : { side }),
      ...(note === "" ? {} : { note }),
    },
  };
}

/** The sheet's code, what stands in the cell behind the number, and what the row says. */
function noteOf(code: string | null, ofCell: string | null, ofRow: string): string {
  return [code === null ? "" : `sheet ${code}`, ofCell, ofRow].filter((part) => part).join("; ");
}

function ratings(open: OpenSheet, bench: Bench, said: SessionSaid): EnteredRows {
  const { body, headers, text, cell, report } = open;
  const code = firstOf(open, "sheet");
  const own = new Set(
    [
      "tester",
      "shoe",
      "shoe id",
      "date",
      "surface",
      "court",
      "minutes",
      "blind",
      "note",
      "notes",
      "remarks",
      "sheet",
      "order",
      "line",
      "",
    ],
  );
  const columns = headers.flatMap((header, c) => {
    if (own.has(header)) return [];
    const attribute = found(open, null, c, "attribute", () => findAttribute(bench, header));
    return attribute === null ? [] : [{ c, attribute }];
  });
  const testers = [...new Set(bench.impressions.map(({ tester }) => tester))];
  const odd = new Set<string>();
  const rows: EnteredRow[] = [];
  let blank = 0;
  for (const r of body) {
    const filled = columns.filter(({ c }) => cell(r, c) !== null);
    blank += columns.length - filled.length;
    if (filled.length === 0) continue;
    const shoe = shoeIn(open, bench, r);
    const date = text(r, open.at("date")) || firstOf(open, "date") || said.date || "";
    const typed = text(r, open.at("tester"));
    const tester = testers.find((one) => plainName(one) === plainName(typed)) ?? typed;
    if (!isCalendarDate(date)) {
      const fix = "Say it with --date, or in the sheet's date column.";
      report(r, "date", date === "" ? "no day" : quoted(date), "a day such as 2026-07-14", fix);
    }
    if (tester === "") report(r, "tester", "no tester", "who rated");
    if (shoe === null || tester === "" || !isCalendarDate(date)) continue;
    const near = testers.includes(tester) ? null : nearestName(tester, testers);
    if (near !== null) odd.add(`the tester ${quoted(tester)} is new, and near to ${quoted(near)}`);
    for (const { c, attribute } of filled) {
      const read = readRating(cell(r, c)!, {
        decimal: null,
        notes: "take",
        scale: bench.settings.rating,
        words: [],
      });
      if ("why" in read) {
        const { min, max } = bench.settings.rating;
        report(r, c, quoted(text(r, c)), `a rating from ${min} to ${max}`, `${read.why}.`);
        continue;
      }
      const note = noteOf(code, read.note, text(r, open.at("note", "notes", "remarks")));
      rows.push({
        table: "impressions.csv",
        place: { line: r + 1, column: headers[c] },
        what: `${tester} on ${shoe.shoe_id}, ${attribute.id}`,
        row: {
          date,
          tester,
          shoe_id: shoe.shoe_id,
          attribute: attribute.id,
          rating: read.value ?? "NA",
          ...courtDetails(open, r),
          ...(note === "" ? {} : { note }),
        },
      });
    }
  }
  return { code, session: null, rows, blank, odd: [...odd], problems: open.problems };
}

function courtDetails(open: OpenSheet, r: number): Record<string, string | number> {
  const { text, cell, report } = open;
  const surface = text(r, open.at("surface", "court")).toLowerCase().replace(/ court$/, "");
  const blind = text(r, open.at("blind")).toLowerCase();
  const at = open.at("minutes");
  const content = cell(r, at);
  const minutes = content === null ? null : readPlainNumber(content, null);
  if (minutes !== null && "why" in minutes) {
    report(r, at, quoted(text(r, at)), "minutes", `${minutes.why}.`);
  }
  return {
    ...(surface === "" ? {} : { surface: surface.replace(" ", "-") }),
    ...(minutes === null || "why" in minutes || minutes.value === null
      ? {}
      : { minutes: minutes.value }),
    ...(blind === "" ? {} : { blind }),
  };
}

function shoeIn(open: OpenSheet, bench: Bench, r: number) {
  const [id, name] = [open.at("shoe id"), open.at("shoe", "shoes")];
  return found(
    open,
    r,
    id ?? name,
    "shoe",
    () => findShoe(bench, open.text(r, id) || open.text(r, name)),
  );
}

/** What a name finds; one that finds nothing is a problem of its cell. */
function found<T>(
  open: OpenSheet,
  r: number | null,
  column: number | null,
  kind: string,
  find: () => T,
): T | null {
  try {
    return find();
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    const typed = r === null ? open.headers[column!] : open.text(r, column);
    const fix = `${error.message} A sheet of another bench belongs to that one's folder.`;
    open.report(r, column, quoted(typed), `a ${kind} of this bench`, fix);
    return null;
  }
}

/** The first thing that stands under a header: what a sheet says once holds for all of it. */
function firstOf(open: OpenSheet, name: string): string | null {
  const at = open.at(name);
  const row = open.body.find((r) => open.text(r, at) !== "");
  return row === undefined ? null : open.text(row, at);
}

function sessionOf(
  open: OpenSheet,
  said: SessionSaid,
): Readonly<Record<string, string | number>> | null {
  const date = firstOf(open, "date") ?? said.date ?? "";
  const operator = firstOf(open, "operator") ?? said.operator ?? "";
  const rig = firstOf(open, "rig") ?? said.rig ?? "";
  if (!isCalendarDate(date)) {
    const fix = "Say it with --date, or in the sheet's date column.";
    open.report(
      null,
      "date",
      date === "" ? "no day" : quoted(date),
      "a day such as 2026-07-14",
      fix,
    );
  }
  if (operator === "") {
    const fix = "Say it with --operator, or in the sheet's operator column; initials will do.";
    open.report(null, "operator", "nobody", "who worked the bench", fix);
  }
  if (!isCalendarDate(date) || operator === "") return null;
  const number = (name: string, given: number | undefined) => {
    const text = firstOf(open, name);
    const value = text === null ? given : Number(text.replace(",", "."));
    if (value === undefined || Number.isFinite(value)) return value;
    open.report(null, name, quoted(text!), "a number");
    return undefined;
  };
  const temperature = number("temperature c", said.temperature_c);
  const humidity = number("humidity pct", said.humidity_pct);
  const parts = [date, slugOf(operator) || operator, ...(rig === "" ? [] : [slugOf(rig) || rig])];
  return {
    session_id: parts.join("-"),
    date,
    operator,
    ...(rig === "" ? {} : { rig }),
    ...(temperature === undefined ? {} : { temperature_c: temperature }),
    ...(humidity === undefined ? {} : { humidity_pct: humidity }),
  };
}
