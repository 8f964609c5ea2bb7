import { mean } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";

/** A change of method that the tables do not show, such as a new abrasive paper. */
export type MethodChange = {
  readonly metric: string;
  readonly date: string;
  readonly what: string;
};

/** One thing by which a bench may read the same shoe differently: a rig, time on a rig, a change of method. */
export type RigTimeTerm =
  | { readonly id: string; readonly kind: "rig"; readonly rig: string }
  | { readonly id: string; readonly kind: "slope"; readonly rig: string }
  | { readonly id: string; readonly kind: "step"; readonly date: string; readonly what: string };

/** Which of these things the shoes that came back tell apart. */
export type RigTime = {
  /** The level that others are told against: the rig and the day of the first visit that counts. */
  readonly origin: { readonly rig: string; readonly date: string };
  readonly terms: readonly RigTimeTerm[];
  /** Those that no shoe links, or that can't be told from the others. */
  readonly unlinked: readonly RigTimeTerm[];
  /** Sessions and shoes that link them. */
  readonly sessions: number;
  readonly shoes: number;
};

const YEAR = 365.25 * 86400000;

/** A line over time needs this many sessions on its rig, else it is a step between two days. */
const FEWEST_FOR_SLOPE = 4;

/** What a sessions table without rigs calls its one rig. */
const ONLY_RIG = "the bench";

/**
 * Which differences between rigs and days can a bench tell from differences between shoes?
 *
 * Only by shoes that were benched in two sessions or more: reference shoes, and any that came back. A rig,
 * a change of method, or a slope over time on a rig counts where their own readings, each taken from
 * the shoe's level, tell it apart. Nothing is learnt from shoes seen once: newer ones may well be better.
 */
export function rigTime(visits: readonly Visit[], changes: readonly MethodChange[] = []): RigTime {
  const linking = revisited(visits);
  const first = visits.toSorted((a, b) => order(a.date, b.date) || order(rigOf(a), rigOf(b)))[0];
  const origin = first === undefined
    ? { rig: ONLY_RIG, date: "" }
    : { rig: rigOf(first), date: first.date };
  const rigs = [...new Set(visits.map(rigOf))].sort(order)
    .toSorted((a, b) => Number(b === origin.rig) - Number(a === origin.rig));
  const wanted: RigTimeTerm[] = [
    ...rigs.slice(1).map((rig) => ({ id: `rig ${rig}`, kind: "rig" as const, rig })),
    ...changes.map(({ date, what }) => ({
      id: `from ${date}`,
      kind: "step" as const,
      date,
      what,
    })),
    ...rigs.map((rig) => ({ id: `years on ${rig}`, kind: "slope" as const, rig })),
  ];
  const about = {
    origin,
    sessions: new Set(linking.map(({ session_id }) => session_id)).size,
    shoes: new Set(linking.map(unitOf)).size,
  };
  const enough = wanted.filter((term) =>
    term.kind !== "slope" ||
    new Set(linking.filter((v) => rigOf(v) === term.rig).map((v) => v.session_id)).size >=
      FEWEST_FOR_SLOPE
  );
  const columns = Object.fromEntries(
    enough.map((term) => [term.id, linking.map((visit) => rigTimeOf(term, visit, origin.date))]),
  );
  const { dropped } = weightedRegression(columns, linking.map(() => 0), {
    within: linking.map(unitOf),
  });
  const terms = linking.length === 0 ? [] : enough.filter(({ id }) => !dropped.includes(id));
  return { ...about, terms, unlinked: wanted.filter((term) => !terms.includes(term)) };
}

/** How much of a term a visit holds: 1 or 0, or the years since the first visit. */
export function rigTimeOf(
  term: RigTimeTerm,
  visit: Pick<Visit, "date" | "rig">,
  origin: string,
): number {
  return term.kind === "step"
    ? visit.date >= term.date ? 1 : 0
    : rigOf(visit) !== term.rig
    ? 0
    : term.kind === "rig"
    ? 1
    : (Date.parse(visit.date) - Date.parse(origin)) / YEAR;
}

/** Visits of pairs that were benched in two sessions or more. */
export function revisited(visits: readonly Visit[]): readonly Visit[] {
  const byUnit = Map.groupBy(visits, unitOf);
  return visits.filter((visit) =>
    new Set(byUnit.get(unitOf(visit))!.map(({ session_id }) => session_id)).size > 1
  );
}

/** A pair of a shoe: what comes back when a shoe comes back. */
export function unitOf({ shoe_id, pair }: Pick<Visit, "shoe_id" | "pair">): string {
  return JSON.stringify([shoe_id, pair]);
}

/** The rig's name, where it has one. */
export function rigOf({ rig }: Pick<Visit, "rig">): string {
  return rig ?? ONLY_RIG;
}

/** Years from the middle of some days. */
export function yearsFromMiddle(dates: readonly string[]): number[] {
  const at = dates.map((date) => Date.parse(date) / YEAR);
  if (at.length === 0) return [];
  const middle = mean(at);
  return at.map((year) => year - middle);
}

/** In order of time, sessions of one day by their id. */
export function byTime(a: Visit, b: Visit): number {
  return order(a.date, b.date) || order(a.session_id, b.session_id);
}

function order(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
