import { rowReader, unitAdvice } from "./cells.ts";
import { type OnRow, readCsvTable, type TableRead } from "./csv_table.ts";
import { quoted } from "./problem.ts";
import { rowProblems } from "./row_problems.ts";
import { finishHash, mixHash, rowKeys } from "./row_keys.ts";
import { trialSchema } from "./schemas.ts";
import { nearestName } from "../similar_names.ts";
import type { Metric, Problem, Session, Shoe, TableCounts, Trial } from "./types.ts";
import { converter, sameDimension, unitOf } from "./units.ts";

const FILE = "trials.csv";

/** What `trials.csv` gave: every row that could be read, in the file's order. */
type TrialsRead = {
  readonly trials: Trial[];
  readonly counts: TableCounts;
  readonly table: TableRead;
};

/**
 * Reads `trials.csv`, checks each row against the other tables and converts it to its metric's unit.
 *
 * Built for a million rows: texts that recur are kept once, keys are compared through a hash table
 * of row numbers, and units are looked up once per metric and spelling.
 */
export async function readTrials(
  path: string,
  { metrics, shoes, sessions, excused }: {
    readonly metrics: readonly Metric[];
    readonly shoes: readonly Shoe[];
    readonly sessions: readonly Session[];
    /** Ids whose own row or file has errors already, so that they are not reported again here. */
    readonly excused: Readonly<Record<"session" | "shoe" | "metric", (id: string) => boolean>>;
  },
  onProblem: (problem: Problem) => void,
): Promise<TrialsRead> {
  const trials: Trial[] = [];
  const cellProblem: CellProblem = (line, column, found, expected, fix) =>
    onProblem({ file: FILE, line, column, found, expected, fix, severity: "error" });
  const shoeIds = shoes.map(({ shoe_id }) => shoe_id);
  const sessionIds = sessions.map(({ session_id }) => session_id);
  const placeOf = {
    session: placeFinder("session", "sessions.csv", sessionIds, excused.session, cellProblem),
    shoe: placeFinder("shoe", "shoes.csv", shoeIds, excused.shoe, cellProblem),
    metric: placeFinder(
      "metric",
      "metrics.json",
      metrics.map(({ id }) => id),
      excused.metric,
      cellProblem,
    ),
  };
  const readReading = readingReader(metrics, cellProblem);
  const keep = keepOnce();
  const keys = rowKeys((a, b) => sameKey(trials[a], trials[b]));
  const odd: OddRows = { excludedNos: [], early: new Map() };
  let kept = 0;
  let missing = 0;
  let excludedRows = 0;

  const readRow = rowReader(trialSchema.shape);
  const onRow: OnRow<typeof trialSchema.shape> = (cells, line) => {
    const { row, issues } = readRow(cells);
    if (issues.length > 0) {
      for (const problem of rowProblems(FILE, line, cells, { issues })) onProblem(problem);
      return;
    }
    const session = placeOf.session(row.session_id, line);
    const shoe = placeOf.shoe(row.shoe_id, line);
    const metric = placeOf.metric(row.metric_id, line);
    if (metric < 0) return;
    const about = metrics[metric];
    const reading = readReading(metric, row, cells, line);
    if (reading === null || session < 0 || shoe < 0) return;

    const index = trials.length;
    trials.push({
      session_id: sessionIds[session],
      shoe_id: shoeIds[shoe],
      metric_id: about.id,
      trial: row.trial,
      value: reading.value,
      bound: reading.bound,
      given_value: reading.given,
      given_unit: keep(row.unit),
      pair: row.pair,
      side: row.side,
      hours_played: row.hours_played,
      excluded: row.excluded === null ? null : keep(row.excluded),
      note: row.note === null ? null : keep(row.note),
      line,
    });
    const side = row.side === null ? 0 : row.side === "left" ? 1 : 2;
    let hash = mixHash(mixHash(mixHash(0, session), shoe), metric);
    hash = mixHash(mixHash(mixHash(hash, row.pair), side), row.trial);
    const earlier = keys.add(finishHash(hash), index);
    if (earlier >= 0) {
      reportTwice(trials.pop()!, trials[earlier], cellProblem);
      return;
    }
    const isRead = reading.value !== null || reading.bound !== null;
    if (!isRead) missing++;
    if (row.excluded !== null) excludedRows++;
    else if (isRead) kept++;
    noteOdd(odd, trials[index], about, sessions[session].date);
  };

  const table = await readCsvTable(path, FILE, trialSchema.shape, onRow, onProblem);
  warnOfOddRows(odd, onProblem);
  const counts = { read: table.rows, kept, missing, excluded: excludedRows };
  return { trials, counts, table };
}

