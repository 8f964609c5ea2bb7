import type { Bench } from "./types.ts";

/**
 * Which quarter does a day lie in?
 *
 * @param date an ISO date such as `2026-07-14`
 * @returns such as `2026Q3`
 * @throws {RangeError} if it is not written as an ISO date
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { quarterOf } from "bench-to-court";
 * assert.equal(quarterOf("2026-07-14"), "2026Q3");
 * ```
 */
export function quarterOf(date: string): string {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(date)) {
    throw new RangeError(`"${date}" is not a date; expected one like 2026-07-14`);
  }
  return `${date.slice(0, 4)}Q${Math.ceil(Number(date.slice(5, 7)) / 3)}`;
}

/** The first day of a quarter. @throws {RangeError} if it is not written like `2026Q3` */
export function quarterStart(quarter: string): string {
  const { year, number } = parts(quarter);
  return `${year}-${String(number * 3 - 2).padStart(2, "0")}-01`;
}

/** The last day of a quarter. @throws {RangeError} if it is not written like `2026Q3` */
export function quarterEnd(quarter: string): string {
  const { year, number } = parts(quarter);
  return `${year}-${["03-31", "06-30", "09-30", "12-31"][number - 1]}`;
}

/** The quarter before. @throws {RangeError} if it is not written like `2026Q3` */
export function previousQuarter(quarter: string): string {
  const { year, number } = parts(quarter);
  return number === 1 ? `${year - 1}Q4` : `${year}Q${number - 1}`;
}

function parts(quarter: string): { readonly year: number; readonly number: number } {
  const found = /^(\d{4})Q([1-4])$/.exec(quarter);
  if (found === null) {
    throw new RangeError(`"${quarter}" is not a quarter; expected one like 2026Q3`);
  }
  return { year: Number(found[1]), number: Number(found[2]) };
}

/** The last quarter in which anything was benched; null when there is no session. */
export function lastQuarterWithData(bench: Pick<Bench, "sessions">): string | null {
  const last = bench.sessions.map(({ date }) => date).sort().at(-1);
  return last === undefined ? null : quarterOf(last);
}

/**
 * What did the bench hold at the end of a day?
 *
 * Sessions with their trials, impressions, rules, proposals and feature checks dated later are left
 * out, and so are metrics introduced later. Shoes stay: one that was not yet benched has no value.
 *
 * @param date the last day that counts, such as `2026-09-30`
 */
export function benchUntil(bench: Bench, date: string): Bench {
  const sessions = bench.sessions.filter((session) => session.date <= date);
  const metrics = bench.metrics.filter((metric) => metric.introduced <= date);
  const inTime = new Set(sessions.map(({ session_id }) => session_id));
  const known = new Set(metrics.map(({ id }) => id));
  return {
    ...bench,
    sessions,
    metrics,
    trials: bench.trials.filter((trial) =>
      inTime.has(trial.session_id) && known.has(trial.metric_id)
    ),
    impressions: bench.impressions.filter((row) => row.date <= date),
    features: bench.features.filter(({ checked_on }) => checked_on === null || checked_on <= date),
    rules: bench.rules.filter(({ effective }) => effective <= date),
    proposals: bench.proposals.filter(({ asked_on }) => asked_on <= date),
  };
}
