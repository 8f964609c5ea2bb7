import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import { isInstrument } from "../../records/selection.ts";
import type { BoundedShoe } from "../shoes/bounded_readings.ts";
import { boundedShoes, publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { betterDirection, type Standing, standing } from "../../statistics/percentile.ts";
import type { Reason } from "../../statistics/reason.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { valueInterval } from "../repeatability/value_interval.ts";
import type { MetricReliability, TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import { type AnswerParts, onePairWarnings } from "./answer_parts.ts";
import { type CataloguePlace, cataloguePlaces } from "./catalogue_places.ts";
import { comparedMetric, type ComparedOn } from "./compared_on.ts";

/** How finely a metric may be told over the catalogue, by its repeatability. */
export type Fineness = "places" | "tiers" | "groups";

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
  /** An instrument of the bench, which takes no place; its `percentile` is null. */
  readonly reference: boolean;
  /** Of the asked shoes, or of the first where none is asked; null for all others and for references. */
  readonly place: CataloguePlace | null;
  /** Limits of `percentile`, and of `better_than` where it has one, from the places it could have. */
  readonly standing_lower: number | null;
  readonly standing_upper: number | null;
};

/** The whole catalogue on one metric, with the asked shoes marked. */
export type CatalogueStanding = AnswerParts & {
  readonly question: "catalogue";
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly method: string;
  /** Best first; highest first where more is neither good nor bad; reference shoes last. */
  readonly shoes: readonly CatalogueShoe[];
  /** Shoes that take a place. */
  readonly placed: number;
  /** Products that ran off the end of the scale: in `placed`, without a value. */
  readonly bounded: readonly (Pick<BoundedShoe, "shoe_id" | "bound" | "readings"> & {
    readonly name: string;
  })[];
  /** Single places, thirds or halves: what the metric is fit for. */
  readonly told_in: Fineness;
  /** Why its places may not be told, or its noise is unknown. */
  readonly told_in_reason: Reason | null;
  /** Values between which the middle third lies; null with fewer than six shoes. */
  readonly thirds: readonly [number, number] | null;
  /** Whether the noise between sessions is in the intervals. */
  readonly session_noise: boolean;
};

/**
 * Where do these shoes stand in the whole catalogue on one metric?
 *
 * Every shoe with its value and interval from the metric's noise (t, Satterthwaite); the asked ones with the
 * places they could have, each tested against every other shoe and holding by itself, so that a shoe stands
 * the same here and in a comparison (`cataloguePlaces`). A metric is told as
 * finely as its repeatability bears: single places, thirds, halves. One that is not fit to publish is
 * refused. Reference shoes take no place, unless the bench ranks them.
 *
 * @param options `shoes` to mark, none to six; `metric` its id
 * @throws {RangeError} if a shoe or the metric is unknown
 * @throws {CantAnswer} if a marked shoe or the catalogue has no value, or the metric is not fit to publish
 */
export function catalogueStanding(
  bench: Bench,
  { metric: typed, shoes: ids = [], reliability, confidence = bench.settings.confidence }: {
    readonly metric: string;
    readonly shoes?: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): CatalogueStanding {
  option.check("studies.catalogueStanding", arguments[1], {
    metric: option.needed(option.text),
    shoes: option.listOf(option.text),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const metric = askedMetric(bench, typed);
  const { id } = metric;
  const asked = new Map(askedShoes(bench, ids).map(({ shoe_id, name }) => [shoe_id, name]));
  const about = reliability.metrics.find((row) => row.metric === id);
  refuseUnfit(metric, about);
  const visits = publishedVisits(bench, id);
  const values = shoeValues(bench, id, metricNoise(about));
  if (values.length === 0) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [], metrics: [id] },
      `No shoe has a trial on ${id}`,
    );
  }
  const beyond = boundedShoes(bench, id).filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  for (const [shoe_id, name] of asked) {
    if (beyond.some((row) => row.shoe_id === shoe_id)) {
      throw new CantAnswer(
        { code: "beyond-scale", shoe: name, metric: metric.title },
        `${name} ran off the end of the scale of ${metric.title}: a bound is all that is known of it, and it has no place`,
      );
    }
    if (!values.some((row) => row.shoe_id === shoe_id)) {
      throw new CantAnswer(
        { code: "not-measured", shoes: [shoe_id], metrics: [id] },
        `${name} has no trial on ${id}`,
      );
    }
  }
  const shoes = catalogueShoes(bench, metric, { asked: [...asked.keys()], about, confidence });
  const nameOf = new Map(
    namesOf(bench.shoes).map((name, index) => [bench.shoes[index].shoe_id, name]),
  );
  const sorted = shoes.filter((shoe) => !shoe.reference).map(({ value }) => value)
    .sort((a, b) => a - b);
  const cut = (share: number) => {
    const at = Math.round(share * sorted.length);
    return (sorted[at - 1] + sorted[at]) / 2;
  };
  return {
    question: "catalogue",
    on: comparedMetric(metric),
    confidence,
    method:
      "mean of visits, t interval from the metric's variance components (Satterthwaite); each shoe's places by Holm over all other shoes",
    shoes,
    placed: sorted.length + beyond.length,
    bounded: beyond.map(({ shoe_id, bound, readings }) => ({
      shoe_id,
      name: nameOf.get(shoe_id)!,
      bound,
      readings,
    })),
    ...fineness(about),
    // Thirds of the shoes that have a value.
    thirds: sorted.length < 6 ? null : [cut(1 / 3), cut(2 / 3)],
    trials: sum(values.map((row) => row.trials)),
    last_trial: visits.map((visit) => visit.date).sort().at(-1) ?? null,
    session_noise: about?.components.some((part) => part.source === "shoe:session") ?? false,
    warnings: onePairWarnings(reliability, [id]),
  };
}

/** Every shoe with a value, in the order of the answer; the asked ones with the places they could have. */
export function catalogueShoes(
  bench: Bench,
  metric: Metric,
  { asked, about, confidence }: {
    readonly asked: readonly string[];
    readonly about: MetricReliability | undefined;
    readonly confidence: number;
  },
): CatalogueShoe[] {
  const byShoe = Map.groupBy(publishedVisits(bench, metric.id), (visit) => visit.shoe_id);
  const direction = betterDirection(metric.better);
  const names = new Map(
    namesOf(bench.shoes).map((name, index) => [bench.shoes[index].shoe_id, name]),
  );
  const values = shoeValues(bench, metric.id, metricNoise(about));
  const products = values.filter(({ shoe_id }) => !isInstrument(bench, shoe_id))
    .toSorted((a, b) => (direction || 1) * (b.value - a.value) || (a.shoe_id < b.shoe_id ? -1 : 1));
  const rest = values.filter((row) => !products.includes(row));
  const noiseOf = (a: string, b: string) => pairNoise(byShoe.get(a)!, byShoe.get(b)!, about);
  const beyond = boundedShoes(bench, metric.id).filter(({ shoe_id }) =>
    !isInstrument(bench, shoe_id)
  );
  const places = cataloguePlaces(
    products,
    asked.length > 0 ? asked : products.slice(0, 1).map(({ shoe_id }) => shoe_id),
    { direction: direction || 1, noiseOf, confidence },
  );
  return [...products, ...rest].map((row): CatalogueShoe => {
    const { shoe_id, value, trials } = row;
    const reference = rest.includes(row);
    // A bound that the value lies past stands on its own side of it; any other could stand on either.
    const others = beyond.map(({ bound }) =>
      "below" in bound
        ? value >= bound.below ? value - 1 : value
        : value <= bound.above
        ? value + 1
        : value
    );
    const place = withBounded(places.get(shoe_id), others, { value, direction: direction || 1 });
    return {
      shoe_id,
      name: names.get(shoe_id)!,
      value,
      ...valueInterval(value, pairNoise(byShoe.get(shoe_id)!, [], about), confidence),
      trials,
      asked: asked.includes(shoe_id),
      asked_place: asked.includes(shoe_id) ? asked.indexOf(shoe_id) : null,
      reference,
      place,
      ...standingLimits(place, products.length + beyond.length),
      ...(reference
        ? noStanding({ code: "reference-shoe" }, products.length + beyond.length)
        : standing(value, [...products.map((product) => product.value), ...others], direction)),
    };
  });
}

/** A place among all: shoes known by a bound are ahead where they surely read so, and are never shown to be behind. */
function withBounded(
  place: CataloguePlace | undefined,
  others: readonly number[],
  { value, direction }: { readonly value: number; readonly direction: number },
): CataloguePlace | null {
  if (place === undefined) return null;
  if (others.length === 0) return place;
  return {
    place: place.place + others.filter((other) => direction * (other - value) > 0).length,
    place_lower: place.place_lower,
    place_upper: place.place_upper === null ? null : place.place_upper + others.length,
  };
}

function standingLimits(place: CataloguePlace | null, placed: number) {
  const share = (rank: number) => 100 * (placed - rank) / (placed - 1);
  const known = place !== null && place.place_lower !== null && placed > 1;
  return {
    standing_lower: known ? share(place.place_upper!) : null,
    standing_upper: known ? share(place.place_lower!) : null,
  };
}

function noStanding(reason: Reason, catalogue: number): Standing {
  return { percentile: null, percentile_reason: reason, better_than: null, catalogue };
}

/** A metric that the review would not publish is not published here either. */
export function refuseUnfit(
  { title }: Pick<Metric, "title">,
  about: Pick<MetricReliability, "verdict" | "verdict_reason"> | undefined,
  so = "no shoe is placed by it",
): void {
  if (about?.verdict !== "not fit to publish") return;
  throw new CantAnswer(
    { code: "not-fit-to-publish", metric: title },
    `${title} is not fit to publish, so ${so}`,
    [about.verdict_reason],
  );
}

/** How finely may a metric be told? */
export function fineness(
  about: Pick<MetricReliability, "verdict" | "verdict_reason" | "components"> | undefined,
): { readonly told_in: Fineness; readonly told_in_reason: Reason | null } {
  if (about === undefined || metricNoise(about) === null) {
    return { told_in: "groups", told_in_reason: { code: "noise-unknown" } };
  }
  switch (about.verdict) {
    case "fit to rank single shoes":
      return { told_in: "places", told_in_reason: null };
    case "fit for tiers":
      return { told_in: "tiers", told_in_reason: about.verdict_reason };
    default:
      return { told_in: "groups", told_in_reason: about.verdict_reason };
  }
}
