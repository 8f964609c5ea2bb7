import * as option from "../options.ts";
import { isCalendarDate } from "./dates.ts";
import type { Bench } from "./types.ts";

/**
 * In which quarter of the year is a day?
 *
 * @throws {RangeError} if the text is no day of the calendar
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { records } from "bench-to-court";
 * assert.equal(records.quarterOf("2026-07-14"), "2026Q3");
 * assert.equal(records.quarterEnd("2026Q3"), "2026-09-30");
 * ```
 */
export function quarterOf(date: string): string {
  if (!isCalendarDate(date)) {
    throw new RangeError(
      `Cannot tell the quarter of ${JSON.stringify(date)}: give it as 2026-07-14`,
    );
  }
  return `${date.slice(0, 4)}Q${Math.ceil(Number(date.slice(5, 7)) / 3)}`;
}

/** First day of a quarter such as `2026Q3`. */
export function quarterStart(quarter: string): string {
  const { year, number } = partsOf(quarter);
  return `${padded(year, 4)}-${padded(number * 3 - 2, 2)}-01`;
}

/** Last day of a quarter such as `2026Q3`. */
export function quarterEnd(quarter: string): string {
  const { year, number } = partsOf(quarter);
  return `${padded(year, 4)}-${["03-31", "06-30", "09-30", "12-31"][number - 1]}`;
}

/** The quarter before one such as `2026Q3`. */
export function previousQuarter(quarter: string): string {
  const { year, number } = partsOf(quarter);
  return number === 1 ? `${padded(year - 1, 4)}Q4` : `${padded(year, 4)}Q${number - 1}`;
}

/**
 * The latest quarter in which a trial or an impression was taken; null when there is none.
 *
 * @param options.today days after it are slips of the pen and pass, unless there are no others
 */
export function lastQuarterWithData(
  { trials, sessions, impressions }: Pick<Bench, "trials" | "sessions" | "impressions">,
  { today = "9999-12-31" }: { readonly today?: string } = {},
): string | null {
  option.check("records.lastQuarterWithData", arguments[1], { today: option.text });
  const withTrials = new Set(trials.map(({ session_id }) => session_id));
  const days = [
    ...sessions.filter(({ session_id }) => withTrials.has(session_id)),
    ...impressions,
  ].map(({ date }) => date).sort();
  const last = days.findLast((day) => day <= today) ?? days.at(-1);
  return last === undefined ? null : quarterOf(last);
}

/**
 * What did this bench know on a day?
 *
 * Sessions, trials, impressions, rules, proposals, checked features, calibrations and metrics up to and
 * including that day, and the shoes that were known by then: those benched, rated or checked so far, or
 * released by then and never met later. Warnings stay with the readings they are about. A correction to the
 * reference shoes counts from the day of its decision, where `decisions.csv` has one. What bears no date of
 * its own stays: testers, settings, features whose day of checking is not known. A feature
 * checked later is left out, since nobody had looked.
 *
 * @param date such as `2026-09-30`
 * @returns a new bench; the one given is not changed
 * @throws {RangeError} if `date` is no day of the calendar
 */
