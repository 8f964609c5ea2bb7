import * as option from "../../options.ts";
import { type BoundedShoe, type BoundedVisits, isTooCoarse } from "../shoes/bounded_readings.ts";
import { boundedShoes, publishedVisits } from "../shoes/published_visits.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench, Better, IndexRule, Shoe } from "../../records/types.ts";
import { normalUpperQuantile, tQuantile } from "../../statistics/distributions.ts";
import { type DrawnIndexScores, drawnIndexScores } from "../index/index_scores.ts";
import { type PanelValue, panelValues } from "../panel/panel_values.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type {
  MetricReliability,
  ReliabilityVerdict,
  TrialReliability,
} from "../repeatability/trial_reliability.ts";
import { type OtherSize, otherSizes } from "../shoes/other_sizes.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";

/** How finely a metric may be published: the review's verdict on it, as a rule for the table. */
export type PublishedAs = "single shoes" | "tiers" | "groups" | "withheld";

/** One metric of the published table. */
export type PublishedMetric = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly better: Better;
  readonly decimals: number;
  readonly published_as: PublishedAs;
  /** The review's verdict, which `published_as` follows unless the metric is withdrawn. */
  readonly verdict: ReliabilityVerdict;
  /** Why the tester publishes it no longer; null where it is published as far as its verdict lets it. */
  readonly withdrawn: string | null;
  /** Whether most of its readings ran off the end of its scale, which is then why it is withheld. */
  readonly too_coarse: boolean;
  /** Whether values and thirds are of the models, or, without a second pair of any, of the pairs benched. */
  readonly about: "pairs" | "models";
  /** Values that part the table's thirds (tiers) or halves (groups); empty where there are too few shoes. */
  readonly cuts: readonly number[];
};

/** One shoe on one metric. */
export type PublishedValue = {
  readonly metric: string;
  /** In the metric's unit. Null where only the group is published, or the shoe has no reading. */
  readonly value: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Beyond what the value lies, where the shoe ran off the end of the scale; else null. */
  readonly bound: BoundedShoe["bound"] | null;
  /** Standard error, with the degrees of freedom behind it; null where noise is unknown. */
  readonly standard_error: number | null;
  readonly freedom: number | null;
  /** Parts of the table, best part 0, that the interval reaches: first and last; null without an interval. */
  readonly parts: readonly [number, number] | null;
  readonly trials: number;
  readonly visits: number;
  readonly last_benched: string;
};

/** The panel on one shoe and impression. */
export type PublishedRating = {
  readonly attribute: string;
  readonly value: number;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly testers: number;
};

/** One shoe of the published table. */
export type PublishedShoe =
  & Pick<
    Shoe,
    | "shoe_id"
    | "maker"
    | "model"
    | "edition"
    | "released"
    | "surface"
    | "size_system"
    | "size"
    | "width"
    | "price"
    | "currency"
  >
  & {
    readonly name: string;
    /** Benched in every session to watch the bench: an instrument, listed apart. */
    readonly reference: boolean;
    readonly score: number | null;
    readonly score_lower: number | null;
    readonly score_upper: number | null;
    readonly rank: number | null;
    readonly rank_lower: number | null;
    readonly rank_upper: number | null;
    /** Shoes that can't be told apart from this one on the index. */
    readonly alike: readonly string[];
    readonly values: readonly PublishedValue[];
    readonly ratings: readonly PublishedRating[];
    /** What pairs of other sizes read, of metrics whose values are published: beside `values`, in none of them. */
    readonly other_sizes: readonly OtherSize[];
  };

/** The catalogue as its readers get it. */
export type PublishedCatalogue = {
  readonly until: string;
  readonly confidence: number;
  readonly rule: Pick<IndexRule, "id" | "version" | "title" | "effective"> | null;
  /** What scores and places are said of, as `PublishedMetric.about`. */
  readonly index_about: "pairs" | "models";
  readonly rating: { readonly min: number; readonly max: number };
  readonly metrics: readonly PublishedMetric[];
  readonly attributes: readonly {
    readonly attribute: string;
    readonly title: string;
    readonly testers: number;
  }[];
  /** Best score first, shoes without a score by name, reference shoes last. */
  readonly shoes: readonly PublishedShoe[];
};

