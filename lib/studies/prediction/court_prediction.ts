import * as option from "../../options.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { Bench } from "../../records/types.ts";
import { ordinalCheck } from "./ordinal_check.ts";
import { predictionModel } from "./prediction_models.ts";
import type { CourtModel } from "./types.ts";
import { predictionPairs } from "./prediction_pairs.ts";
import { type PredictionTable, predictionTable } from "./prediction_table.ts";
import { countAt } from "../shoes/shoe_kin.ts";
import { whoKnew } from "../panel/who_knew.ts";
import type {
  AttributePrediction,
  CourtPrediction,
  PredictionClaim,
  PredictionPair,
  PredictionPanel,
  PredictionReliability,
  UnsettledPair,
} from "./types.ts";
import { claimHistory, type QuarterLook, usualLook } from "./claim_history.ts";
import { claimLives } from "./claim_lives.ts";
import { askedAttribute, askedMetric } from "../shoes/asked_shoes.ts";
import { DEFAULT_SEED } from "../../statistics/default_seeds.ts";

/** What `courtPrediction` takes besides the bench; every option has a default. */
export type CourtPredictionOptions = {
  /** From `trialReliability`; without it there is no ceiling. */
  readonly reliability?: PredictionReliability | null;
  /** From `panelAgreement`; without it there is no ceiling. */
  readonly panel?: PredictionPanel | null;
  /** Ids; default all. */
  readonly metrics?: readonly string[];
  readonly attributes?: readonly string[];
  readonly confidence?: number;
  readonly resamples?: number;
  readonly permutations?: number;
  /** Earlier reviews worked out again, at most; 0 judges the bench as if it were looked at for the first time. */
  readonly earlierReviews?: number;
  /** Earlier quarters of this bench that `earlierReview` has worked out already; the answer is the same without. */
  readonly looked?: readonly QuarterLook[];
  /** Whether to fit several metrics together as well. */
  readonly models?: boolean;
  /** Resamples behind intervals of models and shares. */
  readonly modelResamples?: number;
  readonly seed?: number;
};

/**
 * What on the bench tells how a shoe will play?
 *
 * Every metric is set against every impression over the shoes that have both: a metric's value is the
 * mean of its visits, an impression's the panel's value with each tester's leniency taken out. Only what
 * survives the number of pairs tried, the interval and the loss of any one shoe is called a predictor;
 * where the shoes are too few, that is the answer.
 *
 * Shoes are no independent cases: editions of a line and lines of a maker resemble each other on the bench
 * and on court for reasons of their own. Shares of the variance are fitted to every metric and impression and
 * taken out of both before shoes are shuffled; limits widen by what likeness leaves of the shoes. Shoes
 * of different courts are compared within theirs.
 *
 * A bench that was rated in several quarters has been looked at before: what is new at its k-th review is
 * claimed at 5%/k, see `claimHistory`.
 *
 * A metric computed from another one's trials is kept in the grid and marked `derived_from`. It is no
 * further evidence: its family-wise p and q are those it has in its source's place, and it is in no
 * count of predictors and in no model of several metrics.
 *
 * @param bench as of the date in question, see `benchUntil`
 * @returns one pair a metric and attribute, in the bench's order, with what follows for each attribute
 * @throws {RangeError} if a metric or attribute is not the bench's, or an option is out of range
 * @see Westfall & Young 1993 (step-down maximum), Benjamini & Hochberg 1995, Efron & Tibshirani 1993
 *   (BCa), Spearman 1904 (attenuation), Bonett & Wright 2000 (power of rank correlations),
 *   Clifford, Richardson & Hémon 1989 (correlation of columns that are alike within groups)
 */
export function courtPrediction(
  bench: Bench,
  {
    reliability = null,
    panel = null,
    metrics: metricIds,
    attributes: attributeIds,
    confidence = bench.settings.confidence,
    resamples = usualLook.resamples,
    permutations = usualLook.permutations,
    earlierReviews = usualLook.earlierReviews,
    looked = [],
    models = true,
    modelResamples = 1000,
    seed = DEFAULT_SEED,
  }: CourtPredictionOptions = {},
): CourtPrediction {
  option.check("studies.courtPrediction", arguments[1], {
    reliability: option.orNull(option.thing),
    panel: option.orNull(option.thing),
    metrics: option.listOf(option.text),
    attributes: option.listOf(option.text),
    confidence: option.share,
    resamples: option.resamples,
    permutations: option.whole(0),
    earlierReviews: option.whole(0),
    looked: option.listOf(option.thing),
    models: option.flag,
    modelResamples: option.resamples,
    seed: option.seed,
  });
  const table = predictionTable(bench, {
    metrics: metricIds?.map((name) => askedMetric(bench, name)) ?? bench.metrics,
    attributes: attributeIds?.map((name) => askedAttribute(bench, name)) ??
      bench.settings.attributes,
    reliability,
    panel,
  });
  const history = claimHistory(bench, table, {
    most: earlierReviews,
    looked,
    confidence,
    resamples,
    permutations,
    seed,
  });
  const judged = predictionPairs(table, {
    levelOf: history.levelOf,
    confidence,
    resamples,
    permutations,
    seed,
    given: { reliability: reliability !== null, panel: panel !== null },
  });
  const together = table.attributes.map((_, index) =>
    models ? predictionModel(table, index, { confidence, resamples: modelResamples, seed }) : null
  );
  const pairs = judged.map((pair): PredictionPair => {
    const place = table.attributes.findIndex(({ attribute }) => attribute.id === pair.attribute);
    return { ...pair, out_of_sample: together[place]?.ridge.r2 ?? null };
  });
  const rated = table.shoes.flatMap((_, row) =>
    table.attributes.some(({ values }) => values[row] !== null) ? [row] : []
  );
  return {
    until: [
      ...bench.sessions.map(({ date }) => date),
      ...bench.impressions.map(({ date }) => date),
    ].sort().at(-1) ?? null,
    confidence,
    seed,
    resamples,
    permutations,
    pairs,
    attributes: table.attributes.map(({ attribute, values }, index) =>
      attributePrediction(
        bench,
        { ...attribute, shoes: values.filter((value) => value !== null).length },
        pairs,
        together[index],
      )
    ),
    kin: {
      shoes: rated.length,
      lines: countAt(table.kin.lines, rated),
      makers: countAt(table.kin.makers, rated),
      courts: table.kin.courts,
    },
    lives: claimLives(pairs, table, history, { seed }),
    unsettled: unsettledPairs(pairs),
    warnings: [
      ...predictionWarnings(table),
      ...kinWarnings(table, rated),
      ...knowingWarnings(bench, table.attributes.map(({ attribute }) => attribute.id)),
    ],
  };
}