type CellProblem = (
  line: number,
  column: string,
  found: string,
  expected: string,
  fix: string,
) => void;

/** Finds a name's place in its table, -1 when it is not there, which is reported unless it is excused. */
function placeFinder(
  kind: "session" | "shoe" | "metric",
  file: string,
  names: readonly string[],
  isExcused: (id: string) => boolean,
  cellProblem: CellProblem,
): (name: string, line: number) => number {
  const placeOf = places(names);
  return (name, line) => {
    const place = placeOf(name);
    if (place < 0 && !isExcused(name)) {
      const fix = didYouMean(name, names, `Add the ${kind} to ${file}.`);
      cellProblem(line, `${kind}_id`, quoted(name), `a ${kind} of ${file}`, fix);
    }
    return place;
  };
}

type Row = ReturnType<ReturnType<typeof rowReader<typeof trialSchema.shape>>>["row"];

/** Reads a row's value in its metric's unit; null where it can't be or isn't plausible, which is reported. */
function readingReader(
  metrics: readonly Metric[],
  cellProblem: CellProblem,
): (metric: number, row: Row, cells: { readonly value: string }, line: number) => Reading | null {
  const conversions = metrics.map((metric) => unitReader(metric));
  return (metric, row, cells, line) => {
    const about = metrics[metric];
    if (about.derive !== null) {
      const expected = "a metric that is read on the bench";
      const fix = `It is computed from ${
        [about.derive.from].flat().join(" and ")
      }: take the row away, or derive out.`;
      cellProblem(line, "metric_id", quoted(row.metric_id), expected, fix);
      return null;
    }
    const convertUnit = conversions[metric](row.unit);
    if (typeof convertUnit !== "function") {
      cellProblem(line, "unit", quoted(row.unit), convertUnit.expected, convertUnit.fix);
      return null;
    }
    const reading = readingOf(row.value, convertUnit);
    const { value, bound } = reading;
    const { low, high } = about.plausible;
    const seen = value ?? (bound === null ? null : "below" in bound ? bound.below : bound.above);
    if (seen !== null && row.excluded === null && !(seen >= low && seen <= high)) {
      const expected = `${low} to ${high} ${about.unit}, what is plausible for ${about.id}`;
      const fix = "Correct it, or exclude it with a reason.";
      cellProblem(line, "value", quoted(`${cells.value.trim()} ${row.unit}`), expected, fix);
      return null;
    }
    return reading;
  };
}

function reportTwice(again: Trial, first: Trial, cellProblem: CellProblem): void {
  const { trial, shoe_id, metric_id, session_id, pair, side, line } = again;
  const found = `trial ${trial} of ${shoe_id}, ${metric_id}, ${session_id}` +
    (pair === 1 ? "" : `, pair ${pair}`) + (side === null ? "" : `, ${side}`) + " again";
  const expected = `one row a key (the first is on line ${first.line})`;
  cellProblem(line, "trial", found, expected, "Number the trials on, or take one of the two away.");
}

/** Rows that are read all the same: a "no" for a reason, a reading before its metric began. */
type OddRows = {
  readonly excludedNos: { line: number; text: string }[];
  readonly early: Map<Metric, { line: number; date: string }>;
};

