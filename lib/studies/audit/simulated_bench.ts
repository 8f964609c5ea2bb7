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
 */
export function simulatedBench(
  bench: Bench,
  metrics: readonly Pick<MetricReliability, "metric" | "components" | "spread">[],
  random: RandomStream,
): Bench {
  const sessions = new Map(bench.sessions.map((session) => [session.session_id, session]));
  const decimals = readDecimals(bench);
  const centre = new Map(
    metrics.map(({ metric, spread }) => [metric, ((spread.low ?? 0) + (spread.high ?? 0)) / 2]),
  );
  const known = new Map(
    metrics.filter(({ components }) => components.length > 0).map(({ metric, components }) => [
      metric,
      new Map(components.map(({ source, variance }) => [source, Math.sqrt(variance)])),
    ]),
  );
  // One map a metric and source: ids are looked up as they are, without making a key of them.
  const effects = new Map<string, Map<string, number>>();
  const effect = (sd: number | undefined, at: string, level: string) => {
    if (sd === undefined || sd === 0) return 0;
    let known = effects.get(at);
    if (known === undefined) effects.set(at, known = new Map());
    let drawn = known.get(level);
    if (drawn === undefined) known.set(level, drawn = sd * random.normal());
    return drawn;
  };
  return {
    ...bench,
    trials: bench.trials.flatMap((trial) => {
      const sds = known.get(trial.metric_id);
      if (sds === undefined || trial.value === null || trial.excluded !== null) return [];
      const { metric_id, shoe_id, session_id } = trial;
      const { operator } = sessions.get(session_id)!;
      const value = centre.get(metric_id)! +
        effect(sds.get("shoe"), `shoe ${metric_id}`, shoe_id) +
        effect(sds.get("operator"), `operator ${metric_id}`, operator) +
        effect(sds.get("session"), `session ${metric_id}`, session_id) +
        effect(sds.get("shoe:session"), `visit ${metric_id} in ${session_id}`, shoe_id) +
        (sds.get("residual") ?? 0) * random.normal();
      const digits = decimals.get(metric_id);
      return [{
        ...trial,
        value: digits === undefined ? value : Number(value.toFixed(digits)),
      }];
    }),
  };
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
