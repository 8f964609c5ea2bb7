import type { Bench, IndexRule, Trial } from "./types.ts";

/** One shoe on one metric in one session. */
export type Visit = {
  readonly shoe_id: string;
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly rig: string | null;
  readonly temperature_c: number | null;
  /** In the order they were taken: by pair, side and trial number. */
  readonly trials: readonly Trial[];
  /** Their values, in the metric's unit. */
  readonly values: readonly number[];
};

/** Which trials of a metric count? Those with a value that nobody has excluded. */
export function keptTrials(bench: Pick<Bench, "trials">, metric: string): readonly Trial[] {
  return bench.trials.filter((trial) =>
    trial.metric_id === metric && trial.value !== null && trial.excluded === null
  );
}

/**
 * Which visits does a metric have, with which readings?
 *
 * @returns one entry a shoe and session with at least one trial that counts, by shoe, date, session
 */
export function visitsOf(
  bench: Pick<Bench, "trials" | "sessions">,
  metric: string,
): readonly Visit[] {
  const sessions = new Map(bench.sessions.map((session) => [session.session_id, session]));
  const byShoe = new Map<string, Map<string, Trial[]>>();
  for (const trial of keptTrials(bench, metric)) {
    const ofShoe = byShoe.get(trial.shoe_id) ?? new Map<string, Trial[]>();
    byShoe.set(trial.shoe_id, ofShoe);
    const ofVisit = ofShoe.get(trial.session_id);
    if (ofVisit) ofVisit.push(trial);
    else ofShoe.set(trial.session_id, [trial]);
  }
  const visits = [...byShoe].flatMap(([shoe_id, ofShoe]) =>
    [...ofShoe].map(([session_id, unordered]): Visit => {
      const { date, operator, rig, temperature_c } = sessions.get(session_id)!;
      const trials = unordered.toSorted((a, b) =>
        a.pair - b.pair || order(a.side ?? "", b.side ?? "") || a.trial - b.trial
      );
      const values = trials.map(({ value }) => value!);
      return { shoe_id, session_id, date, operator, rig, temperature_c, trials, values };
    })
  );
  return visits.sort((a, b) =>
    order(a.shoe_id, b.shoe_id) || order(a.date, b.date) || order(a.session_id, b.session_id)
  );
}

/** By code point, not by locale: the same order on every machine. */
function order(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Which rule is in force on a day? The newest effective one; null before the first. */
export function ruleInForce(bench: Pick<Bench, "rules">, date: string): IndexRule | null {
  return bench.rules.filter(({ effective }) => effective <= date)
    .toSorted((a, b) => order(a.effective, b.effective)).at(-1) ?? null;
}
