import type { Visit } from "../../records/selection.ts";

/**
 * Which readings repeat one and the same thing?
 *
 * A visit is of one pair; where its left and right shoe were read, each is a run of its own, since two shoes are no
 * repeats of one.
 */
export function visitRuns(visits: readonly Visit[]): readonly Visit[] {
  return visits.flatMap((visit) => {
    const sides = [...Map.groupBy(visit.trials.keys(), (i) => visit.trials[i].side).values()];
    return sides.length < 2 ? [visit] : sides.map((places) => ({
      ...visit,
      trials: places.map((i) => visit.trials[i]),
      values: places.map((i) => visit.values[i]),
    }));
  });
}

/** The same, but left and right stay together where one of them was read less than three times. */
export function longRuns(visits: readonly Visit[]): readonly Visit[] {
  return visits.flatMap((visit) => {
    const runs = visitRuns([visit]);
    return runs.every(({ trials }) => trials.length >= 3) ? runs : [visit];
  });
}
