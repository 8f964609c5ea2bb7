import type { Attribute, Bench, Better, Metric } from "../../records/types.ts";

/** A bench metric or an impression that shoes are compared on. */
export type ComparedOn = {
  /** One of the two is null. */
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly title: string;
  /** UCUM code of a metric; null on the rating scale. */
  readonly unit: string | null;
  readonly decimals: number;
  readonly better: Better;
  /** The least and the most that it can be; null where there is no such limit. */
  readonly possible: { readonly low: number | null; readonly high: number | null };
  readonly smallest_difference: number | null;
  /** Metric whose trials it is computed from, where that is compared too: the same evidence twice. */
  readonly same_evidence_as: string | null;
  /** What the metric is a part of; null for an impression. */
  readonly group: Metric["group"] | null;
};

/** Which of a metric and an impression something is about. */
type About = Pick<ComparedOn, "metric" | "attribute">;

/** A metric as something to compare shoes on. */
export function comparedMetric(metric: Metric): ComparedOn {
  return {
    metric: metric.id,
    attribute: null,
    title: metric.title,
    unit: metric.unit,
    decimals: metric.decimals,
    better: metric.better,
    possible: { low: metric.scale === "ratio" ? 0 : null, high: null },
    smallest_difference: metric.smallest_difference,
    same_evidence_as: null,
    group: metric.group,
  };
}

/** An impression as something to compare shoes on. */
export function comparedImpression(
  attribute: Attribute,
  { rating }: Pick<Bench["settings"], "rating">,
): ComparedOn {
  return {
    metric: null,
    attribute: attribute.id,
    title: `${attribute.title} on court`,
    unit: null,
    // A mean of whole points has a decimal: a hundred testers tell 5.2 from 4.9.
    decimals: 1,
    better: attribute.better,
    possible: { low: rating.min, high: rating.max },
    smallest_difference: null,
    same_evidence_as: null,
    group: null,
  };
}

/** Is this about that metric or impression? */
export function isOn(one: About, on: About): boolean {
  return one.metric === on.metric && one.attribute === on.attribute;
}
