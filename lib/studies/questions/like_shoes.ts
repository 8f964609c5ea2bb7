import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import type { BoundedOn } from "../shoes/bounded_readings.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { combinedP } from "../../statistics/combined_p.ts";
import { noncentralityLimit } from "../../statistics/noncentral_chi_squared.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import type { ComparedOn } from "../comparison/compared_on.ts";
import { onlyCurrency } from "../comparison/shortlist_conditions.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import {
  boundedOn,
  type BoundTest,
  type Difference,
  type ShoesOn,
  shoesOn,
  shownDifferences,
} from "./shown_order.ts";

/** Another shoe, and how far it is from the one asked about. */
export type LikeShoe = {
  readonly shoe_id: string;
  readonly name: string;
  /** Root of the mean square of differences, each in its own standard errors: about 1 for the same shoe twice. */
  readonly distance: number;
  /** Metrics that both have. */
  readonly metrics: number;
  /** Titles of metrics on which the two are shown to differ; none where only all metrics together show that they do. */
  readonly differs_on: readonly string[];
  /** That the two have the same true value on every metric compared, from all single p-values together (Fisher). */
  readonly joint_p: number;
  /** The same after Holm over all shoes, and twice that where single metrics are tested beside it. */
  readonly joint_p_adjusted: number;
  readonly word: "told apart" | "can't be told apart";
  /** Of shoes that can't be told apart: upper limit of the true differences, root mean square in units of noise; else null. */
  readonly distance_at_most: number | null;
  readonly price: number | null;
  readonly currency: string | null;
};

/** A shoe of which can't be told whether it differs, since no noise is known of the metrics that both have. */
export type UntoldShoe = {
  readonly shoe_id: string;
  readonly name: string;
  /** Titles of these metrics. */
  readonly titles: readonly string[];
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
  /** Shoes that ran off the end of one of these metrics' scales: in no distance and no joint p on it, since a bound has no distance. */
  readonly bounded: readonly BoundedOn[];
  /** Nearest first. */
  readonly shoes: readonly LikeShoe[];
  readonly told_apart: number;
  readonly not_told_apart: number;
  /** Other products that share fewer than half of the metrics. */
  readonly too_little_in_common: number;
  /** Other products whose noise is unknown on every metric they share. */
  readonly cant_tell: readonly UntoldShoe[];
};