/**
 * What may be published of every shoe, how sure is it, and who can't be told apart from whom?
 *
 * Index, limits and places are `indexScores`'s. A metric goes out as its repeatability allows: fit to
 * rank single shoes or for tiers, every value with its t interval (Satterthwaite) and the thirds of the
 * table that the interval reaches; fit for groups only, the half of the table alone; else withheld.
 * Panel values are adjusted for who tested; their intervals are from the pooled scatter of testers.
 *
 * @param bench as of the day in question, see `benchUntil`
 * @param options.rule the rule in force unless given: an old version makes the old table again
 * @returns a row a shoe with at least one reading or rating
 */
export function publishedCatalogue(
  bench: Bench,
  { reliability, rule, seed, confidence = bench.settings.confidence }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly rule?: IndexRule;
    readonly seed: number;
    readonly confidence?: number;
  },
): PublishedCatalogue {
  option.check("studies.publishedCatalogue", arguments[1], {
    reliability: option.needed(option.thing),
    rule: option.thing,
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const index = drawnIndexScores(bench, { reliability, rule, seed, confidence });
  const measured = bench.metrics.flatMap((metric) => {
    const about = reliability.metrics.find((row) => row.metric === metric.id);
    return about === undefined || (about.trials === 0 && about.bounded === null)
      ? []
      : [metricColumn(bench, about, { confidence })];
  });
  const panels = bench.settings.attributes.map(({ id, title }) => ({
    attribute: id,
    title,
    ...ratingColumn(bench, id, confidence),
  })).filter(({ testers }) => testers > 0);
  const standing = indexStanding(index);
  const others = measured.flatMap(({ column }) =>
    column.published_as === "single shoes" || column.published_as === "tiers"
      ? otherSizes(bench, column.metric)
      : []
  );
  const shoes = bench.shoes.map((shoe): PublishedShoe => ({
    shoe_id: shoe.shoe_id,
    maker: shoe.maker,
    model: shoe.model,
    edition: shoe.edition,
    released: shoe.released,
    surface: shoe.surface,
    size_system: shoe.size_system,
    size: shoe.size,
    width: shoe.width,
    price: shoe.price,
    currency: shoe.currency,
    name: shoeName(shoe),
    reference: isInstrument(bench, shoe.shoe_id),
    ...standing(shoe.shoe_id),
    values: measured.flatMap(({ values }) => values.get(shoe.shoe_id) ?? []),
    ratings: panels.flatMap(({ ratings }) => ratings.get(shoe.shoe_id) ?? []),
    other_sizes: others.filter((row) => row.shoe_id === shoe.shoe_id),
  })).filter(({ values, ratings }) => values.length > 0 || ratings.length > 0);
  return {
    until: bench.sessions.map(({ date }) => date).sort().at(-1) ?? "",
    confidence,
    rule: index.scores.rule,
    index_about: index.scores.about,
    rating: { min: bench.settings.rating.min, max: bench.settings.rating.max },
    metrics: measured.map(({ column }) => column),
    attributes: panels.map(({ attribute, title, testers }) => ({ attribute, title, testers })),
    shoes: shoes.toSorted((a, b) =>
      Number(a.reference) - Number(b.reference) ||
      (b.score ?? -Infinity) - (a.score ?? -Infinity) || (a.name < b.name ? -1 : 1)
    ),
  };
}

function indexStanding({ scores, scored, apart }: DrawnIndexScores) {
  const rows = new Map(scores.shoes.map((row) => [row.shoe_id, row]));
  const places = new Map(scored.map((shoe_id, place) => [shoe_id, place]));
  return (shoe_id: string) => {
    const row = rows.get(shoe_id);
    const place = places.get(shoe_id);
    return {
      score: row?.score ?? null,
      score_lower: row?.lower ?? null,
      score_upper: row?.upper ?? null,
      rank: row?.rank ?? null,
      rank_lower: row?.rank_lower ?? null,
      rank_upper: row?.rank_upper ?? null,
      alike: place === undefined
        ? []
        : scored.filter((_, other) =>
          other !== place && !apart[place][other] && !apart[other][place]
        ),
    };
  };
}

const publishedAs: Readonly<Record<ReliabilityVerdict, PublishedAs>> = {
  "fit to rank single shoes": "single shoes",
  "fit for tiers": "tiers",
  "fit for groups only": "groups",
  "not fit to publish": "withheld",
  "too few shoes to tell": "withheld",
  "can't tell": "withheld",
};

/** Shoes that a part of the table must hold, so that "the best third" means something. */
const FEWEST_IN_PART = 2;

function metricColumn(
  bench: Bench,
  about: MetricReliability,
  { confidence }: { readonly confidence: number },
): { readonly column: PublishedMetric; readonly values: Map<string, PublishedValue> } {
  const rows = shoeValues(bench, about.metric, metricNoise(about));
  const visits = Map.groupBy(publishedVisits(bench, about.metric), ({ shoe_id }) => shoe_id);
  const withdrawn = bench.metrics.find(({ id }) => id === about.metric)?.withdrawn ?? null;
  const published = withdrawn === null ? publishedAs[about.verdict] : "withheld";
  const parts = published === "groups" ? 2 : 3;
  const beyond = boundedShoes(bench, about.metric);
  const ends = beyond.map(({ bound }) => "below" in bound ? bound.below : bound.above);
  const cuts = cutsOf([...rows.map(({ value }) => value), ...ends], parts);
  const column = {
    metric: about.metric,
    title: about.title,
    unit: about.unit,
    better: about.better,
    decimals: about.decimals,
    published_as: published,
    verdict: about.verdict,
    withdrawn,
    too_coarse: isTooCoarse(about.bounded),
    about: about.unseen?.includes("pairs") ? "pairs" as const : "models" as const,
    cuts,
  };
  if (published === "withheld") return { column, values: new Map() };
  const bounded = beyond.map((row): [string, PublishedValue] => [
    row.shoe_id,
    boundedValue(row, { metric: about.metric, cuts, better: about.better }),
  ]);
  return {
    column,
    values: new Map([
      ...bounded,
      ...rows.map((row): [string, PublishedValue] => {
        const noise = pairNoise(visits.get(row.shoe_id)!, [], about);
        const error = noise === null ? null : Math.sqrt(noise.variance);
        const half = noise === null
          ? null
          : tQuantile((1 + confidence) / 2, noise.freedom) * Math.sqrt(noise.variance);
        const limits = half === null ? null : [row.value - half, row.value + half] as const;
        const alone = published !== "groups"; // in a group only the group is told
        return [row.shoe_id, {
          metric: about.metric,
          value: alone ? row.value : null,
          lower: alone ? limits?.[0] ?? null : null,
          upper: alone ? limits?.[1] ?? null : null,
          bound: null,
          standard_error: alone ? error : null,
          freedom: alone && noise !== null && Number.isFinite(noise.freedom) ? noise.freedom : null,
          parts: limits === null || cuts.length === 0 ? null : partsOf(limits, cuts, about.better),
          trials: row.trials,
          visits: row.visits,
          last_benched: row.last_benched,
        }];
      }),
    ]),
  };
}

function boundedValue(
  { bound, readings, visits, last_benched }: BoundedVisits,
  { metric, cuts, better }: Pick<PublishedMetric, "metric" | "cuts" | "better">,
): PublishedValue {
  const limits = "below" in bound
    ? [-Infinity, bound.below] as const
    : [bound.above, Infinity] as const;
  return {
    metric,
    value: null,
    lower: null,
    upper: null,
    bound,
    standard_error: null,
    freedom: null,
    parts: cuts.length === 0 ? null : partsOf(limits, cuts, better),
    trials: readings,
    visits: visits.length,
    last_benched,
  };
}

function cutsOf(values: readonly number[], parts: number): number[] {
  if (values.length < parts * FEWEST_IN_PART) return [];
  const sorted = values.toSorted((a, b) => a - b);
  return Array.from({ length: parts - 1 }, (_, i) => {
    const at = Math.round((i + 1) * sorted.length / parts);
    return (sorted[at - 1] + sorted[at]) / 2;
  });
}

/** The parts an interval reaches, the best part 0; where more is neither good nor bad, the highest 0. */
function partsOf(
  [lower, upper]: readonly [number, number],
  cuts: readonly number[],
  better: Better,
): readonly [number, number] {
  const below = (value: number) => cuts.filter((cut) => value > cut).length;
  const [low, high] = [below(lower), below(upper)];
  return better === "lower" ? [low, high] : [cuts.length - high, cuts.length - low];
}

function ratingColumn(bench: Bench, attribute: string, confidence: number) {
  const panel = panelValues(bench, attribute);
  const z = normalUpperQuantile((1 - confidence) / 2);
  const rating = ({ value, standard_error, testers }: PanelValue): PublishedRating => ({
    attribute,
    value,
    lower: standard_error === null ? null : value - z * standard_error,
    upper: standard_error === null ? null : value + z * standard_error,
    testers,
  });
  return {
    testers: panel.leniency.length,
    ratings: new Map(
      (panel.connected ? panel.shoes : []).map((row) => [row.shoe_id, rating(row)]),
    ),
  };
}
