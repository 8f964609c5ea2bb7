import type { Bench } from "../../records/types.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { shoeName } from "../../studies/shoes/shoe_name.ts";
import { unitWords } from "../unit_words.ts";

/** What is measured on the bench? One row a metric. */
export function metricRows({ metrics }: Pick<Bench, "metrics">): ReviewRow[] {
  return metrics.map((metric) => ({
    metric: metric.id,
    title: metric.title,
    unit: unitWords(metric.unit) || "no unit",
    better: metric.better === "target"
      ? `${metric.target!.low} to ${metric.target!.high}`
      : metric.better === "none"
      ? "neither"
      : metric.better,
    // In its own decimals: a common number of them would make 2 cm of 2.00 cm beside 0.06.
    "difference that matters": metric.smallest_difference === null
      ? "not set"
      : String(metric.smallest_difference),
    since: metric.introduced,
    "computed from": metric.derive === null ? null : [metric.derive.from].flat().join(", "),
  }));
}

/**
 * What was read of one shoe on one metric? One row a trial, in the metric's unit; excluded ones with their
 * reason.
 */
export function trialRows(bench: Bench, shoe_id: string, metric_id: string): ReviewRow[] {
  const dates = new Map(bench.sessions.map((session) => [session.session_id, session]));
  const unit = unitWords(bench.metrics.find(({ id }) => id === metric_id)?.unit ?? "");
  return bench.trials
    .filter((trial) => trial.shoe_id === shoe_id && trial.metric_id === metric_id)
    .map((trial) => ({
      date: dates.get(trial.session_id)!.date,
      operator: dates.get(trial.session_id)!.operator,
      trial: trial.trial,
      [unit === "" ? "value" : `value, ${unit}`]: trial.value,
      excluded: trial.excluded ?? "no",
      "line in trials.csv": trial.line,
    }));
}

/** Which shoes are in the catalogue? One row a shoe. */
export function shoeRows({ shoes }: Pick<Bench, "shoes">): ReviewRow[] {
  return shoes.map((shoe) => ({
    shoe: shoe.shoe_id,
    name: shoeName(shoe),
    surface: shoe.surface,
    size: shoe.size,
    "size system": shoe.size_system,
    released: shoe.released,
  }));
}
