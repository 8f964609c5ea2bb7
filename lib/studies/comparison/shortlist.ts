import { mean, sampleVariance, sum } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, Metric, Surface } from "../../records/types.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import type { AnswerParts } from "./answer_parts.ts";
import { counted, listed, measured, midSentence } from "../../words/comparison/answer_words.ts";
import { askedMetric, namesOf } from "../shoes/asked_shoes.ts";
import { comparisonCautions } from "../../words/comparison/comparison_notes.ts";
import { offerNames } from "../../records/near_names.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** What a shoe must be to come on the list. */
export type ShortlistCondition =
  /** Within the best share of the catalogue, such as 1/3; needs a metric of which more, or less, is better. */
  | { readonly kind: "best share"; readonly metric: string; readonly share: number }
  /** In the metric's unit. */
  | { readonly kind: "at most" | "at least"; readonly metric: string; readonly value: number }
  | { readonly kind: "width"; readonly width: string }
  | { readonly kind: "surface"; readonly surface: string }
  | { readonly kind: "feature"; readonly feature: string };

/** One shoe against one condition. */
export type ConditionMet = {
  /** Chance that the shoe meets it, given the noise; null where nothing is known. */
  readonly probability: number | null;
  readonly probability_reason: string | null;
  /** What the bench or the record says. */
  readonly found: string;
};

/** One shoe against all conditions. */
export type ShortlistShoe = {
  readonly shoe_id: string;
  readonly name: string;
  /** Chance that it meets all conditions whose outcome can be known. */
  readonly probability: number | null;
  readonly probability_reason: string | null;
  readonly word: "on the list" | "off the list" | "can't tell";
  /** In the order of the conditions. */
  readonly conditions: readonly ConditionMet[];
};

/** Which shoes meet some conditions, and how certain that is. */
export type Shortlist = AnswerParts & {
  readonly question: "shortlist";
  /** Each condition in words. */
  readonly conditions: readonly string[];
  readonly confidence: number;
  readonly method: string;
  readonly draws: number;
  /** Most certain first; shoes that surely miss a condition last. */
  readonly shoes: readonly ShortlistShoe[];
  readonly on_the_list: number;
  readonly cant_tell: number;
};

