import { isInstrument } from "../../records/selection.ts";
import { refuseUnfit } from "./catalogue_standing.ts";
import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import { type BoundedOn, boundReason } from "../shoes/bounded_readings.ts";
import { boundedShoes, publishedVisits } from "../shoes/published_visits.ts";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import { namesOf } from "../shoes/asked_shoes.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { type AnswerParts, onePairWarnings } from "./answer_parts.ts";
import type { ComparedOn } from "./compared_on.ts";
import { type DrawnTruth, drawTruth } from "./drawn_truth.ts";
import {
  type AskedCondition,
  askedConditions,
  type ShortlistCondition,
} from "./shortlist_conditions.ts";

/** One shoe against one condition. */
export type ConditionMet = {
  /** Chance that the shoe meets it, given the noise; null where nothing is known. */
  readonly probability: number | null;
  readonly probability_reason: Reason | null;
  /** What the bench or the record says: a value in the metric's unit, a label, or yes and no. */
  readonly value: number | string | null;
};

/** One shoe against all conditions. */
export type ShortlistShoe = {
  readonly shoe_id: string;
  readonly name: string;
  /** Chance that it meets all conditions whose outcome can be known. */
  readonly probability: number | null;
  readonly probability_reason: Reason | null;
  readonly word: "on the list" | "off the list" | "can't tell";
  /** In the order of the conditions. */
  readonly conditions: readonly ConditionMet[];
};

/** Which shoes meet some conditions, and how certain that is. */
export type Shortlist = AnswerParts & {
  readonly question: "shortlist";
  readonly asked: readonly AskedCondition[];
  readonly confidence: number;
  readonly method: string;
  readonly draws: number;
  /** Most certain first, then those that a silent record leaves open; shoes off the list last. */
  readonly shoes: readonly ShortlistShoe[];
  readonly on_the_list: number;
  readonly cant_tell: number;
  /** Shoes that ran off the end of the scale of a metric asked for: whether they meet that can't be told. */
  readonly bounded: readonly BoundedOn[];
  /** Titles of metrics whose noise is unknown. */
  readonly noise_unknown: readonly string[];
};

/**
 * Which shoes meet these conditions, and how sure is each?
 *
 * A shoe's true value is drawn many times from what is known of it: its value on the bench, drawn in
 * towards the catalogue's mean by as much as the noise bears on it (the shoe and noise variances of the
 * metric), with the spread that is left; the noise, too, is drawn, as few readings tell it less well.
 * Without drawing in, the shoes at the top would hold too many whose noise put them there. The best
 * share is found anew in every draw. The chance of a shoe is the share of draws in which it meets all
 * conditions; noise of different metrics is drawn independently.
 *
 * *On the list* from a chance as high as the confidence, *off the list* at its complement or below,
 * else *can't tell*. A record that is silent (no label, a feature never checked, a metric never
 * benched) is can't tell, unless another condition is surely missed.
 *
 * @throws {RangeError} without conditions, or if a metric, width, surface or feature is unknown, or a
 * metric of which more is neither good nor bad is asked for its best share
 * @see Efron & Morris 1975, Journal of the American Statistical Association 70:311, for drawing in
 */
