import type { z } from "zod";
import { unitAdvice } from "./cells.ts";
import { readCsvTable, type TableRead } from "./csv_table.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import { rowProblems } from "./row_problems.ts";
import { seriesSchema } from "./schemas.ts";
import type { Problem, Series, TableCounts } from "./types.ts";
import { convert, sameDimension, unitOf } from "./units.ts";

const FILE = "series.csv";

/** What `series.csv` gave: readings of many points, in the order of their first points. */
type SeriesRead = {
  readonly series: readonly Series[];
  readonly counts: TableCounts;
  readonly table: TableRead;
};

type Point = { readonly at: number; readonly value: number };

/** A series while its points come in. */
type Growing = Omit<Series, "at" | "values" | "excluded"> & {
  readonly points: Point[];
  lastAt: number | null;
  reason: string | null;
};

type Row = z.output<typeof seriesSchema>;

/**
 * Reads `series.csv`, joins the points of each reading in the order they stand there, and checks them.
 *
 * Every series of one id has units of the same two dimensions, each reading those of its first point. Time only
 * goes forward; a load or a deflection may come back. A lost or excluded point is left out of its reading.
 */
export async function readSeries(
  path: string,
  { sessions, shoes, excused }: {
    readonly sessions: readonly string[];
    readonly shoes: readonly string[];
    /** Ids whose own row or file has errors already. */
    readonly excused: Readonly<Record<"session" | "shoe", (id: string) => boolean>>;
  },
  onProblem: (problem: Problem) => void,
): Promise<SeriesRead> {
  const known = { session: new Set(sessions), shoe: new Set(shoes) };
  const growing = new Map<string, Growing>();
  const firstOfId = new Map<string, Growing>();
  const counts = { kept: 0, missing: 0, excluded: 0 };

  const take = (row: Row, line: number, fault: Fault): void => {
    if (!known.session.has(row.session_id)) {
      if (excused.session(row.session_id)) return;
      const fix = didYouMean(row.session_id, sessions, "Add the session to sessions.csv.");
      return fault("session_id", quoted(row.session_id), "a session of sessions.csv", fix);
    }
    if (!known.shoe.has(row.shoe_id)) {
      if (excused.shoe(row.shoe_id)) return;
      const fix = didYouMean(row.shoe_id, shoes, "Add the shoe to shoes.csv.");
      return fault("shoe_id", quoted(row.shoe_id), "a shoe of shoes.csv", fix);
    }
    const units = unitsOf(row, firstOfId.get(row.series_id), fault);
    if (units === null) return;
    const key = JSON.stringify([row.session_id, row.shoe_id, row.series_id, row.pair, row.trial]);
    const one = growing.get(key) ?? started(row, units, line);
    growing.set(key, one);
    if (!firstOfId.has(row.series_id)) firstOfId.set(row.series_id, one);
    if (row.at === null) {
      return fault(
        "at",
        "nothing",
        "the time, load or angle of the point",
        "Take the row away, if lost.",
      );
    }
    const at = convert(row.at, row.at_unit, one.at_unit);
    if (unitOf(one.at_unit)?.dimension === "time" && one.lastAt !== null && at <= one.lastAt) {
      const earlier = convert(one.lastAt, one.at_unit, row.at_unit);
      const expected = `a time after the point before it, ${Number(earlier.toPrecision(6))}`;
      return fault("at", quoted(`${row.at} ${row.at_unit}`), expected, "Put the points in order.");
    }
    one.lastAt = at;
    if (row.excluded !== null) {
      counts.excluded++;
      one.reason ??= row.excluded;
    } else if (row.value === null) counts.missing++;
    else {
      counts.kept++;
      one.points.push({ at, value: convert(row.value, row.unit, one.unit) });
    }
  };

  const table = await readCsvTable(path, FILE, seriesSchema.shape, (cells, line) => {
    const parsed = seriesSchema.safeParse(cells);
    if (!parsed.success) {
      for (const problem of rowProblems(FILE, line, cells, parsed.error)) onProblem(problem);
      return;
    }
    take(
      parsed.data,
      line,
      (column, found, expected, fix = "") =>
        onProblem({ file: FILE, line, column, found, expected, fix, severity: "error" }),
    );
  }, onProblem);
  return {
    series: [...growing.values()].map(({ points, reason, lastAt: _, ...one }) => ({
      ...one,
      at: points.map(({ at }) => at),
      values: points.map(({ value }) => value),
      excluded: points.length === 0 ? reason : null,
    })),
    counts: { read: table.rows, ...counts },
    table,
  };
}

type Fault = (column: string, found: string, expected: string, fix?: string) => void;
type Units = Pick<Series, "at_unit" | "unit">;

/** The units of a point, known and of the dimensions that its series has; null after a problem. */
function unitsOf(row: Row, first: Units | undefined, fault: Fault): Units | null {
  for (const column of ["at_unit", "unit"] as const) {
    if (unitOf(row[column]) === null) {
      fault(column, quoted(row[column]), "a known unit", unitAdvice(row[column]));
      return null;
    }
    if (first !== undefined && !sameDimension(row[column], first[column])) {
      const dimension = unitOf(first[column])?.dimension;
      const expected = `a unit of ${dimension}, as ${row.series_id} is in ${first[column]}`;
      fault(column, quoted(row[column]), expected, "Correct the unit or the series_id.");
      return null;
    }
  }
  return { at_unit: unitOf(row.at_unit)!.code, unit: unitOf(row.unit)!.code };
}

function started(
  { session_id, shoe_id, series_id, trial, pair }: Row,
  units: Units,
  line: number,
): Growing {
  return {
    session_id,
    shoe_id,
    series_id,
    trial,
    pair,
    ...units,
    line,
    points: [],
    lastAt: null,
    reason: null,
  };
}