/**
 * Which shoes are like this one?
 *
 * On every metric that both have, the difference in units of what noise does to it (`pairNoise`). Two shoes are *told
 * apart* when one difference at least is shown by itself, Holm over all shoes and metrics looked at, or when all
 * differences together show that the two can't have the same true value on every metric: Fisher's combination of the
 * single p-values, Holm over all shoes. Each of the two takes half of the risk, so that with the stated confidence nothing
 * false is said of any shoe; with a single metric they are one test, which takes all. Single tests see one large
 * difference, the joint one many small ones.
 *
 * That two can't be told apart is no proof that they are alike: `distance_at_most` is what the true differences could
 * still be, from the noncentral chi-squared distribution of the sum of squared differences, each shoe by itself; a sum
 * smaller than noise has on average is luck and no likeness, and gives the limit of the average one. It takes the noise
 * for known: where its freedom is small the limit comes out wide with several metrics, and short with one (90 to 94% of
 * limits hold where the truth is four times the noise).
 *
 * Metrics count as independent, as separate trials and setups are. Where pairs of one model differ on several metrics at
 * once (a heavy pair is a stiff one, too), the joint test takes that for more evidence than it is: a correlation of 0.3
 * among twelve makes ten of 5%.
 *
 * A shoe that ran off the end of a scale differs there by itself from one that lies short of its bound by more than noise
 * reaches, as in a comparison; it counts there in no distance and in no joint p.
 *
 * @param options `price_below` chooses the other shoes before they are compared; `metrics` to compare on, all that are
 *   fit unless named; one computed from another's trials is the same evidence and left out
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
  const byShoe = Map.groupBy(all, ({ b }) => b);
  const kept = [...byShoe.values()].filter((own) => own.length >= compared.length / 2);
  const bounds = sides.flatMap((side) =>
    side.boundsAgainst(shoe_id, kept.map(([{ b }]) => b)).map((row) => ({
      ...row,
      title: side.on.title,
      metric: side.on.metric,
    }))
  );
  const shoes = nearest(bench, { byShoe: kept, bounds, confidence });
  const apart = shoes.filter(({ word }) => word === "told apart").length;
  return {
    question: "like",
    shoe_id,
    name,
    confidence,
    method:
      "differences in standard errors from the metrics' variance components; each alone, Holm over all shoes and metrics, and all of a shoe together (Fisher's combination), Holm over all shoes, half of the risk for each",
    on: compared.map(({ side }) => side.on),
    bounded: sides.flatMap(boundedOn).filter((row) =>
      row.shoe_id === shoe_id || others.has(row.shoe_id)
    ),
    left_out: wanted.filter(({ id }) =>
      !derived.has(id) && !compared.some(({ side }) => side.on.metric === id) &&
      !bounds.some(({ metric }) => metric === id)
    ).map(({ title }) => title),
    price_below,
    currency,
    shoes,
    told_apart: apart,
    not_told_apart: shoes.length - apart,
    too_little_in_common: byShoe.size - shoes.length,
    cant_tell: untold(bench, sides, { shoe_id, others, told: byShoe }),
    trials: compared.reduce((total, { side }) => total + side.trials, 0),
    last_trial: compared.flatMap(({ side }) => side.last_trial ?? []).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, compared.flatMap(({ side }) => side.on.metric ?? [])),
  };
}

type TitledDifference = Difference & { readonly title: string };

/** Other shoes by their differences, one list a shoe: the nearest first, each with its word. */
function nearest(
  bench: Bench,
  { byShoe, bounds, confidence }: {
    readonly byShoe: readonly (readonly TitledDifference[])[];
    readonly bounds: readonly (BoundTest & { readonly title: string })[];
    readonly confidence: number;
  },
): LikeShoe[] {
  const names = new Map(namesOf(bench.shoes).map((name, i) => [bench.shoes[i].shoe_id, name]));
  const risk = 1 - confidence;
  // Two ways to be told apart share the risk; of one metric both are the same test.
  const ways = bounds.length > 0 || byShoe.some((own) => own.length > 1) ? 2 : 1;
  const shown = shownDifferences([
    ...byShoe.flat().map((row) => ({ ...row, size: size(row) })),
    ...bounds,
  ], 1 - risk / ways);
  const joint = byShoe.map((own) => combinedP(own.map(({ p }) => p)));
  const adjusted = adjustP(joint, "holm").map((p) => Math.min(1, ways * p));
  return byShoe.map((own, place): LikeShoe => {
    const { shoe_id, price, currency } = bench.shoes.find((row) => row.shoe_id === own[0].b)!;
    const differs = shown.filter(({ b }) => b === shoe_id).toSorted((a, b) => b.size - a.size);
    const isTold = differs.length > 0 || adjusted[place] <= risk;
    const squares = sum(own.map((row) => size(row) ** 2));
    return {
      shoe_id,
      name: names.get(shoe_id)!,
      distance: Math.sqrt(squares / own.length),
      metrics: own.length,
      differs_on: differs.map(({ title }) => title),
      joint_p: joint[place],
      joint_p_adjusted: adjusted[place],
      word: isTold ? "told apart" : "can't be told apart",
      distance_at_most: isTold ? null : Math.sqrt(
        noncentralityLimit(Math.max(squares, own.length), own.length, { confidence }) /
          own.length,
      ),
      price,
      currency,
    };
  }).toSorted((a, b) => a.distance - b.distance || (a.shoe_id < b.shoe_id ? -1 : 1));
}

/** Shoes that share metrics with the one asked about, but none whose noise is known. */
function untold(
  bench: Bench,
  sides: readonly ShoesOn[],
  { shoe_id, others, told }: {
    readonly shoe_id: string;
    readonly others: ReadonlySet<string>;
    readonly told: ReadonlyMap<string, unknown>;
  },
): UntoldShoe[] {
  const has = ({ shoes }: ShoesOn, id: string) => shoes.some((row) => row.shoe_id === id);
  const own = sides.filter((side) => has(side, shoe_id));
  const names = namesOf(bench.shoes);
  return bench.shoes.flatMap((other, index) => {
    if (!others.has(other.shoe_id) || told.has(other.shoe_id)) return [];
    const titles = own.filter((side) => has(side, other.shoe_id)).map(({ on }) => on.title);
    return titles.length === 0 ? [] : [{ shoe_id: other.shoe_id, name: names[index], titles }];
  });
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
