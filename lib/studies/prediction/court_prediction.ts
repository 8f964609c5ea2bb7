import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { Bench } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { type OrdinalCheck, ordinalCheck } from "./ordinal_check.ts";
import { type CourtModel, predictionModel } from "./prediction_models.ts";
import { predictionPairs } from "./prediction_pairs.ts";
import type { GoesWith, OnlyBetween, RestsOn } from "./claim_support.ts";
import { type PredictionTable, predictionTable } from "./prediction_table.ts";
import { countAt } from "./shoe_kin.ts";
import type { SettleRange } from "./settle_range.ts";
import { whoKnew } from "../panel/who_knew.ts";

/** What may be said of a metric as a predictor of an impression. */
export type PredictionClaim = "predicts" | "hint" | "no sign of it" | "can't tell";

/** One metric against one impression, over the shoes that have both. */
export type PredictionPair = {
  readonly metric: string;
  readonly metric_title: string;
  readonly unit: string;
  readonly attribute: string;
  readonly attribute_title: string;
  /** The metric whose trials this one is computed from: the same evidence, not more of it. */
  readonly derived_from: string | null;
  readonly derived_from_title: string | null;
  /** Rank correlation over shoes, within their courts; limits as wide as likeness of kin demands. */
  readonly spearman: Estimate;
  /** Of this pair alone, with likeness of kin taken out. */
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Adjusted over the whole grid of metrics and impressions by the step-down maximum. */
  readonly p_familywise: number | null;
  readonly p_familywise_reason: Reason | null;
  /** Pairs the family-wise p is adjusted over; a computed metric takes its source's place. */
  readonly family: number;
  /** Benjamini–Hochberg over the whole grid. */
  readonly q: number | null;
  readonly q_reason: Reason | null;
  /** Largest |rho| that the noise of both sides allows. */
  readonly ceiling: number | null;
  readonly ceiling_reason: Reason | null;
  readonly disattenuated: Estimate;
  /** Rank correlation given mass; null for mass itself. */
  readonly partial_given_mass: Estimate;
  readonly influence: {
    readonly lowest: number | null;
    readonly highest: number | null;
    /** The shoe whose absence moves rho most. */
    readonly shoe_id: string | null;
    readonly without_it: number | null;
    readonly reason: Reason | null;
    /** rho with each shoe left out, in the order of `points`. */
    readonly without_each: readonly (number | null)[];
  };
  /** What makes the shoes no independent cases. */
  readonly kin: {
    readonly lines: number;
    readonly makers: number;
    /** Courts that shoes are compared within. */
    readonly courts: number;
    /** Shares of the variance between makers, and between lines of a maker. */
    readonly metric: { readonly maker: number; readonly line: number };
    readonly panel: { readonly maker: number; readonly line: number };
    /** Variance of the correlation over that of as many independent shoes. */
    readonly inflation: number;
    /** Correlation of normal scores with likeness taken out: what the p's are of. */
    readonly correlation: number | null;
  };
  /** Smallest |rho| that shoes like these, so many of them, have claimed in four benches of five. */
  readonly detectable: number | null;
  readonly detectable_reason: Reason | null;
  /** Shoes that would settle it in four benches of five. */
  readonly settle: SettleRange;
  readonly n: number;
  readonly claim: PredictionClaim;
  /** Without whom it would not be claimed; null where it isn't. */
  readonly rests_on: RestsOn | null;
  /** The stronger claimed metric that leaves nothing of this claim; null for a predictor of its own. */
  readonly goes_with: GoesWith | null;
  /** The same on ratings that a bench figure can't have moved; null where that is all, or nothing is claimed. */
  readonly unknowing: {
    readonly ratings: number;
    readonly of: number;
    readonly spearman: Estimate;
    readonly borne_out: boolean;
  } | null;
  /** Where what looks strong lies between a few groups of shoes only. */
  readonly only_between: OnlyBetween | null;
  /** R² of several metrics together on shoes of lines that the fit has not seen; null without models. */
  readonly out_of_sample: Estimate | null;
  readonly points: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly maker: string;
    readonly line: string;
    readonly metric_value: number;
    readonly panel_value: number;
    /** Lowest and highest leniency-adjusted rating of a tester. */
    readonly panel_low: number;
    readonly panel_high: number;
  }[];
};

/** One impression: what the bench says of it. */
export type AttributePrediction = {
  readonly attribute: string;
  readonly title: string;
  /** Shoes with a panel value. */
  readonly shoes: number;
  /** Metrics that predict it on their own. */
  readonly predicts: readonly string[];
  /** Claimed metrics that go with a stronger claimed one. */
  readonly indirect: readonly string[];
  readonly hints: readonly string[];
  readonly no_sign: readonly string[];
  readonly cannot_tell: readonly string[];
  /** Several metrics together; null when models were not asked for. */
  readonly model: CourtModel | null;
  readonly ordinal: OrdinalCheck | null;
};

/** A pair on which these shoes are silent, and how many would speak. */
export type UnsettledPair = {
  readonly metric: string;
  readonly metric_title: string;
  readonly attribute: string;
  readonly attribute_title: string;
  readonly n: number;
  readonly rho: number | null;
  readonly detectable: number | null;
  readonly lines: number;
} & SettleRange;

/** What the bench says about the court. */
export type CourtPrediction = {
  /** Last day with a session or an impression. */
  readonly until: string | null;
  readonly confidence: number;
  readonly seed: number;
  readonly resamples: number;
  readonly permutations: number;
  readonly pairs: readonly PredictionPair[];
  readonly attributes: readonly AttributePrediction[];
  /** Over how many the grid stands: shoes with a panel value, their lines, makers and courts. */
  readonly kin: {
    readonly shoes: number;
    readonly lines: number;
    readonly makers: number;
    readonly courts: number;
  };
  /** Fewest shoes first. */
  readonly unsettled: readonly UnsettledPair[];
  readonly warnings: readonly Reason[];
};

/** How reliable the mean of a metric, or of the panel on an attribute, is: intraclass correlations. */
export type PredictionReliability = {
  readonly metrics: readonly { readonly metric: string; readonly icc_mean: Estimate }[];
};

/** The same for the panel. */
export type PredictionPanel = {
  readonly attributes: readonly {
    readonly attribute: string;
    /** Of the panel value with leniency taken out. */
    readonly value_reliability: Estimate;
  }[];
};

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
    resamples = 10000,
    permutations = 10000,
    models = true,
    modelResamples = 1000,
    seed = 20260101,
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
    models: option.flag,
    modelResamples: option.resamples,
    seed: option.seed,
  });
  const table = predictionTable(bench, {
    metrics: chosen("metric", bench.metrics, metricIds),
    attributes: chosen("attribute", bench.settings.attributes, attributeIds),
    reliability,
    panel,
  });
  const judged = predictionPairs(table, {
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

function chosen<T extends { readonly id: string }>(
  what: string,
  all: readonly T[],
  ids: readonly string[] | undefined,
): readonly T[] {
  if (ids === undefined) return all;
  return ids.map((id) => {
    const found = all.find((one) => one.id === id);
    if (found === undefined) {
      throw new CantAnswer(
        { code: "not-on-bench", what, id },
        `There is no ${what} "${id}"; this bench has ${all.map((one) => one.id).join(", ")}`,
      );
    }
    return found;
  });
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
