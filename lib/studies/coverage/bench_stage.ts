import { keptTrials, visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";

/** How far a bench has come: what it holds, and what it still lacks to say more. */
export type BenchStage = {
  readonly shoes: number;
  /** Shoes with a reading that counts. */
  readonly read: number;
  /** Metrics with a reading that counts. */
  readonly metrics: readonly string[];
  /** Metrics of which no shoe was read twice in a session: their noise is not known. */
  readonly single: readonly string[];
  /** Metrics of which no shoe was benched in two sessions: what changes from day to day is not known. */
  readonly one_day: readonly string[];
  /** Metrics whose direction nobody has said: no best can be named on them. */
  readonly undirected: readonly string[];
  /** What testers are asked. */
  readonly attributes: number;
  readonly ratings: number;
  readonly rated: number;
  readonly references: number;
};

/** What does the bench hold, and which of its metrics have no known noise? */
export function benchStage(bench: Bench): BenchStage {
  const read = new Set<string>();
  const [metrics, single, oneDay]: string[][] = [[], [], []];
  for (const { id } of bench.metrics) {
    const visits = visitsOf(bench, id);
    if (visits.length === 0) continue;
    metrics.push(id);
    for (const { shoe_id } of visits) read.add(shoe_id);
    if (!visits.some(({ values }) => values.length > 1)) single.push(id);
    const shoes = visits.map(({ shoe_id }) => shoe_id);
    if (new Set(shoes).size === shoes.length) oneDay.push(id);
  }
  const ratings = bench.impressions.filter(({ rating }) => rating !== null);
  return {
    shoes: bench.shoes.length,
    read: read.size,
    metrics,
    single,
    one_day: oneDay,
    undirected: bench.metrics.filter(({ id, better }) => better === "none" && metrics.includes(id))
      .map(({ id }) => id),
    attributes: bench.settings.attributes.length,
    ratings: ratings.length,
    rated: new Set(ratings.map(({ shoe_id }) => shoe_id)).size,
    references:
      bench.settings.reference_shoes.filter((shoe_id) =>
        bench.shoes.some((shoe) => shoe.shoe_id === shoe_id)
      ).length,
  };
}

/** Is the noise of a metric unknown, so that a pilot has to come first? */
export function isUnrepeated(bench: Bench, metric: string): boolean {
  const seen = new Set<string>();
  return !keptTrials(bench, metric).some(({ session_id, shoe_id, pair, side }) => {
    const key = [session_id, shoe_id, pair, side].join("\0");
    if (seen.has(key)) return true;
    seen.add(key);
    return false;
  });
}
