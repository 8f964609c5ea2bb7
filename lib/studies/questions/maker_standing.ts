import { isGiven } from "../../records/not_given.ts";
import { mean, sum } from "simple-statistics";
import * as option from "../../options.ts";
import type { BoundedOn } from "../shoes/bounded_readings.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { findId } from "../../records/find_name.ts";
import type { Bench } from "../../records/types.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { singleStepLevel } from "../../statistics/single_step_level.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import type { ComparedOn } from "../comparison/compared_on.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { shoeTree } from "../shoes/shoe_tree.ts";
import type { AskedCondition, ShortlistCondition } from "../comparison/shortlist_conditions.ts";
import { chosenShoes } from "./chosen_shoes.ts";
import { type AskedOn, boundedOn, type ShoeOn, shoesOn } from "./shown_order.ts";

/** One maker's shoes on a metric or an impression. */
export type MakerValue = {
  readonly maker: string;
  /** Mean over lines, each the mean of its editions. */
  readonly value: Estimate;
  readonly lines: number;
  readonly shoes: number;
  readonly low: number;
  readonly high: number;
};

/** Two makers. */
export type MakerPair = {
  readonly a: string;
  readonly b: string;
  /** a minus b; intervals of all pairs hold together. */
  readonly difference: Estimate;
  readonly word: "differ" | "can't tell";
};

/** How makers differ. */
export type MakerStanding = AnswerParts & {
  readonly question: "makers";
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly method: string;
  /** Conditions that every shoe here surely meets, and the most that it costs. */
  readonly conditions: readonly AskedCondition[];
  readonly price_below: number | null;
  readonly currency: string | null;
  /** Shoes of these makers that ran off the end of the scale: a bound has no place in a mean, so they are in none. */
  readonly bounded: readonly BoundedOn[];
  /** Shoes of these makers with a value of which it can't be told whether they meet what is asked. */
  readonly open: number;
  /** Best first; highest first where more is neither good nor bad. */
  readonly makers: readonly MakerValue[];
  readonly pairs: readonly MakerPair[];
  /** Between lines of one maker, and the degrees of freedom behind it; null where every maker has one line. */
  readonly line_sd: number | null;
  readonly freedom: number;
  /** Courts that the shoes are sold for. */
  readonly courts: number;
  readonly ratings: number;
};

/**
 * Is this maker better than that one?
 *
 * The unit is the line, since editions of one resemble each other: a maker's value is the mean of its lines' means, and
 * its noise is how far lines of one maker scatter, pooled over the makers asked about (one-way layout, t). It is about
 * the lines a maker might make, not only those benched. Intervals of all differences hold together (single-step
 * maximum t). A maker with one line has the pooled scatter; where every maker has one, nothing can be told.
 *
 * @param options `makers` two or more; all unless named; `conditions` and `price_below` choose the shoes before
 * @throws {CantAnswer} if a maker is unknown or has no shoe with a value, or there are fewer than two
 */
