import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import type { Fineness } from "../comparison/catalogue_standing.ts";
import type { ComparedOn } from "../comparison/compared_on.ts";
import type { AskedCondition, ShortlistCondition } from "../comparison/shortlist_conditions.ts";
import { drawnIndexScores } from "../index/index_scores.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import { chosenShoes } from "./chosen_shoes.ts";
import {
  type AskedOn,
  directionOf,
  type ShoeOn,
  shoesOn,
  shownDifferences,
} from "./shown_order.ts";

/** One shoe that may be among the best. */
export type BestShoe = ShoeOn & {
  /** By its value alone; equal values share a place. */
  readonly place: number;
  /** Shoes shown to be better. */
  readonly ahead: number;
  /** Shoes shown to be worse. */
  readonly behind: number;
  readonly word: "among them" | "may be" | "not among them";
  readonly price: number | null;
  readonly currency: string | null;
};

/** The first places of a metric, an impression or the index, with all that can't be told from them. */
export type BestShoes = AnswerParts & {
  readonly question: "best";
  readonly on: ComparedOn;
  /** Null unless it is the index that is asked about. */
  readonly rule: { readonly id: string; readonly version: string; readonly title: string } | null;
  /** Which end is asked for. */
  readonly order: "highest" | "lowest";
  readonly told_in: Fineness;
  readonly told_in_reason: Reason | null;
  /** How many places are asked for. */
  readonly first: number;
  readonly confidence: number;
  readonly method: string;
  /** Conditions that every shoe here surely meets. */
  readonly conditions: readonly AskedCondition[];
  readonly price_below: number | null;
  readonly currency: string | null;
  readonly played_on: string | null;
  /** Shoes with a value of which it can't be told whether they meet the conditions, or whose price is unknown. */
  readonly open: number;
  /** Best first. */
  readonly shoes: readonly BestShoe[];
  readonly surely: number;
  readonly may_be: number;
  /** Whether any two could be told apart at all, given what is known of the noise. */
  readonly noise_known: boolean;
  readonly ratings: number;
};

/** What is asked, and of which shoes. */
export type BestShoesOptions = {
  /** The index in force, unless a metric or an impression is named. */
  readonly on?: AskedOn | null;
  /** How many places. */
  readonly first?: number;
  /** Needed where more is neither good nor bad. */
  readonly order?: "highest" | "lowest" | null;
  readonly conditions?: readonly ShortlistCondition[];
  /** Most that a shoe may cost, in the bench's currency. */
  readonly price_below?: number | null;
  /** Only ratings given on this court. */
  readonly played_on?: string | null;
  readonly reliability: Pick<TrialReliability, "metrics">;
  readonly seed: number;
  readonly confidence?: number;
};

/**
 * Which shoes are the best, and which can't be told from them?
 *
 * The shoes that read first are each tested against every other one (Holm over all these tests; the index has its own
 * simultaneous differences, `indexScores`). A shoe is *among* the best n when so many are shown to be worse that no
 * n can be ahead; *not among them* when n are shown to be ahead; else it *may be*. Conditions and prices choose the
 * shoes before; of those only shoes that surely meet them stay.
 *
 * @throws {CantAnswer} if nothing is left, no rule is in force, or neither end of a metric is better and none is named
 */