/**
 * Which shoes meet these conditions, and how sure is each?
 *
 * A shoe's true value is drawn many times from what is known of it: its value on the bench, drawn in
 * towards the catalogue's mean by as much as the noise bears on it (the shoe and noise variances of the
 * metric), with the spread that is left. Without that, the shoes at the top would hold too many whose
 * noise put them there. The best share is found anew in every draw. The chance of a shoe is the share
 * of draws in which it meets all conditions; noise of different metrics is drawn independently.
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
  if (conditions.length === 0) throw new RangeError("A shortlist takes one condition or more");
  conditions.forEach((condition) => checkCondition(bench, condition));
  const metrics = [
    ...new Set(conditions.flatMap((condition) => "metric" in condition ? condition.metric : [])),
  ];
  const known = new Map(
    metrics.map((id) => [id, drawTruth(bench, id, { reliability, seed, draws })]),
  );
  const names = namesOf(bench.shoes);
  const outcomes = conditions.map((condition) => outcomesOf(bench, condition, known, draws));

  const shoes = bench.shoes.map(({ shoe_id }, index): ShortlistShoe => {
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
      name: names[index],
      probability,
      probability_reason: open ? listed(silent.map(({ found }) => found)) : null,
      word: probability === null
        ? "can't tell"
        : probability >= confidence
        ? "on the list"
        : probability <= 1 - confidence
        ? "off the list"
        : "can't tell",
      conditions: own.map(({ meets, found }) => ({
        probability: meets === null ? null : sum([...meets]) / draws,
        probability_reason: meets === null ? found : null,
        found,
      })),
    };
  });
  const chanceOf = (shoe: ShortlistShoe) => shoe.probability ?? 0.5 * (1 - confidence) + 0.01;
  const sorted = shoes.toSorted((a, b) =>
    chanceOf(b) - chanceOf(a) || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const words = conditions.map((condition) => conditionWords(bench, condition));
  const on = sorted.filter(({ word }) => word === "on the list");
  const open = sorted.filter(({ word }) => word === "can't tell");
  const sentence = shortlistSentence({ on, open, words, confidence });
  const trials = metrics.map((id) => publishedVisits(bench, id)).flat();
  return {
    question: "shortlist",
    conditions: words,
    confidence,
    method:
      `share of ${draws} draws of the shoes' true values, drawn in towards the catalogue's mean by the noise`,
    draws,
    shoes: sorted,
    on_the_list: on.length,
    cant_tell: open.length,
    trials: sum(trials.map((visit) => visit.values.length)),
    last_trial: trials.map((visit) => visit.date).sort().at(-1) ?? null,
    sentence,
    alt: `${sentence} Conditions: ${
      words.join("; ")
    }. Each shoe's chance of meeting them all, from 0 to 100%.`,
    notes: [
      `"On the list" means a chance of at least ${
        Math.round(confidence * 100)
      }% given the noise of the bench; "off the list" at most ${
        Math.round((1 - confidence) * 100)
      }%.`,
      ...metrics.filter((id) =>
        known.get(id)!.size > 0 && !known.get(id)!.values().next().value!.noisy
      )
        .map((id) => `The noise of ${id} is unknown: its values are taken as they are.`),
    ],
    cautions: comparisonCautions(bench, metrics.map((metric) => ({ metric }))),
    warnings: [],
  };
}

type DrawnTruth = { readonly value: number; readonly draws: Float64Array; readonly noisy: boolean };

function drawTruth(
  bench: Bench,
  id: string,
  { reliability, seed, draws }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly draws: number;
  },
): ReadonlyMap<string, DrawnTruth> {
  const about = reliability.metrics.find((row) => row.metric === id);
  const byShoe = Map.groupBy(publishedVisits(bench, id), (visit) => visit.shoe_id);
  const values = new Map(
    [...byShoe].map(([shoe, visits]) => [
      shoe,
      mean(visits.map((visit) => mean([...visit.values]))),
    ]),
  );
  const all = [...values.values()];
  const centre = all.length === 0 ? 0 : mean(all);
  const between = about?.components.find((part) => part.source === "shoe")?.variance ??
    (all.length > 1 ? sampleVariance(all) : 0);
  const place = bench.metrics.findIndex((metric) => metric.id === id);
  return new Map([...values].map(([shoe, value]): [string, DrawnTruth] => {
    const noise = pairNoise(byShoe.get(shoe)!, [], about)?.variance ?? null;
    if (noise === null) {
      return [shoe, { value, draws: new Float64Array(draws).fill(value), noisy: false }];
    }
    const kept = between + noise > 0 ? between / (between + noise) : 1;
    const expected = centre + kept * (value - centre);
    const spread = Math.sqrt(kept * noise);
    // A stream of its own for every metric and shoe: one more in the table moves no draw of the others.
    const stream = randomStream(seed, place, bench.shoes.findIndex((own) => own.shoe_id === shoe));
    const drawn = stream.fillNormal(new Float64Array(draws));
    for (let draw = 0; draw < draws; draw++) drawn[draw] = expected + spread * drawn[draw];
    return [shoe, { value, draws: drawn, noisy: true }];
  }));
}

/** For a shoe: 1 in the draws where it meets the condition, or null where the record is silent. */
type Outcome = (shoe: string) => { readonly meets: Uint8Array | null; readonly found: string };

function outcomesOf(
  bench: Bench,
  condition: ShortlistCondition,
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
          ? { meets: null, found: `${condition.kind} not labelled` }
          : { meets: always(fits), found };
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
          ? { meets: null, found: `${condition.feature} not checked` }
          : { meets: always(found === "yes"), found: `${condition.feature}: ${found}` };
      };
    }
    default: {
      const metric = askedMetric(bench, condition.metric);
      const truth = known.get(condition.metric)!;
      const limits = condition.kind === "best share"
        ? bestShareLimits([...truth.values()], condition.share, metric, draws)
        : new Float64Array(draws).fill(condition.value);
      const above = condition.kind === "at least" ||
        (condition.kind === "best share" && betterDirection(metric.better) === 1);
      return (id) => {
        const own = truth.get(id);
        if (own === undefined) {
          return { meets: null, found: `${midSentence(metric.title)} not benched` };
        }
        const meets = new Uint8Array(draws);
        for (let draw = 0; draw < draws; draw++) {
          meets[draw] = Number(
            above ? own.draws[draw] >= limits[draw] : own.draws[draw] <= limits[draw],
          );
        }
        return { meets, found: measured(own.value, metric) };
      };
    }
  }
}