export function makerStanding(
  bench: Bench,
  {
    on: asked,
    makers: typed = [],
    conditions = [],
    price_below = null,
    reliability,
    seed = 0,
    confidence = bench.settings.confidence,
  }: {
    readonly on: AskedOn;
    readonly makers?: readonly string[];
    readonly conditions?: readonly ShortlistCondition[];
    readonly price_below?: number | null;
    readonly reliability: Pick<TrialReliability, "metrics">;
    /** Of the draws that conditions on metrics take. */
    readonly seed?: number;
    readonly confidence?: number;
  },
): MakerStanding {
  option.check("studies.makerStanding", arguments[1], {
    on: option.needed(option.thing),
    makers: option.listOf(option.text),
    conditions: option.thing,
    price_below: option.orNull(option.positive),
    seed: option.seed,
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const all = [...new Set(bench.shoes.map(({ maker }) => maker))].filter(isGiven).sort();
  const wanted = [...new Set(typed.map((name) => findId("maker", name, all)))];
  if (wanted.length === 1) {
    throw new CantAnswer(
      { code: "asked-count", what: "maker", least: 2, given: 1 },
      `Makers are set against each other: name two or more, or none for all, not only ${wanted[0]}`,
    );
  }
  const side = shoesOn(bench, asked, { reliability, confidence });
  const { on, shoes, trials, last_trial, ratings } = side;
  const records = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const chosen = chosenShoes(bench, { conditions, price_below, reliability, seed });
  const isWanted = ({ shoe_id }: { readonly shoe_id: string }) =>
    (wanted.length === 0 ? all : wanted).includes(records.get(shoe_id)!.maker);
  const own = shoes.filter(isWanted);
  const kept = own.filter(({ shoe_id }) => chosen.meets(shoe_id) === true);
  if (kept.length === 0) {
    throw new CantAnswer(
      { code: "none-meets", of: own.length },
      `None of ${own.length} shoes with a value surely meets what is asked`,
    );
  }
  const groups = byMaker(bench, kept);
  refuseLone(groups, { wanted, on, chosen: kept.length < own.length });
  const { freedom, variance } = lineScatter(groups);
  const sign = on.better === "lower" ? 1 : -1;
  const sorted = groups.toSorted((a, b) =>
    sign * (mean(a.lines) - mean(b.lines)) || (a.maker < b.maker ? -1 : 1)
  );
  return {
    question: "makers",
    on,
    confidence,
    method:
      "mean of lines; t from the scatter of lines within makers, pooled; differences together by single-step maximum t",
    conditions: chosen.conditions,
    price_below,
    currency: chosen.currency,
    bounded: boundedOn(side).filter((row) => isWanted(row) && chosen.meets(row.shoe_id) !== false),
    open: own.filter(({ shoe_id }) => chosen.meets(shoe_id) === null).length,
    makers: sorted.map(({ maker, own, lines }): MakerValue => ({
      maker,
      value: around(mean(lines), variance, { count: lines.length, freedom, confidence }),
      lines: lines.length,
      shoes: own.length,
      low: Math.min(...own.map(({ value }) => value)),
      high: Math.max(...own.map(({ value }) => value)),
    })),
    pairs: makerPairs(sorted, { variance, freedom, confidence }),
    line_sd: variance === null ? null : Math.sqrt(variance),
    freedom,
    courts: new Set(kept.map(({ shoe_id }) => records.get(shoe_id)!.surface)).size,
    trials,
    last_trial,
    ratings,
    warnings: [],
  };
}

/** @throws {CantAnswer} where a maker that was asked for has no shoe left, or only one maker has any */
function refuseLone(
  groups: readonly { readonly maker: string }[],
  { wanted, on, chosen }: {
    readonly wanted: readonly string[];
    readonly on: ComparedOn;
    /** Whether conditions left shoes out. */
    readonly chosen: boolean;
  },
): void {
  const silent = wanted.find((maker) => !groups.some((group) => group.maker === maker));
  if (silent !== undefined || groups.length < 2) {
    const that = chosen ? " that surely meets what is asked" : "";
    throw new CantAnswer(
      { code: "maker-without-value", maker: silent ?? groups[0].maker, on: on.title },
      silent !== undefined
        ? `${on.title}: ${silent} has no shoe with a value${that}`
        : `Only ${groups[0].maker} has a shoe with a value on ${on.title}${that}`,
    );
  }
}

/** How far lines of one maker scatter, pooled over makers. */
function lineScatter(groups: readonly { readonly lines: readonly number[] }[]) {
  const freedom = sum(groups.map(({ lines }) => lines.length - 1));
  const squares = sum(groups.flatMap(({ lines }) => {
    const centre = mean([...lines]);
    return lines.map((value) => (value - centre) ** 2);
  }));
  return { freedom, variance: freedom > 0 ? squares / freedom : null };
}

/** Each maker's shoes, and the means of its lines. */
function byMaker(bench: Bench, kept: readonly ShoeOn[]) {
  const makers = new Map(bench.shoes.map(({ shoe_id, maker }) => [shoe_id, maker]));
  const ids = kept.map(({ shoe_id }) => shoe_id);
  const { inner } = shoeTree(bench, ids);
  const lineOf = new Map(ids.map((id, index) => [id, inner[index]]));
  return [...Map.groupBy(kept, ({ shoe_id }) => makers.get(shoe_id)!)].map(([maker, own]) => ({
    maker,
    own,
    lines: [...Map.groupBy(own, ({ shoe_id }) => lineOf.get(shoe_id)!).values()]
      .map((editions) => mean(editions.map(({ value }) => value))),
  }));
}

function around(
  value: number,
  variance: number | null,
  { count, freedom, confidence }: {
    readonly count: number;
    readonly freedom: number;
    readonly confidence: number;
  },
): Estimate {
  const half = variance === null || variance === 0
    ? null
    : tQuantile((1 + confidence) / 2, freedom) * Math.sqrt(variance / count);
  return {
    estimate: value,
    estimate_reason: null,
    lower: half === null ? null : value - half,
    upper: half === null ? null : value + half,
    confidence,
    method: "mean of lines, t from the pooled scatter of lines",
    n: count,
    warnings: [],
  };
}

function makerPairs(
  groups: readonly { readonly maker: string; readonly lines: readonly number[] }[],
  { variance, freedom, confidence }: {
    readonly variance: number | null;
    readonly freedom: number;
    readonly confidence: number;
  },
): MakerPair[] {
  const pairs = groups.flatMap((a, index) => groups.slice(index + 1).map((b) => [a, b] as const));
  if (variance === null || variance === 0) {
    const about = { confidence, method: "none", n: 0, warnings: [] };
    return pairs.map(([a, b]) => ({
      a: a.maker,
      b: b.maker,
      difference: noEstimate({ code: "one-line-each" }, about),
      word: "can't tell",
    }));
  }
  const shares = pairs.map(([a, b]) => 1 / a.lines.length + 1 / b.lines.length);
  const covariance = pairs.map(([a, b]) =>
    pairs.map(([c, d]) =>
      (a === c ? 1 : a === d ? -1 : 0) / a.lines.length +
      (b === d ? 1 : b === c ? -1 : 0) / b.lines.length
    )
  );
  const { level } = singleStepLevel([{ covariance, freedom: pairs.map(() => freedom) }], {
    confidence,
  });
  const reach = tQuantile(1 - level / 2, freedom);
  return pairs.map(([a, b], index): MakerPair => {
    const difference = mean([...a.lines]) - mean([...b.lines]);
    const half = reach * Math.sqrt(variance * shares[index]);
    return {
      a: a.maker,
      b: b.maker,
      difference: {
        estimate: difference,
        estimate_reason: null,
        lower: difference - half,
        upper: difference + half,
        confidence,
        method: "difference of means of lines, single-step maximum t",
        n: a.lines.length + b.lines.length,
        warnings: [],
      },
      word: Math.abs(difference) > half ? "differ" : "can't tell",
    };
  });
}
