import { CantAnswer } from "../records/cant_answer.ts";
import { visitsOf } from "../records/selection.ts";
import type { Bench } from "../records/types.ts";
import { askedMetric, askedShoes } from "../studies/shoes/asked_shoes.ts";
import { shoeName } from "../studies/shoes/shoe_name.ts";
import { midSentence } from "./phrases.ts";

/**
 * Which metric does a notebook look at?
 *
 * @param id as a person named it; left empty, the first metric of metrics.json that has a trial
 * @returns the metric's id
 * @throws {RangeError} if there is no such metric (nearest ids offered), or the bench has none at all
 */
export function chosenMetric(bench: Bench, id: string): string {
  if (bench.metrics.length === 0) {
    throw new CantAnswer(
      { code: "none-on-bench", what: "metric" },
      "The bench has no metric yet: add one to metrics.json",
    );
  }
  if (id !== "") return askedMetric(bench, id).id;
  const read = new Set(bench.trials.map(({ metric_id }) => metric_id));
  return (bench.metrics.find((metric) => read.has(metric.id)) ?? bench.metrics[0]).id;
}

/**
 * Which shoe does a notebook show?
 *
 * @param id as a person named it; left empty, the shoe with most trials of the metric
 * @returns the shoe's id
 * @throws {RangeError} if there is no such shoe (nearest ids offered), or the bench has none at all
 */
export function chosenShoe(bench: Bench, id: string, metric: string): string {
  if (bench.shoes.length === 0) {
    throw new CantAnswer(
      { code: "none-on-bench", what: "shoe" },
      "The bench has no shoe yet: add one to shoes.csv",
    );
  }
  if (id !== "") return askedShoes(bench, [id])[0].shoe_id;
  const counts = new Map<string, number>();
  for (const { shoe_id, values } of visitsOf(bench, metric)) {
    counts.set(shoe_id, (counts.get(shoe_id) ?? 0) + values.length);
  }
  return bench.shoes.map(({ shoe_id }) => shoe_id)
    .reduce((best, next) => (counts.get(next) ?? 0) > (counts.get(best) ?? 0) ? next : best);
}

/** What do a shoe and a metric read as together? Such as `Ellvarn Talvec 1 on mass of one shoe`. */
export function shoeOnMetric(bench: Bench, shoe: string, metric: string): string {
  const [{ shoe: own }] = askedShoes(bench, [shoe]);
  return `${shoeName(own)} on ${midSentence(askedMetric(bench, metric).title)}`;
}