export function shortlist(
  bench: Bench,
  { conditions, reliability, seed, draws = 4000, confidence = bench.settings.confidence }: {
    readonly conditions: readonly ShortlistCondition[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly draws?: number;
    readonly confidence?: number;
  },
): Shortlist {
  option.check("studies.shortlist", arguments[1], {
    conditions: option.needed(option.thing),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
    draws: option.whole(0),
    confidence: option.share,
  });
  const asked = askedConditions(bench, conditions);
  const metrics = [...new Set(asked.flatMap(({ on }) => on?.metric ?? []))];
  for (const { on } of asked) {
    if (on === null) continue;
    const about = reliability.metrics.find(({ metric }) => metric === on.metric);
    refuseUnfit(on, about, "no shoe is listed by it");
  }
  // Instruments of the bench are no products: they take no place in a best third either.
  const names = namesOf(bench.shoes);
  const products = bench.shoes.map(({ shoe_id }, index) => ({ shoe_id, name: names[index] }))
    .filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const known = new Map(metrics.map((id) => {
    const truth = drawTruth(bench, id, { reliability, seed, draws });
    return [id, new Map([...truth].filter(([shoe]) => !isInstrument(bench, shoe)))] as const;
  }));
  const outcomes = asked.map((condition) => outcomesOf(bench, condition, known, draws));

  const shoes = products.map(({ shoe_id, name }): ShortlistShoe => {
    const own = outcomes.map((of) => of(shoe_id));
    const silent = own.filter(({ meets }) => meets === null);
    let met = 0;
    for (let draw = 0; draw < draws; draw++) {
      if (own.every(({ meets }) => meets === null || meets[draw] === 1)) met++;
    }
    const chance = met / draws;
    // A silent record leaves open what the other conditions allow, and nothing where they are missed.
    const open = silent.length > 0 && chance > 1 - confidence;
    const probability = open ? null : chance;
    return {
      shoe_id,
      name,
      probability,
      probability_reason: open ? { code: "condition-open", conditions: silent.length } : null,
      word: probability === null
        ? "can't tell"
        : probability >= confidence
        ? "on the list"
        : probability <= 1 - confidence
        ? "off the list"
        : "can't tell",
      conditions: own.map(({ meets, reason, value }) => ({
        probability: meets === null ? null : sum([...meets]) / draws,
        probability_reason: reason,
        value,
      })),
    };
  });
  const isOff = ({ word }: ShortlistShoe) => word === "off the list" ? 1 : 0;
  const sorted = shoes.toSorted((a, b) =>
    isOff(a) - isOff(b) || (b.probability ?? 0) - (a.probability ?? 0) ||
    (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const having = (word: ShortlistShoe["word"]) => shoes.filter((shoe) => shoe.word === word).length;
  const trials = metrics.flatMap((id) => publishedVisits(bench, id))
    .filter((visit) => !isInstrument(bench, visit.shoe_id));
  return {
    question: "shortlist",
    asked,
    confidence,
    method:
      `share of ${draws} draws of the shoes' true values, drawn in towards the catalogue's mean by the noise`,
    draws,
    shoes: sorted,
    on_the_list: having("on the list"),
    cant_tell: having("can't tell"),
    bounded: metrics.flatMap((id) => {
      const beyond = new Set(boundedShoes(bench, id).map(({ shoe_id }) => shoe_id));
      const { title } = bench.metrics.find((metric) => metric.id === id)!;
      return products.filter(({ shoe_id }) => beyond.has(shoe_id))
        .map(({ shoe_id, name }) => ({ shoe_id, name, title }));
    }),
    noise_unknown: asked.flatMap(({ on }) => {
      const [first] = on === null ? [] : known.get(on.metric!)!.values();
      return first === undefined || first.noisy ? [] : [on!.title];
    }),
    trials: sum(trials.map((visit) => visit.values.length)),
    last_trial: trials.map((visit) => visit.date).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, asked.flatMap(({ on }) => on?.metric ?? [])),
  };
}

/** For a shoe: 1 in the draws where it meets the condition, or null where the record is silent. */
type Outcome = (shoe: string) => {
  readonly meets: Uint8Array | null;
  readonly reason: Reason | null;
  readonly value: ConditionMet["value"];
};

function outcomesOf(
  bench: Bench,
  condition: AskedCondition,
  known: ReadonlyMap<string, ReadonlyMap<string, DrawnTruth>>,
  draws: number,
): Outcome {
  const always = (yes: boolean) => new Uint8Array(draws).fill(yes ? 1 : 0);
  switch (condition.kind) {
    case "width":
    case "surface": {
      const byShoe = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
      return (id) => {
        const shoe = byShoe.get(id)!;
        const found = condition.kind === "width" ? shoe.width : shoe.surface;
        const wanted = condition.kind === "width" ? condition.width : condition.surface;
        const fits = found === wanted || (condition.kind === "surface" && found === "all-court");
        return found === null
          ? silent({ code: "not-labelled", what: condition.kind })
          : { meets: always(fits), reason: null, value: found };
      };
    }
    case "price": {
      const priced = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
      return (id) => {
        const { price, currency } = priced.get(id)!;
        return price === null ? silent({ code: "not-labelled", what: "price" }) : {
          meets: always(price <= condition.most),
          reason: null,
          value: `${price} ${currency ?? ""}`.trim(),
        };
      };
    }
    case "feature": {
      const present = new Map(
        bench.features.filter((row) => row.feature_id === condition.feature)
          .map((row) => [row.shoe_id, row.present]),
      );
      return (id) => {
        const found = present.get(id) ?? "unknown";
        return found === "unknown"
          ? silent({ code: "not-checked", feature: condition.feature })
          : { meets: always(found === "yes"), reason: null, value: found };
      };
    }
    default: {
      const metric = condition.on!;
      const truth = known.get(condition.metric)!;
      const limits = condition.kind === "best share"
        ? bestShareLimits([...truth.values()], condition.share, metric, draws)
        : new Float64Array(draws).fill(condition.value);
      const above = condition.kind === "at least" ||
        (condition.kind === "best share" && betterDirection(metric.better) === 1);
      const beyond = new Map(
        boundedShoes(bench, condition.metric).map((row) => [row.shoe_id, row]),
      );
      return (id) => {
        const own = truth.get(id);
        if (own === undefined) {
          const bounded = beyond.get(id);
          return silent(
            bounded === undefined
              ? { code: "not-benched", metric: metric.title }
              : boundReason(bounded, { unit: metric.unit!, decimals: metric.decimals }),
          );
        }
        // Unknown noise is not noise of zero: its reading proves nothing.
        if (!own.noisy) {
          return {
            meets: null,
            reason: { code: "metric-noise-unknown", metric: metric.title },
            value: own.value,
          };
        }
        const meets = new Uint8Array(draws);
        for (let draw = 0; draw < draws; draw++) {
          meets[draw] = Number(
            above ? own.draws[draw] >= limits[draw] : own.draws[draw] <= limits[draw],
          );
        }
        return { meets, reason: null, value: own.value };
      };
    }
  }
}

/** The record says nothing. */
function silent(reason: Reason): ReturnType<Outcome> {
  return { meets: null, reason, value: null };
}

/** In every draw the value of the last shoe that still belongs to the best share. */
function bestShareLimits(
  truth: readonly DrawnTruth[],
  share: number,
  { better }: Pick<ComparedOn, "better">,
  draws: number,
): Float64Array {
  const limits = new Float64Array(draws);
  if (truth.length === 0) return limits;
  const last = Math.max(1, Math.round(share * truth.length));
  const own = new Float64Array(truth.length);
  for (let draw = 0; draw < draws; draw++) {
    for (let shoe = 0; shoe < truth.length; shoe++) own[shoe] = truth[shoe].draws[draw];
    own.sort();
    limits[draw] = better === "lower" ? own[last - 1] : own[truth.length - last];
  }
  return limits;
}