function noteOdd(odd: OddRows, { line, excluded }: Trial, metric: Metric, date: string): void {
  if (excluded !== null && /^\W*(no?|false|0|nein|non)?\W*$/i.test(excluded)) {
    odd.excludedNos.push({ line, text: excluded });
  }
  if (date < metric.introduced && !odd.early.has(metric)) odd.early.set(metric, { line, date });
}

function warnOfOddRows(
  { excludedNos, early }: OddRows,
  onProblem: (problem: Problem) => void,
): void {
  for (const { line, text } of excludedNos) {
    onProblem({
      file: FILE,
      line,
      column: "excluded",
      found: quoted(text),
      expected: "nothing, or the reason why the trial does not count",
      fix: "The trial is left out as it stands. Clear the cell if it counts.",
      severity: "warning",
    });
  }
  for (const [metric, { line, date }] of early) {
    onProblem({
      file: FILE,
      line,
      column: "session_id",
      found: `a trial of ${metric.id} on ${date}`,
      expected: `none before ${metric.introduced}, the day it was introduced`,
      fix: "Correct the session's date, or introduced in metrics.json.",
      severity: "warning",
    });
  }
}

type Reading = Pick<Trial, "value" | "bound"> & { readonly given: number | null };

/** A cell's number or bound in the metric's unit; `given` is the number as the file has it. */
function readingOf(
  cell: number | null | { readonly below: number } | { readonly above: number },
  convert: (value: number) => number,
): Reading {
  if (cell === null) return { value: null, bound: null, given: null };
  if (typeof cell === "number") return { value: convert(cell), bound: null, given: cell };
  const bound = "below" in cell ? { below: convert(cell.below) } : { above: convert(cell.above) };
  return { value: null, bound, given: null };
}

/** Finds a name's place in a list, -1 when it is not there; of one name twice, the last. */
function places(names: readonly string[]): (name: string) => number {
  const index = new Map(names.map((name, i) => [name, i]));
  let [lastName, lastPlace] = ["", -1];
  return (name) => {
    if (name !== lastName) [lastName, lastPlace] = [name, index.get(name) ?? -1];
    return lastPlace;
  };
}

/** Advice on a name that is not in a list: the one that was probably meant, or what to do otherwise. */
export function didYouMean(name: string, names: readonly string[], otherwise: string): string {
  const near = nearestName(name, names);
  return near === null
    ? otherwise
    : `Write ${near} if that is meant; else ${lowerFirst(otherwise)}`;
}

function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

/** Why a unit can't be read, and what to do. */
type UnitTrouble = { readonly expected: string; readonly fix: string };

/** What turns a unit's readings into the metric's own, or why it can't. */
export function unitReader(
  metric: Metric,
): (unit: string) => ((value: number) => number) | UnitTrouble {
  const known = new Map<string, ((value: number) => number) | UnitTrouble>();
  return (unit) => {
    let answer = known.get(unit);
    if (answer === undefined) {
      if (unitOf(unit) === null) {
        answer = { expected: `a unit of ${dimensionOf(metric)}`, fix: unitAdvice(unit) };
      } else if (!sameDimension(unit, metric.unit)) {
        const expected = `a unit of ${dimensionOf(metric)}, as ${metric.id} is in ${metric.unit}`;
        answer = { expected, fix: "Correct the unit or the metric_id." };
      } else answer = converter(unit, metric.unit);
      known.set(unit, answer);
    }
    return answer;
  };
}

function dimensionOf(metric: Metric): string {
  return unitOf(metric.unit)?.dimension ?? metric.unit;
}

function sameKey(a: Trial, b: Trial): boolean {
  return a.trial === b.trial && a.shoe_id === b.shoe_id && a.session_id === b.session_id &&
    a.metric_id === b.metric_id && a.pair === b.pair && a.side === b.side;
}

/** Keeps one copy of each text, up to a number beyond which they are evidently all different. */
export function keepOnce(): (text: string) => string {
  const seen = new Map<string, string>();
  return (text) => {
    const known = seen.get(text);
    if (known !== undefined) return known;
    if (seen.size < 10_000) seen.set(text, text);
    return text;
  };
}
