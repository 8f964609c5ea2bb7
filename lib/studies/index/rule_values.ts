import type { Bench } from "../../records/types.ts";
import type { MetricTable } from "./apply_rule.ts";
import { metricNoise, type ShoeValue, shoeValues } from "../shoes/shoe_values.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** What rules need to know of a bench: every value of the metrics they name. */
export type RuleValues = {
  /** Metric id → shoe id → value with its noise. */
  readonly values: ReadonlyMap<string, ReadonlyMap<string, ShoeValue>>;
  /** The same, values only. */
  readonly table: MetricTable;
};

/**
 * Which values do these metrics have, shoe by shoe?
 *
 * @param reliability where each metric's noise comes from; without it values have no standard error
 */
export function ruleValues(
  bench: Bench,
  metrics: Iterable<string>,
  reliability: Pick<TrialReliability, "metrics"> | null,
): RuleValues {
  const values = new Map([...new Set(metrics)].map((metric) => {
    const noise = metricNoise(reliability?.metrics.find((row) => row.metric === metric));
    return [metric, new Map(shoeValues(bench, metric, noise).map((row) => [row.shoe_id, row]))];
  }));
  const table = new Map(
    [...values].map(([metric, byShoe]) => [
      metric,
      new Map([...byShoe].map(([shoe, { value }]) => [shoe, value])),
    ]),
  );
  return { values, table };
}

/** The last day on which anything was benched or felt; null for an empty bench. */
export function lastDay({ sessions, impressions }: Pick<Bench, "sessions" | "impressions">) {
  return [...sessions, ...impressions].map(({ date }) => date).sort().at(-1) ?? null;
}
