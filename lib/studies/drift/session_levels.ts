import { mean } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";
import { byTime } from "./rig_time.ts";

/** How far a session reads the reference shoes above their own levels. */
export type SessionLevel = {
  readonly date: string;
  readonly rig: string | null;
  readonly operator: string;
  readonly value: number;
  readonly references: number;
};

/**
 * How far does each session read above the level of the reference shoes?
 *
 * Shoes' levels are taken out by least squares with a level for every session, so that a shoe that
 * missed some sessions does not pass for a change of the bench.
 */
export function sessionLevels(visits: readonly Visit[]): readonly SessionLevel[] {
  const rows = visits.toSorted(byTime).map((visit) => ({
    visit,
    value: momentsOf(visit.values).mean,
  }));
  const shoes = [...new Set(rows.map(({ visit }) => visit.shoe_id))].sort();
  const sessions = [...new Set(rows.map(({ visit }) => visit.session_id))];
  const first = new Map(
    shoes.map((shoe) => [shoe, rows.find(({ visit }) => visit.shoe_id === shoe)!.value]),
  );
  const shift = new Map(shoes.map((shoe) => [shoe, 0]));
  if (shoes.length > 1) {
    const columns: Record<string, number[]> = {};
    for (const shoe of shoes) {
      columns[`shoe ${shoe}`] = rows.map(({ visit }) => visit.shoe_id === shoe ? 1 : 0);
    }
    const levels = weightedRegression(
      columns,
      rows.map(({ visit, value }) => value - first.get(visit.shoe_id)!),
      { within: rows.map(({ visit }) => visit.session_id) },
    );
    for (const shoe of shoes) shift.set(shoe, levels.coefficient(`shoe ${shoe}`) ?? 0);
  }
  const bySession = Map.groupBy(rows, ({ visit }) => visit.session_id);
  return sessions.map((id): SessionLevel => {
    const own = bySession.get(id)!;
    const { date, rig, operator } = own[0].visit;
    return {
      date,
      rig,
      operator,
      value: mean(
        own.map(({ visit, value }) =>
          value - first.get(visit.shoe_id)! - shift.get(visit.shoe_id)!
        ),
      ),
      references: own.length,
    };
  });
}
