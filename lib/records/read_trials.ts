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
  const sessionAt = places(sessions.map(({ session_id }) => session_id));
  const shoeAt = places(shoes.map(({ shoe_id }) => shoe_id));
  const metricAt = places(metrics.map(({ id }) => id));
  const sessionIds = sessions.map(({ session_id }) => session_id);
  const shoeIds = shoes.map(({ shoe_id }) => shoe_id);
  const conversions = metrics.map((metric) => unitReader(metric));
  const keep = keepOnce();
  const keys = rowKeys((a, b) => sameKey(trials[a], trials[b]));
  const excludedNos: { line: number; text: string }[] = [];
  const early = new Map<Metric, { line: number; date: string }>();
  let kept = 0;
  let missing = 0;
  let excludedRows = 0;

  const cellProblem = (line: number, column: string, found: string, expected: string, fix = "") =>
    onProblem({ file: FILE, line, column, found, expected, fix, severity: "error" });

  const tables = {
    session: { file: "sessions.csv", names: sessionIds },
    shoe: { file: "shoes.csv", names: shoeIds },
    metric: { file: "metrics.json", names: metrics.map(({ id }) => id) },
  };
  const unknownName = (line: number, kind: keyof typeof tables, name: string): void => {
    if (excused[kind](name)) return;
    const { file, names } = tables[kind];
    const fix = didYouMean(name, names, `Add the ${kind} to ${file}.`);
    cellProblem(line, `${kind}_id`, quoted(name), `a ${kind} of ${file}`, fix);
  };

  const readRow = rowReader(trialSchema.shape);
  const onRow: OnRow<typeof trialSchema.shape> = (cells, line) => {
    const { row, issues } = readRow(cells);
    if (issues.length > 0) {
      for (const problem of rowProblems(FILE, line, cells, { issues })) onProblem(problem);
      return;
    }
    const session = sessionAt(row.session_id);
    const shoe = shoeAt(row.shoe_id);
    const metric = metricAt(row.metric_id);
    let good = session >= 0 && shoe >= 0;
    if (session < 0) unknownName(line, "session", row.session_id);
    if (shoe < 0) unknownName(line, "shoe", row.shoe_id);
    if (metric < 0) return unknownName(line, "metric", row.metric_id);
    const about = metrics[metric];
    if (about.derive !== null) {
      const expected = "a metric that is read on the bench";
      const fix = `It is computed from ${
        [about.derive.from].flat().join(" and ")
      }: take the row away, or derive out.`;
      cellProblem(line, "metric_id", quoted(row.metric_id), expected, fix);
      return;
    }
    const convertUnit = conversions[metric](row.unit);
    if (typeof convertUnit !== "function") {
      cellProblem(line, "unit", quoted(row.unit), convertUnit.expected, convertUnit.fix);
      return;
    }
    const { value, bound, given } = readingOf(row.value, convertUnit);
    const { low, high } = about.plausible;
    const seen = value ?? (bound === null ? null : "below" in bound ? bound.below : bound.above);
    if (seen !== null && row.excluded === null && !(seen >= low && seen <= high)) {
      good = false;
      const expected = `${low} to ${high} ${about.unit}, what is plausible for ${about.id}`;
      const fix = "Correct it, or exclude it with a reason.";
      cellProblem(line, "value", quoted(`${cells.value.trim()} ${row.unit}`), expected, fix);
    }
    if (!good) return;

    const index = trials.length;
    trials.push({
      session_id: sessionIds[session],
      shoe_id: shoeIds[shoe],
      metric_id: about.id,
      trial: row.trial,
      value,
      bound,
      given_value: given,
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
      trials.pop();
      const found = `trial ${row.trial} of ${row.shoe_id}, ${row.metric_id}, ${row.session_id}` +
        (row.pair === 1 ? "" : `, pair ${row.pair}`) + (row.side === null ? "" : `, ${row.side}`) +
        " again";
      const expected = `one row a key (the first is on line ${trials[earlier].line})`;
      const fix = "Number the trials on, or take one of the two away.";
      cellProblem(line, "trial", found, expected, fix);
      return;
    }
    if (row.excluded !== null) {
      excludedRows++;
      if (/^\W*(no?|false|0|nein|non)?\W*$/i.test(row.excluded)) {
        excludedNos.push({ line, text: row.excluded });
      }
    }
    if (seen === null) missing++;
    if (seen !== null && row.excluded === null) kept++;
    if (sessions[session].date < about.introduced && !early.has(about)) {
      early.set(about, { line, date: sessions[session].date });
    }
  };

  const table = await readCsvTable(path, FILE, trialSchema.shape, onRow, onProblem);
  warnOfOddRows(excludedNos, early, onProblem);
  const counts = { read: table.rows, kept, missing, excluded: excludedRows };
  return { trials, counts, table };
}

type Early = ReadonlyMap<Metric, { readonly line: number; readonly date: string }>;

/** What is odd about rows that are read all the same: a "no" for a reason, a reading before its metric began. */
function warnOfOddRows(
  excludedNos: readonly { readonly line: number; readonly text: string }[],
  early: Early,
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

/** A cell's number or bound in the metric's unit; `given` is the number as the file has it. */
function readingOf(
  cell: number | null | { readonly below: number } | { readonly above: number },
  convert: (value: number) => number,
): Pick<Trial, "value" | "bound"> & { readonly given: number | null } {
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