function attributePrediction(
  bench: Bench,
  { id, title, shoes }: { readonly id: string; readonly title: string; readonly shoes: number },
  pairs: readonly PredictionPair[],
  model: CourtModel | null,
): AttributePrediction {
  const own = pairs.filter((pair) => pair.attribute === id && pair.derived_from === null);
  const of = (claim: PredictionClaim) => own.filter((pair) => pair.claim === claim);
  const ids = (list: readonly PredictionPair[]) => list.map(({ metric }) => metric);
  return {
    attribute: id,
    title,
    shoes,
    predicts: ids(of("predicts").filter(({ goes_with }) => goes_with === null)),
    indirect: ids(of("predicts").filter(({ goes_with }) => goes_with !== null)),
    hints: ids(of("hint")),
    no_sign: ids(of("no sign of it")),
    cannot_tell: ids(of("can't tell")),
    model,
    ordinal: model === null ? null : ordinalCheck(bench, id, own),
  };
}

function unsettledPairs(pairs: readonly PredictionPair[]): UnsettledPair[] {
  return pairs.filter((pair) => pair.claim === "can't tell" && pair.derived_from === null)
    .map((pair): UnsettledPair => ({
      metric: pair.metric,
      metric_title: pair.metric_title,
      attribute: pair.attribute,
      attribute_title: pair.attribute_title,
      n: pair.n,
      rho: pair.spearman.estimate,
      detectable: pair.detectable,
      lines: pair.kin.lines,
      ...pair.settle,
    }))
    .toSorted((a, b) => (a.shoes ?? Infinity) - (b.shoes ?? Infinity) || 0);
}

function predictionWarnings({ metrics, attributes }: PredictionTable): Reason[] {
  const title = (id: string) => metrics.find(({ metric }) => metric.id === id)!.metric.title;
  return [
    ...metrics.flatMap(({ metric, derived_from }) =>
      derived_from === null
        ? []
        : [{ code: "same-trials", metric: metric.title, source: title(derived_from) }]
    ),
    ...metrics.flatMap(({ metric, values, bounds }) => {
      const shoes = bounds.filter((bound) => bound !== null).length;
      const of = shoes + values.filter((value) => value !== null).length;
      return shoes === 0 ? [] : [{ code: "tied-at-bound", metric: metric.title, shoes, of }];
    }),
    ...metrics.filter(({ metric }) => metric.better === "target")
      .map(({ metric }) => ({ code: "has-target", metric: metric.title })),
    ...attributes.flatMap(({ panel }) => panel.warnings),
  ];
}

/** What the shoes' makers and lines leave unseen. */
function kinWarnings(
  { kin, shoes }: Pick<PredictionTable, "kin" | "shoes">,
  rated: readonly number[],
): Reason[] {
  if (rated.length < 2) return [];
  const [makers, lines] = [countAt(kin.makers, rated), countAt(kin.lines, rated)];
  if (makers === rated.length) {
    return [{ code: "makers-apart", rated: rated.length, shoes: shoes.length }];
  }
  return [
    ...(makers === 1 ? [{ code: "one-maker" }] : []),
    ...(lines === rated.length ? [{ code: "lines-apart" }] : []),
  ];
}

/** Ratings that a bench figure could have moved. */
function knowingWarnings(
  bench: Pick<Bench, "impressions" | "sessions" | "trials">,
  attributes: readonly string[],
): Reason[] {
  const { unknowing, operators } = whoKnew(bench);
  const rated = bench.impressions.filter((row) =>
    row.rating !== null && attributes.includes(row.attribute)
  );
  const could = rated.filter((row) => !unknowing(row));
  if (could.length === 0) return [];
  const testers = [...new Set(could.map(({ tester }) => tester))]
    .filter((tester) => operators.has(tester)).sort();
  return [{ code: "may-have-known", ratings: could.length, of: rated.length, testers }];
}