export function bestShoes(
  bench: Bench,
  {
    on: asked = null,
    first = 1,
    order = null,
    conditions = [],
    price_below = null,
    played_on = null,
    reliability,
    seed,
    confidence = bench.settings.confidence,
  }: BestShoesOptions,
): BestShoes {
  option.check("studies.bestShoes", arguments[1], {
    on: option.orNull(option.thing),
    first: option.howMany,
    order: option.orNull(option.oneOf("highest", "lowest")),
    conditions: option.thing,
    price_below: option.orNull(option.positive),
    played_on: option.orNull(option.text),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const rated = onCourt(bench, asked, played_on);
  const chosen = chosenShoes(bench, { conditions, price_below, reliability, seed });
  const { meets } = chosen;
  const known = asked === null
    ? indexOrder(bench, { reliability, seed, confidence, order })
    : valueOrder(rated, asked, { reliability, confidence, order, first });
  const kept = known.shoes.filter(({ shoe_id }) => meets(shoe_id) === true);
  if (kept.length === 0) {
    throw new CantAnswer(
      { code: "none-meets", of: known.shoes.length },
      `None of ${known.shoes.length} shoes with a value surely meets what is asked`,
    );
  }
  const beats = known.beats(kept.map(({ shoe_id }) => shoe_id));
  const shoes = kept.map((row): BestShoe => {
    const { price, currency } = bench.shoes.find(({ shoe_id }) => shoe_id === row.shoe_id)!;
    const ahead = beats.filter(([, worse]) => worse === row.shoe_id).length;
    const behind = beats.filter(([better]) => better === row.shoe_id).length;
    return {
      ...row,
      place: 1 + kept.filter(({ value }) => known.direction * (value - row.value) > 1e-12).length,
      ahead,
      behind,
      word: ahead >= first
        ? "not among them"
        : kept.length - behind <= first
        ? "among them"
        : "may be",
      price,
      currency,
    };
  });
  const having = (word: BestShoe["word"]) => shoes.filter((shoe) => shoe.word === word).length;
  return {
    question: "best",
    on: known.on,
    rule: known.rule,
    order: known.direction === 1 ? "highest" : "lowest",
    told_in: known.told_in,
    told_in_reason: known.told_in_reason,
    first,
    confidence,
    method: known.method,
    conditions: chosen.conditions,
    price_below,
    currency: chosen.currency,
    played_on,
    open: known.shoes.filter(({ shoe_id }) => meets(shoe_id) === null).length,
    shoes,
    surely: having("among them"),
    may_be: having("may be"),
    noise_known: known.noise_known,
    trials: known.trials,
    last_trial: known.last_trial,
    ratings: known.ratings,
    warnings: onePairWarnings(reliability, known.metrics),
  };
}

/** Shoes best first, and who beats whom among some of them. */
type Order =
  & Pick<
    BestShoes,
    | "on"
    | "rule"
    | "told_in"
    | "told_in_reason"
    | "method"
    | "noise_known"
    | "trials"
    | "last_trial"
    | "ratings"
  >
  & {
    readonly direction: 1 | -1;
    /** Ids of what it rests on. */
    readonly metrics: readonly string[];
    readonly shoes: readonly ShoeOn[];
    /** Pairs of better and worse that are shown. */
    readonly beats: (kept: readonly string[]) => readonly (readonly [string, string])[];
  };

function valueOrder(
  bench: Bench,
  asked: AskedOn,
  { reliability, confidence, order, first }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence: number;
    readonly order: "highest" | "lowest" | null;
    readonly first: number;
  },
): Order {
  const known = shoesOn(bench, asked, { reliability, confidence });
  const { on } = known;
  const direction = order === null ? directionOf(on) : order === "highest" ? 1 : -1;
  if (direction === 0) {
    throw new CantAnswer(
      { code: "no-better", metric: on.title },
      `More ${on.title} is neither good nor bad, so no shoe is the best on it: ask by order for the highest or the lowest`,
    );
  }
  const first_end = direction === 1 ? "above" : "below";
  const ahead = known.bounded.filter(({ bound }) => first_end in bound).map(({ name }) => name);
  if (ahead.length > 0) {
    throw new CantAnswer(
      { code: "best-beyond-bound", metric: on.title, shoes: ahead },
      `The first places on ${on.title} run off the end of its scale: of ${
        ahead.length === 1 ? ahead[0] : `${ahead.length} shoes`
      } only a bound is known`,
    );
  }
  const shoes = known.shoes.toSorted((a, b) =>
    direction * (b.value - a.value) || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  return {
    ...known,
    rule: null,
    direction,
    metrics: on.metric === null ? [] : [on.metric],
    shoes,
    method: "each of the first places against every other shoe, t, Holm over all of these",
    noise_known: shoes.length < 2 || shoes.some(({ lower }) => lower !== null),
    beats: (kept) => {
      const differences = kept.slice(0, first).flatMap((shoe, place) =>
        known.against(shoe, kept.slice(place + 1))
      );
      return shownDifferences(differences, confidence).map(({ a, b, difference }) =>
        direction * difference > 0 ? [a, b] as const : [b, a] as const
      );
    },
  };
}

function indexOrder(
  bench: Bench,
  { reliability, seed, confidence, order }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly confidence: number;
    readonly order: "highest" | "lowest" | null;
  },
): Order {
  const { scores, scored, apart } = drawnIndexScores(bench, { reliability, seed, confidence });
  if (scores.rule === null) {
    throw new CantAnswer(
      { code: "no-rule" },
      "No index rule is in force, so no shoe is the best by it",
    );
  }
  const direction = order === "lowest" ? -1 : 1;
  const place = new Map(scored.map((shoe, index) => [shoe, index]));
  const terms =
    bench.rules.find(({ id, version }) =>
      id === scores.rule!.id && version === scores.rule!.version
    )!.terms;
  const metrics = [...new Set(terms.map(({ metric }) => metric))];
  const visits = metrics.flatMap((metric) => publishedVisits(bench, metric))
    .filter(({ shoe_id }) => place.has(shoe_id));
  const known = scores.shoes.filter(({ shoe_id }) => place.has(shoe_id))
    .toSorted((a, b) => direction * (b.score! - a.score!) || (a.shoe_id < b.shoe_id ? -1 : 1));
  return {
    on: {
      metric: null,
      attribute: null,
      title: scores.rule.title,
      unit: null,
      decimals: 2,
      better: "higher",
      possible: { low: null, high: null },
      smallest_difference: null,
      same_evidence_as: null,
      group: null,
    },
    rule: { id: scores.rule.id, version: scores.rule.version, title: scores.rule.title },
    told_in: "places",
    told_in_reason: null,
    method: scores.method,
    direction,
    metrics,
    shoes: known.map((row): ShoeOn => ({
      shoe_id: row.shoe_id,
      name: row.name,
      value: row.score!,
      lower: row.lower,
      upper: row.upper,
      readings: visits.filter(({ shoe_id }) => shoe_id === row.shoe_id)
        .reduce((total, { values }) => total + values.length, 0),
    })),
    noise_known: known.length < 2 || known.some(({ lower }) => lower !== null),
    beats: (kept) =>
      kept.flatMap((one) =>
        kept.filter((other) =>
          direction === 1
            ? apart[place.get(one)!][place.get(other)!]
            : apart[place.get(other)!][place.get(one)!]
        ).map((other) => [one, other] as const)
      ),
    trials: visits.reduce((total, { values }) => total + values.length, 0),
    last_trial: visits.map(({ date }) => date).sort().at(-1) ?? null,
    ratings: 0,
  };
}

/** The bench with the ratings given on one court alone. */
function onCourt(bench: Bench, asked: AskedOn | null, played_on: string | null): Bench {
  if (played_on === null) return bench;
  if (asked === null || "metric" in asked) {
    throw new CantAnswer(
      { code: "not-by-court" },
      "Only ratings are kept court by court: name an impression",
    );
  }
  const own = bench.impressions.filter(({ attribute, rating }) =>
    attribute === asked.attribute && rating !== null
  );
  const kept = own.filter(({ surface, shoe_id }) =>
    surface === played_on && !isInstrument(bench, shoe_id)
  );
  if (kept.length > 0) return { ...bench, impressions: kept };
  const courts = [...new Set(own.flatMap(({ surface }) => surface ?? []))].sort();
  throw new CantAnswer(
    { code: "no-rating-on-court", court: played_on, courts },
    `This bench can't tell: no rating of ${asked.attribute} was given on a court called "${played_on}"; there are ratings from ${
      courts.length === 0 ? "no named court" : courts.join(", ")
    }`,
  );
}
