import { findAttribute, findId, findMetric, findShoe } from "../records/find_name.ts";
import type { Bench } from "../records/types.ts";
import type { ShortlistCondition } from "../studies/comparison/shortlist_conditions.ts";
import type { AskedOn } from "../studies/questions/shown_order.ts";
import type { Question } from "./answer_call.ts";
import { CallError } from "./task_calls.ts";

/**
 * The question with the bench's ids in place of the names that somebody typed.
 *
 * @throws {CallError} where a name fits nothing, or several
 */
export function namedQuestion(bench: Bench, question: Question): Question {
  const shoe = (typed: string) => findShoe(bench, typed).shoe_id;
  const metric = (typed: string) => findMetric(bench, typed).id;
  const attribute = (typed: string) => findAttribute(bench, typed).id;
  const on = (typed: AskedOn): AskedOn =>
    "metric" in typed
      ? { metric: metric(typed.metric) }
      : { attribute: attribute(typed.attribute) };
  const condition = (one: ShortlistCondition): ShortlistCondition =>
    "metric" in one ? { ...one, metric: metric(one.metric) } : one.kind === "feature"
      ? {
        ...one,
        feature: findId("feature", one.feature, [
          ...new Set(bench.features.map(({ feature_id }) => feature_id)),
        ]),
      }
      : one;
  return asCall(() => {
    switch (question.kind) {
      case "comparison":
        return {
          ...question,
          shoes: question.shoes.map(shoe),
          metrics: question.metrics?.map(metric) ?? null,
          attributes: question.attributes.map(attribute),
        };
      case "wear":
      case "catalogue":
        return { ...question, metric: metric(question.metric), shoes: question.shoes.map(shoe) };
      case "pair": {
        const [across, up] = question.metrics;
        const metrics = [metric(across), metric(up)] as const;
        return { ...question, metrics, shoes: question.shoes.map(shoe) };
      }
      case "editions":
        return { ...question, shoe: shoe(question.shoe), metric: metric(question.metric) };
      case "shortlist":
        return { ...question, conditions: question.conditions.map(condition) };
      case "link":
        return {
          ...question,
          metric: metric(question.metric),
          attribute: attribute(question.attribute),
        };
      case "best":
        return {
          ...question,
          on: question.on === null ? null : on(question.on),
          conditions: question.conditions.map(condition),
        };
      case "profile":
      case "index":
        return { ...question, shoe: shoe(question.shoe) };
      case "like":
        return {
          ...question,
          shoe: shoe(question.shoe),
          metrics: question.metrics?.map(metric) ?? null,
        };
      case "makers":
        return {
          ...question,
          on: on(question.on),
          conditions: question.conditions.map(condition),
        };
      case "panel":
        return { ...question, attributes: question.attributes.map(attribute) };
      case "drift":
      case "sizes":
        return { ...question, metric: metric(question.metric) };
      case "runs":
        return { ...question, shoes: question.shoes.map(shoe) };
      case "fit": {
        const [length, width] = question.metrics ?? [];
        const metrics = length === undefined ? null : [metric(length), metric(width!)] as const;
        return { ...question, metrics, shoes: question.shoes.map(shoe) };
      }
    }
  });
}

/** A name that fits nothing is a wrong call, not a fault of the kit. */
export function asCall<T>(find: () => T): T {
  try {
    return find();
  } catch (error) {
    if (error instanceof RangeError) throw new CallError(error.message);
    throw error;
  }
}
