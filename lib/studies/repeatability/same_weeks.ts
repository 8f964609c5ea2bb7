import type { Visit } from "../../records/selection.ts";
import { unitOf } from "../drift/rig_time.ts";

/** One pair of a shoe, benched by both within a few weeks. */
export type SameWeeks = { readonly a: Visit; readonly b: Visit; readonly days: number };

const DAY = 86400000;

/**
 * Which visits of a pair by one rig or operator have one by the other in the same weeks?
 *
 * Nearest first, each visit once: what a bench does over a year is then no part of their difference.
 *
 * @param days how far apart two visits may lie
 */
export function sameWeeks(
  a: readonly Visit[],
  b: readonly Visit[],
  days: number,
): readonly SameWeeks[] {
  const others = Map.groupBy(b, unitOf);
  const close = a.flatMap((one) =>
    (others.get(unitOf(one)) ?? []).map((other): SameWeeks => ({
      a: one,
      b: other,
      days: Math.abs(Date.parse(other.date) - Date.parse(one.date)) / DAY,
    }))
  ).filter((match) => match.days <= days);
  const used = new Set<Visit>();
  const kept: SameWeeks[] = [];
  for (const match of close.toSorted((x, y) => x.days - y.days || order(x, y))) {
    if (used.has(match.a) || used.has(match.b)) continue;
    used.add(match.a).add(match.b);
    kept.push(match);
  }
  return kept.toSorted(order);
}

/** The two sessions, whose luck all their shoes share. */
export function occasion({ a, b }: SameWeeks): string {
  return `${a.session_id} ${b.session_id}`;
}

/** By day, then by shoe, whatever the order of rows. */
function order(x: SameWeeks, y: SameWeeks): number {
  const key = ({ a, b }: SameWeeks) =>
    `${a.date} ${b.date} ${a.session_id} ${b.session_id} ${unitOf(a)}`;
  return key(x) < key(y) ? -1 : 1;
}
