import { sum } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench } from "../../records/types.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import type { AnswerParts } from "./answer_parts.ts";
import { measured, midSentence } from "../../words/comparison/answer_words.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { comparisonCautions } from "../../words/comparison/comparison_notes.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { betterDirection, type Standing, standing } from "../../statistics/percentile.ts";
import type { ComparedOn } from "./shoe_comparison.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** One shoe of the catalogue on one metric. */
export type CatalogueShoe = Standing & {
  readonly shoe_id: string;
  readonly name: string;
  readonly value: number;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly trials: number;
  readonly asked: boolean;
  /** Its place among the asked shoes, from 0, which gives it the same symbol in every picture. */
  readonly asked_place: number | null;
};

/** The whole catalogue on one metric, with the asked shoes marked. */
export type CatalogueStanding = AnswerParts & {
  readonly question: "catalogue";
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly method: string;
  /** Best first; highest first where more is neither good nor bad. */
  readonly shoes: readonly CatalogueShoe[];
  /** Values between which the middle third lies; null with fewer than six shoes. */
  readonly thirds: readonly [number, number] | null;
};

/**
 * Where do these shoes stand in the whole catalogue on one metric?
 *
 * @param options `shoes` to mark, none to six; `metric` its id
 * @returns every shoe with a value and its interval from the metric's noise (t, Satterthwaite)
 * @throws {RangeError} if a shoe or the metric is unknown, a marked shoe or the catalogue has no value
 */
export function catalogueStanding(
  bench: Bench,
  { metric: id, shoes: ids = [], reliability, confidence = bench.settings.confidence }: {
    readonly metric: string;
    readonly shoes?: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): CatalogueStanding {
  const metric = askedMetric(bench, id);
  const asked = new Map(askedShoes(bench, ids).map(({ shoe_id, name }) => [shoe_id, name]));
  const places = new Map([...asked.keys()].map((shoe_id, place) => [shoe_id, place]));
  const about = reliability.metrics.find((row) => row.metric === id);
  const visits = publishedVisits(bench, id);
  const byShoe = Map.groupBy(visits, (visit) => visit.shoe_id);
  const values = shoeValues(bench, id, metricNoise(about));
  if (values.length === 0) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [], metrics: [id] },
      `No shoe has a trial on ${id}`,
    );
  }
  for (const [shoe_id, name] of asked) {
    if (!byShoe.has(shoe_id)) {
      throw new CantAnswer(
        { code: "not-measured", shoes: [shoe_id], metrics: [id] },
        `${name} has no trial on ${id}`,
      );
    }
  }
  const names = new Map(
    namesOf(bench.shoes).map((name, index) => [bench.shoes[index].shoe_id, name]),
  );
  const direction = betterDirection(metric.better);
  const all = values.map((row) => row.value);
  const shoes = values.map((row): CatalogueShoe => {
    const noise = pairNoise(byShoe.get(row.shoe_id)!, [], about);
    const half = noise === null
      ? null
      : tQuantile((1 + confidence) / 2, noise.freedom) * Math.sqrt(noise.variance);
    return {
      shoe_id: row.shoe_id,
      name: names.get(row.shoe_id)!,
      value: row.value,
      lower: half === null ? null : row.value - half,
      upper: half === null ? null : row.value + half,
      trials: row.trials,
      asked: asked.has(row.shoe_id),
      asked_place: places.get(row.shoe_id) ?? null,
      ...standing(row.value, all, direction),
    };
  }).toSorted((a, b) => (direction || 1) * (b.value - a.value) || (a.shoe_id < b.shoe_id ? -1 : 1));
  const on: ComparedOn = {
    metric: id,
    attribute: null,
    title: metric.title,
    unit: metric.unit,
    decimals: metric.decimals,
    better: metric.better,
    smallest_difference: metric.smallest_difference,
    same_evidence_as: null,
  };
  const sorted = all.toSorted((a, b) => a - b);
  const cut = (share: number) => {
    const at = Math.round(share * sorted.length);
    return (sorted[at - 1] + sorted[at]) / 2;
  };
  const sentence = standingSentence(on, shoes);
  return {
    question: "catalogue",
    on,
    confidence,
    method: "mean of visits, t interval from the metric's variance components (Satterthwaite)",
    shoes,
    thirds: sorted.length < 6 ? null : [cut(1 / 3), cut(2 / 3)],
    trials: sum(values.map((row) => row.trials)),
    last_trial: visits.map((visit) => visit.date).sort().at(-1) ?? null,
    sentence,
    alt: `${sentence} ${metric.title} of ${shoes.length} shoes, from ${
      measured(sorted[0], on)
    } to ${measured(sorted.at(-1)!, on)}.`,
    notes: [
      ...(about?.components.some((part) => part.source === "shoe:session") ? [] : [
        "No shoe was read in two sessions, so the intervals hold the scatter of trials alone, or there are none.",
      ]),
      ...(direction === 0
        ? [`More ${midSentence(metric.title)} is neither good nor bad in itself.`]
        : []),
    ],
    cautions: comparisonCautions(bench, [on]),
    warnings: [],
  };
}

function standingSentence(on: ComparedOn, shoes: readonly CatalogueShoe[]): string {
  const asked = shoes.filter((shoe) => shoe.asked);
  const title = midSentence(on.title);
  const place = (shoe: CatalogueShoe) => {
    const value = measured(shoe.value, on);
    if (shoe.percentile === null) return `${value}, the only shoe benched`;
    return shoe.better_than === null
      ? `${value}, higher than ${share(shoe.percentile)} of the others`
      : `${value}, better than ${share(shoe.better_than)} of the others`;
  };
  if (asked.length === 0) {
    const [first] = shoes;
    const lead = betterDirection(on.better) === 0 ? "reads highest" : "reads best";
    return `${first.name} ${lead} of ${shoes.length} shoes on ${title}: ${
      measured(first.value, on)
    }.`;
  }
  if (asked.length === 1) {
    return `${asked[0].name} on ${title}: ${place(asked[0])} in a catalogue of ${shoes.length}.`;
  }
  const [first, last] = [asked[0], asked.at(-1)!];
  return `On ${title} ${first.name} reads ${place(first)}; ${last.name} ${place(last)}.`;
}

function share(percent: number): string {
  return `${Math.round(percent)}%`;
}
