import type { Bench, IndexRule, Metric, Session, Trial } from "./types.ts";

/** One pair of a shoe on one metric in one session. */
export type Visit = {
  readonly shoe_id: string;
  readonly pair: number;
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly rig: string | null;
  readonly temperature_c: number | null;
  readonly humidity_pct: number | null;
  /** In the order they were taken: by side and trial number. */
  readonly trials: readonly Trial[];
  /** Their values, in the metric's unit. */
  readonly values: readonly number[];
};

/** What deciding which trials count needs of a bench. */
export type Readings = Pick<Bench, "trials" | "sessions" | "settings">;

/**
 * Which trials of a metric count? Those of new shoes in the published size, with a value that nobody has excluded.
 *
 * A pair that was played in for longer than `fresh_hours` is another thing than a new one: its readings
 * are kept apart (`wornTrials`). Reference shoes are instruments, old as they may be, and always count.
 */
export function keptTrials(bench: Omit<Readings, "sessions">, metric: string): readonly Trial[] {
  return trialsOf(bench, metric).filter((trial) =>
    trial.value !== null && trial.excluded === null && isPublishable(trial, bench.settings)
  );
}

/** Trials by metric, worked out already; they depend on the list alone. */
const known = new WeakMap<readonly Trial[], ReadonlyMap<string, readonly Trial[]>>();

/** A metric's trials in the order of the list: a study asks for each metric in turn, and often. */
function trialsOf({ trials }: Pick<Bench, "trials">, metric: string): readonly Trial[] {
  const byMetric = known.get(trials) ?? Map.groupBy(trials, ({ metric_id }) => metric_id);
  known.set(trials, byMetric);
  return byMetric.get(metric) ?? [];
}

/**
 * Which visits of a metric are those of pairs in another size, kept apart from what is published?
 *
 * Empty for a metric marked `size_free`, whose pairs of all sizes count alike.
 */
export function otherSizeVisits(bench: Readings, metric: string): readonly Visit[] {
  const picked = trialsOf(bench, metric).filter((trial) =>
    trial.other_size === true && trial.value !== null &&
    trial.excluded === null && !isWorn(trial, bench.settings)
  );
  return visitsOfTrials(picked, bench.sessions);
}

/** Which readings of a metric are those of played pairs, kept apart from what is published? */
export function wornTrials(bench: Omit<Readings, "sessions">, metric: string): readonly Trial[] {
  return trialsOf(bench, metric).filter((trial) =>
    trial.value !== null && trial.excluded === null && isWorn(trial, bench.settings)
  );
}

/** Is a reading one of a new pair in the published size, so that it may count toward the shoe's value? */
export function isPublishable(trial: Trial, settings: Readings["settings"]): boolean {
  return trial.other_size !== true && !isWorn(trial, settings);
}

function isWorn(
  { hours_played, shoe_id }: Trial,
  { fresh_hours, reference_shoes }: Readings["settings"],
): boolean {
  return hours_played !== null && hours_played > fresh_hours && !reference_shoes.includes(shoe_id);
}

/**
 * Is a metric computed from others, so that benching those is benching it?
 *
 * One that comes from a series of series.csv is read on the bench itself.
 */
export function isComputed(
  { derive }: Pick<Metric, "derive">,
  metrics: readonly Pick<Metric, "id">[],
): boolean {
  return derive !== null &&
    [derive.from].flat().some((from) => metrics.some(({ id }) => id === from));
}

/**
 * Which visits does a metric have, with which readings?
 *
 * @returns one entry a shoe, pair and session with at least one trial that counts and none known by a bound, by shoe, date, session, pair
 */
export function visitsOf(bench: Readings, metric: string): readonly Visit[] {
  const kept = keptTrials(bench, metric);
  const bounded = boundedTrials(bench, metric);
  if (bounded.length === 0) return visitsOfTrials(kept, bench.sessions);
  const partly = new Set(bounded.map(visitKey));
  return visitsOfTrials(kept.filter((trial) => !partly.has(visitKey(trial))), bench.sessions);
}

/**
 * Which readings of a metric that would count are known by a bound only?
 *
 * A visit with such a reading has no mean: what could be read of it lies to one side. It is left out whole.
 */
export function boundedTrials(bench: Omit<Readings, "sessions">, metric: string): readonly Trial[] {
  return trialsOf(bench, metric).filter((trial) =>
    trial.bound !== null && trial.excluded === null &&
    isPublishable(trial, bench.settings)
  );
}

function visitKey({ shoe_id, pair, session_id }: Trial): string {
  return JSON.stringify([shoe_id, pair, session_id]);
}

/** The same for trials picked otherwise, all of one metric, each with a value. */
export function visitsOfTrials(
  picked: readonly Trial[],
  all: readonly Session[],
): readonly Visit[] {
  const sessions = new Map(all.map((session) => [session.session_id, session]));
  const byShoe = new Map<string, Map<string, Trial[]>>();
  for (const trial of picked) {
    const ofShoe = byShoe.get(trial.shoe_id) ?? new Map<string, Trial[]>();
    byShoe.set(trial.shoe_id, ofShoe);
    const key = `${trial.pair} ${trial.session_id}`;
    const ofVisit = ofShoe.get(key);
    if (ofVisit) ofVisit.push(trial);
    else ofShoe.set(key, [trial]);
  }
  const visits = [...byShoe].flatMap(([shoe_id, ofShoe]) =>
    [...ofShoe.values()].map((unordered): Visit => {
      const [{ session_id, pair }] = unordered;
      const { date, operator, rig, temperature_c, humidity_pct } = sessions.get(session_id)!;
      const trials = unordered.toSorted((a, b) =>
        order(a.side ?? "", b.side ?? "") || a.trial - b.trial
      );
      const values = trials.map(({ value }) => value!);
      return {
        ...{ shoe_id, pair, session_id, date, operator, rig, temperature_c, humidity_pct },
        trials,
        values,
      };
    })
  );
  return visits.sort((a, b) =>
    order(a.shoe_id, b.shoe_id) || order(a.date, b.date) || order(a.session_id, b.session_id) ||
    a.pair - b.pair
  );
}

/** By code point, not by locale: the same order on every machine. */
function order(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/**
 * Which rule is in force on a day? The newest effective one; null before the first.
 *
 * @param id of the index, where a bench has several; else the one that `main_index` names, or the only one
 */
export function ruleInForce(
  bench: Pick<Bench, "rules"> & { readonly settings?: Pick<Bench["settings"], "main_index"> },
  date: string,
  id: string | null = bench.settings?.main_index ?? null,
): IndexRule | null {
  return bench.rules.filter((rule) => rule.effective <= date && (id === null || rule.id === id))
    .toSorted((a, b) => order(a.effective, b.effective)).at(-1) ?? null;
}

/** Which rules are in force on a day, one an index? */
export function rulesInForce(bench: Pick<Bench, "rules">, date: string): readonly IndexRule[] {
  return [...new Set(bench.rules.map(({ id }) => id))].sort()
    .flatMap((id) => ruleInForce(bench, date, id) ?? []);
}

/**
 * Is this shoe an instrument of the bench, which takes no place among the shoes it measures?
 *
 * A reference shoe is, unless the bench ranks its reference shoes (`rank_references`).
 */
export function isInstrument({ settings }: Pick<Bench, "settings">, shoe_id: string): boolean {
  return settings.rank_references !== true && settings.reference_shoes.includes(shoe_id);
}
