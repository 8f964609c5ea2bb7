import type { Bench } from "../../records/types.ts";
import type { RandomStream } from "../../statistics/random_stream.ts";
import type { MetricReliability } from "../repeatability/trial_reliability.ts";

/**
 * What might the lab have read, had it benched other shoes of the same kind with the same noise?
 *
 * Every trial that counts gets a new value from the metric's variance components, in the lab's own
 * design and rounded as its trials were; nothing drifts, loads up or slips. Trials of metrics whose
 * components are unknown are left out.
 *
 * @param metrics as `trialReliability` found them
 * @returns a function that draws a bench from a stream
 */
export function simulatedBench(
  bench: Bench,
  metrics: readonly Pick<MetricReliability, "metric" | "components" | "spread">[],
): (random: RandomStream) => Bench {
  const { plans, effects } = drawingPlan(bench, metrics);
  const decimals = readDecimals(bench);
  const drawn = new Float64Array(effects.length);
  return (random) => {
    drawn.fill(NaN);
    const effect = (at: number) => {
      if (at < 0) return 0;
      // Drawn when it is first met.
      if (Number.isNaN(drawn[at])) drawn[at] = effects[at] * random.normal();
      return drawn[at];
    };
    return {
      ...bench,
      trials: plans.map(({ trial, centre, shoe, operator, session, visit, residual }) => {
        const value = centre + effect(shoe) + effect(operator) + effect(session) +
          effect(visit) + residual * random.normal();
        const digits = decimals.get(trial.metric_id);
        return {
          ...trial,
          value: digits === undefined ? value : Number(value.toFixed(digits)),
        };
      }),
    };
  };
}

/** Which effects make up each trial: places in a list of effects, -1 where there is none. */
type TrialPlan = {
  readonly trial: Bench["trials"][number];
  readonly centre: number;
  readonly shoe: number;
  readonly operator: number;
  readonly session: number;
  readonly visit: number;
  /** Standard deviation of its own noise. */
  readonly residual: number;
};

/** Every trial that counts with its effects, and the standard deviation of each of these. */
function drawingPlan(
  bench: Bench,
  metrics: readonly Pick<MetricReliability, "metric" | "components" | "spread">[],
): { readonly plans: readonly TrialPlan[]; readonly effects: Float64Array } {
  const sessions = new Map(bench.sessions.map((session) => [session.session_id, session]));
  const known = new Map(
    metrics.filter(({ components }) => components.length > 0).map((
      { metric, components, spread },
    ) => [metric, {
      centre: ((spread.low ?? 0) + (spread.high ?? 0)) / 2,
      sds: new Map(components.map(({ source, variance }) => [source, Math.sqrt(variance)])),
    }]),
  );
  const places = new Map<string, number>();
  const effects: number[] = [];
  const place = (sd: number | undefined, ...names: readonly string[]) => {
    if (sd === undefined || sd === 0) return -1;
    const key = JSON.stringify(names);
    const at = places.get(key) ?? effects.push(sd) - 1;
    places.set(key, at);
    return at;
  };
  const plans = bench.trials.flatMap((trial): TrialPlan[] => {
    const { metric_id, shoe_id, session_id } = trial;
    const metric = known.get(metric_id);
    if (metric === undefined || trial.value === null || trial.excluded !== null) return [];
    const { centre, sds } = metric;
    const { operator } = sessions.get(session_id)!;
    return [{
      trial,
      centre,
      shoe: place(sds.get("shoe"), metric_id, "shoe", shoe_id),
      operator: place(sds.get("operator"), metric_id, "operator", operator),
      session: place(sds.get("session"), metric_id, "session", session_id),
      visit: place(sds.get("shoe:session"), metric_id, "visit", session_id, shoe_id),
      residual: sds.get("residual") ?? 0,
    }];
  });
  return { plans, effects: Float64Array.from(effects) };
}

/** Decimals that a metric's trials were written with; none for a metric whose trials were converted. */
function readDecimals(bench: Bench): ReadonlyMap<string, number> {
  const most = new Map<string, number>();
  const converted = new Set<string>();
  for (const { metric_id, value, given_value } of bench.trials) {
    if (value === null) continue;
    if (value !== given_value) converted.add(metric_id);
    const written = /\.(\d+)$/.exec(String(value))?.[1].length ?? 0;
    most.set(metric_id, Math.max(most.get(metric_id) ?? 0, written));
  }
  return new Map([...most].filter(([metric, digits]) => !converted.has(metric) && digits <= 12));
}
