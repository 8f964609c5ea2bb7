import { mean } from "simple-statistics";
import * as option from "../../options.ts";
import type { BoundedOn } from "../shoes/bounded_readings.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench } from "../../records/types.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import type { ComparedOn } from "../comparison/compared_on.ts";
import { onlyCurrency } from "../comparison/shortlist_conditions.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { boundedOn, type Difference, shoesOn, shownDifferences } from "./shown_order.ts";

/** Another shoe, and how far it is from the one asked about. */
export type LikeShoe = {
  readonly shoe_id: string;
  readonly name: string;
  /** Root of the mean square of differences, each in its own standard errors: about 1 for the same shoe twice. */
  readonly distance: number;
  /** Metrics that both have. */
  readonly metrics: number;
  /** Titles of metrics on which the two are shown to differ. */
  readonly differs_on: readonly string[];
  readonly word: "told apart" | "can't be told apart";
  readonly price: number | null;
  readonly currency: string | null;
};

/** Shoes like another. */
export type LikeShoes = AnswerParts & {
  readonly question: "like";
  readonly shoe_id: string;
  readonly name: string;
  readonly confidence: number;
  readonly method: string;
  /** What they are compared on; metrics that aren't fit to publish, or whose noise is unknown, are left out. */
  readonly on: readonly ComparedOn[];
  readonly left_out: readonly string[];
  /** Most that another shoe may cost; null for any price. */
  readonly price_below: number | null;
  readonly currency: string | null;
  /** Shoes that ran off the end of one of these metrics' scales: not compared on it, since a bound has no distance. */
  readonly bounded: readonly BoundedOn[];
  /** Nearest first. */
  readonly shoes: readonly LikeShoe[];
  readonly told_apart: number;
  readonly not_told_apart: number;
  /** Other products that share fewer than half of the metrics. */
  readonly too_little_in_common: number;
};

/**
 * Which shoes are like this one?
 *
 * On every metric that both have, the difference in units of what noise does to it (`pairNoise`). Two shoes are *told
 * apart* when one difference at least is shown, Holm over all shoes and metrics looked at. That two can't be told apart
 * is no proof that they are alike: the fewer metrics and trials, the less can be told.
 *
 * @param options `price_below` chooses the other shoes before they are compared; `metrics` to compare on; all that are fit unless named. A metric computed from another's trials is the
 * same evidence and left out
 * @throws {CantAnswer} if the shoe has no value on any of them, or nothing can be compared
 */
export function likeShoes(
  bench: Bench,
  { shoe, metrics = null, price_below = null, reliability, confidence = bench.settings.confidence }:
    {
      readonly shoe: string;
      readonly metrics?: readonly string[] | null;
      /** Most that another shoe may cost, in the bench's currency; null for any price. */
      readonly price_below?: number | null;
      readonly reliability: Pick<TrialReliability, "metrics">;
      readonly confidence?: number;
    },
): LikeShoes {
  option.check("studies.likeShoes", arguments[1], {
    shoe: option.needed(option.text),
    metrics: option.orNull(option.listOf(option.text)),
    price_below: option.orNull(option.positive),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const [{ shoe_id, name }] = askedShoes(bench, [shoe]);
  const currency = price_below === null ? null : onlyCurrency(bench);
  const others = othersUpTo(bench, shoe_id, price_below);
  const wanted = metrics?.map((id) => askedMetric(bench, id)) ?? bench.metrics;
  const derived = derivedMetrics(wanted);
  const fit = wanted.filter(({ id }) =>
    !derived.has(id) &&
    reliability.metrics.find((row) => row.metric === id)?.verdict !== "not fit to publish"
  );
  const sides = fit.flatMap(({ id }) => {
    const measured = bench.trials.some((row) => row.metric_id === id && row.value !== null);
    return measured ? shoesOn(bench, { metric: id }, { reliability, confidence }) : [];
  });
  const compared = sides.map((side) => ({
    side,
    differences: side.against(
      shoe_id,
      side.shoes.map((row) => row.shoe_id).filter((id) => others.has(id)),
    ),
  })).filter(({ differences }) => differences.length > 0);
  if (compared.length === 0) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [shoe_id], metrics: fit.map(({ id }) => id) },
      `${name} can't be compared: no metric has readings of it and of another shoe, noise that is known, and is fit to publish`,
    );
  }
  const all = compared.flatMap(({ side, differences }) =>
    differences.map((row) => ({ ...row, title: side.on.title }))
  );
  const shown = new Set<Difference>(shownDifferences(all, confidence));
  const names = namesOf(bench.shoes);
  const byShoe = Map.groupBy(all, ({ b }) => b);
  const least = compared.length / 2;
  const shoes = bench.shoes.flatMap((other, index): LikeShoe[] => {
    const own = byShoe.get(other.shoe_id) ?? [];
    if (own.length === 0 || own.length < least) return [];
    const differs = own.filter((row) => shown.has(row)).toSorted((a, b) => size(b) - size(a));
    return [{
      shoe_id: other.shoe_id,
      name: names[index],
      distance: Math.sqrt(mean(own.map((row) => size(row) ** 2))),
      metrics: own.length,
      differs_on: differs.map(({ title }) => title),
      word: differs.length > 0 ? "told apart" : "can't be told apart",
      price: other.price,
      currency: other.currency,
    }];
  }).toSorted((a, b) => a.distance - b.distance || (a.shoe_id < b.shoe_id ? -1 : 1));
  const apart = shoes.filter(({ word }) => word === "told apart").length;
  return {
    question: "like",
    shoe_id,
    name,
    confidence,
    method:
      "differences in standard errors from the metrics' variance components; Holm over all shoes and metrics",
    on: compared.map(({ side }) => side.on),
    bounded: sides.flatMap(boundedOn).filter((row) =>
      row.shoe_id === shoe_id || others.has(row.shoe_id)
    ),
    left_out: wanted.filter(({ id }) =>
      !derived.has(id) && !compared.some(({ side }) => side.on.metric === id)
    ).map(({ title }) => title),
    price_below,
    currency,
    shoes,
    told_apart: apart,
    not_told_apart: shoes.length - apart,
    too_little_in_common: byShoe.size - shoes.length,
    trials: compared.reduce((total, { side }) => total + side.trials, 0),
    last_trial: compared.flatMap(({ side }) => side.last_trial ?? []).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, compared.flatMap(({ side }) => side.on.metric ?? [])),
  };
}

/** The shoes to compare with, all or those known to cost no more than this. */
function othersUpTo(bench: Bench, shoe_id: string, price_below: number | null): Set<string> {
  const others = bench.shoes.filter((other) => other.shoe_id !== shoe_id);
  if (price_below === null) return new Set(others.map((other) => other.shoe_id));
  const affordable = others.filter(({ price }) => price !== null && price <= price_below);
  if (affordable.length === 0) {
    throw new CantAnswer(
      { code: "none-meets", of: others.length },
      `None of ${others.length} other shoes is known to cost at most ${price_below}`,
    );
  }
  return new Set(affordable.map((other) => other.shoe_id));
}

/** A difference in units of its noise. */
function size({ difference, variance }: Difference): number {
  return Math.abs(difference) / Math.sqrt(variance);
}