/** In every draw the value of the last shoe that still belongs to the best share. */
function bestShareLimits(
  truth: readonly DrawnTruth[],
  share: number,
  { better }: Metric,
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

function checkCondition(bench: Bench, condition: ShortlistCondition): void {
  const known = (what: string, given: string, there: readonly string[]) => {
    if (!there.includes(given)) {
      throw new CantAnswer(
        { code: "not-on-bench", what, id: given },
        there.length === 0
          ? `No shoe has a ${what} in the records, so none can have ${given}`
          : `There is no ${what} "${given}". ${offerNames(given, there)}`,
      );
    }
  };
  switch (condition.kind) {
    case "width":
      return known(
        "width",
        condition.width,
        [
          ...new Set(bench.shoes.flatMap(({ width }) => width ?? [])),
        ].sort(),
      );
    case "surface": {
      const all: readonly Surface[] = ["all-court", "hard", "clay", "grass", "indoor"];
      return known("surface", condition.surface, all);
    }
    case "feature":
      return known(
        "feature",
        condition.feature,
        [
          ...new Set(bench.features.map(({ feature_id }) => feature_id)),
        ].sort(),
      );
    case "best share": {
      const { better, id } = askedMetric(bench, condition.metric);
      if (!(condition.share > 0 && condition.share < 1)) {
        throw new RangeError(
          `A share lies between 0 and 1, was given ${condition.share} for ${id}`,
        );
      }
      if (betterDirection(better) === 0) {
        throw new CantAnswer(
          { code: "no-better", metric: id },
          `More ${id} is neither good nor bad, so it has no best share: ask for at most or at least`,
        );
      }
      return;
    }
    default:
      askedMetric(bench, condition.metric);
      if (!Number.isFinite(condition.value)) {
        throw new RangeError(
          `A limit is a number in the metric's unit, was given ${condition.value} for ${condition.metric}`,
        );
      }
  }
}

function conditionWords(bench: Bench, condition: ShortlistCondition): string {
  switch (condition.kind) {
    case "width":
      return `labelled ${condition.width}`;
    case "surface":
      return condition.surface === "all-court"
        ? "sold for all courts"
        : `sold for ${condition.surface} or all courts`;
    case "feature":
      return `has ${condition.feature}`;
    case "best share": {
      const title = midSentence(askedMetric(bench, condition.metric).title);
      const share = Math.abs(condition.share - 1 / 3) < 0.01
        ? "third"
        : `${Math.round(condition.share * 100)}%`;
      return `${title} in the best ${share}`;
    }
    default: {
      const metric = askedMetric(bench, condition.metric);
      return `${midSentence(metric.title)} ${condition.kind} ${measured(condition.value, metric)}`;
    }
  }
}

function shortlistSentence(
  { on, open, words, confidence }: {
    readonly on: readonly ShortlistShoe[];
    readonly open: readonly ShortlistShoe[];
    readonly words: readonly string[];
    readonly confidence: number;
  },
): string {
  const what = words.join(", ");
  const sure = `with a chance of ${Math.round(100 * confidence)}% or more`;
  if (on.length === 0) {
    return open.length === 0
      ? `No shoe meets this: ${what}.`
      : `No shoe meets this ${sure}, ${counted(open.length, "shoe")} may: ${what}.`;
  }
  const who = on.length <= 3 ? listed(on.map(({ name }) => name)) : `${on.length} shoes`;
  const unsure = open.length === 0 ? "no other is in doubt" : `${open.length} more may`;
  return `${who} ${on.length === 1 ? "meets" : "meet"} this ${sure}, ${unsure}: ${what}.`;
}
