import type { Visit } from "../../records/selection.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { fUpper } from "../../statistics/distributions.ts";
import type { Reason } from "../../statistics/reason.ts";
import {
  type RegressionColumns,
  weightedRegression,
} from "../../statistics/weighted_regression.ts";
import { byTime, yearsFromMiddle } from "./rig_time.ts";

/**
 * Do the reference shoes change at different rates?
 *
 * F test of slopes of their own against none, among shoes of the same session, where what the bench does
 * cancels.
 */
export function referencesDiffer(
  visits: readonly Visit[],
): { readonly p: number | null; readonly reason: Reason | null } {
  const shoes = [...new Set(visits.map(({ shoe_id }) => shoe_id))].sort();
  if (shoes.length < 2) return { p: null, reason: { code: "one-reference" } };
  const sessions = Map.groupBy(visits, ({ session_id }) => session_id);
  const rows = visits.filter(({ session_id }) =>
    new Set(sessions.get(session_id)!.map(({ shoe_id }) => shoe_id)).size > 1
  ).toSorted(byTime);
  const common = new Set(rows.map(({ session_id }) => session_id)).size;
  if (common < 3) return { p: null, reason: { code: "few-shared-sessions", found: common } };
  const first = new Map(
    shoes.map((shoe) => {
      const own = rows.find(({ shoe_id }) => shoe_id === shoe);
      return [shoe, own === undefined ? 0 : momentsOf(own.values).mean];
    }),
  );
  const y = rows.map(({ shoe_id, values }) => momentsOf(values).mean - first.get(shoe_id)!);
  const time = yearsFromMiddle(rows.map(({ date }) => date));
  const levels: Record<string, readonly number[]> = {};
  for (const shoe of shoes) {
    levels[`shoe ${shoe}`] = rows.map(({ shoe_id }) => shoe_id === shoe ? 1 : 0);
  }
  const slopes: RegressionColumns = Object.fromEntries(
    shoes.slice(1).map((shoe) => [
      `slope ${shoe}`,
      time.map((t, i) => rows[i].shoe_id === shoe ? t : 0),
    ]),
  );
  const within = rows.map(({ session_id }) => session_id);
  const plain = weightedRegression(levels, y, { within });
  const sloped = weightedRegression({ ...levels, ...slopes }, y, { within });
  const extra = plain.freedom - sloped.freedom;
  if (extra < 1 || sloped.freedom < 1) {
    return { p: null, reason: { code: "few-shared-sessions", found: common } };
  }
  const largest = Math.max(...y.map(Math.abs));
  if (sloped.residualSquares <= y.length * (8 * Number.EPSILON * largest) ** 2) {
    return { p: null, reason: { code: "no-noise", of: "fit" } };
  }
  const f = (plain.residualSquares - sloped.residualSquares) / extra /
    (sloped.residualSquares / sloped.freedom);
  return { p: fUpper(Math.max(0, f), extra, sloped.freedom), reason: null };
}