export function benchUntil(bench: Bench, date: string): Bench {
  if (!isCalendarDate(date)) {
    throw new RangeError(`Cannot cut the bench at ${JSON.stringify(date)}: give it as 2026-07-14`);
  }
  const sessions = bench.sessions.filter((session) => session.date <= date);
  const decisions = bench.decisions.filter((decision) => decision.date <= date);
  const withdrawnLater = decidedLater(bench, decisions, "metric withdrawn");
  const metrics = bench.metrics.filter(({ introduced }) => introduced <= date)
    .map((metric) => withdrawnLater.has(metric.id) ? { ...metric, withdrawn: null } : metric);
  const sessionIds = new Set(sessions.map(({ session_id }) => session_id));
  const metricIds = new Set(metrics.map(({ id }) => id));
  const cut = {
    sessions,
    metrics,
    trials: bench.trials.filter((trial) =>
      sessionIds.has(trial.session_id) && metricIds.has(trial.metric_id)
    ),
    series: bench.series.filter(({ session_id }) => sessionIds.has(session_id)),
    impressions: bench.impressions.filter((impression) => impression.date <= date),
    rules: bench.rules.filter(({ effective }) => effective <= date),
    proposals: bench.proposals.filter(({ asked_on }) => asked_on <= date),
    registrations: bench.registrations.filter(({ registered_on }) => registered_on <= date),
    decisions,
    features: bench.features.filter(({ checked_on }) => checked_on === null || checked_on <= date),
    calibrations: bench.calibrations.filter((check) => check.date <= date),
  };
  const known = shoesKnown(bench, cut, date);
  const later = new Set([
    ...linesCut("trials.csv", bench.trials, cut.trials),
    ...linesCut("impressions.csv", bench.impressions, cut.impressions),
  ]);
  return {
    ...bench,
    ...cut,
    settings: settingsOn(bench, decisions),
    shoes: bench.shoes.filter(({ shoe_id }) => known.has(shoe_id)),
    features: cut.features.filter(({ shoe_id }) => known.has(shoe_id)),
    pairs: bench.pairs.filter(({ shoe_id, acquired }) =>
      known.has(shoe_id) && (acquired === null || acquired <= date)
    ),
    warnings: bench.warnings.filter(({ file, line }) => !later.has(`${file}:${line}`)),
  };
}

/** The settings without corrections that were decided on later. */
function settingsOn(bench: Bench, taken: Bench["decisions"]): Bench["settings"] {
  const later = decidedLater(bench, taken, "correction");
  const corrected_metrics = bench.settings.corrected_metrics.filter((id) => !later.has(id));
  return corrected_metrics.length === bench.settings.corrected_metrics.length
    ? bench.settings
    : { ...bench.settings, corrected_metrics };
}

/** What such a decision was taken about, but not by then. */
function decidedLater(
  { decisions }: Pick<Bench, "decisions">,
  taken: Bench["decisions"],
  kind: Bench["decisions"][number]["kind"],
): ReadonlySet<string> {
  const about = (rows: Bench["decisions"]) =>
    new Set(rows.filter((decision) => decision.kind === kind).map(({ about }) => about));
  const yet = about(taken);
  return new Set([...about(decisions)].filter((id) => !yet.has(id)));
}

/** Shoes met by the day, and those never met at all that were on sale by then. */
function shoesKnown(
  bench: Bench,
  cut: Pick<Bench, "trials" | "impressions" | "features">,
  date: string,
): Set<string> {
  const met = ({ trials, impressions, features }: typeof cut) =>
    new Set(
      [...trials, ...impressions, ...features.filter(({ checked_on }) => checked_on !== null)]
        .map(({ shoe_id }) => shoe_id),
    );
  const [ever, byThen] = [met(bench), met(cut)];
  return new Set(
    bench.shoes.filter(({ shoe_id, released }) =>
      byThen.has(shoe_id) || (!ever.has(shoe_id) && (released === null || released <= date))
    ).map(({ shoe_id }) => shoe_id),
  );
}

/** Places of rows that the cut took away. */
function linesCut(
  file: string,
  all: readonly { readonly line: number }[],
  kept: readonly { readonly line: number }[],
): string[] {
  const lines = new Set(kept.map(({ line }) => line));
  return all.filter(({ line }) => !lines.has(line)).map(({ line }) => `${file}:${line}`);
}

function partsOf(quarter: string): { readonly year: number; readonly number: number } {
  const parts = /^(\d{4})Q([1-4])$/.exec(quarter);
  if (!parts) {
    throw new RangeError(`Cannot read the quarter ${JSON.stringify(quarter)}: give it as 2026Q3`);
  }
  return { year: Number(parts[1]), number: Number(parts[2]) };
}

function padded(number: number, width: number): string {
  return String(number).padStart(width, "0");
}
