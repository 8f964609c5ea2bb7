import { CantAnswer } from "../../records/cant_answer.ts";
import type { ReasonOrWords } from "../../statistics/reason.ts";
import type { Bench, Metric } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { tieNearEqual } from "../../statistics/tie_near_equal.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { type PanelValues, panelValues } from "../panel/panel_values.ts";
import { type OrdinalCheck, ordinalCheck } from "./ordinal_check.ts";
import { type CourtModel, predictionModel } from "./prediction_models.ts";
import { predictionPairs } from "./prediction_pairs.ts";
import {
  attributeSentence,
  modelSentence,
  predictionSentence,
} from "../../words/prediction/prediction_sentences.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { shoeValues } from "../shoes/shoe_values.ts";

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
  /** Rank correlation over shoes. */
  readonly spearman: Estimate;
  readonly p: number | null;
  readonly p_reason: ReasonOrWords | null;
  /** Adjusted over the attribute's metrics by the step-down maximum. */
  readonly p_familywise: number | null;
  readonly p_familywise_reason: ReasonOrWords | null;
  /** Metrics the family-wise p is adjusted over; a computed metric takes its source's place. */
  readonly family: number;
  /** Benjamini–Hochberg over the whole grid. */
  readonly q: number | null;
  readonly q_reason: ReasonOrWords | null;
  /** Largest |rho| that the noise of both sides allows. */
  readonly ceiling: number | null;
  readonly ceiling_reason: ReasonOrWords | null;
  readonly disattenuated: Estimate;
  /** Rank correlation given mass; null for mass itself. */
  readonly partial_given_mass: Estimate;
  readonly influence: {
    readonly lowest: number | null;
    readonly highest: number | null;
    /** The shoe whose absence moves rho most. */
    readonly shoe_id: string | null;
    readonly without_it: number | null;
    readonly reason: string | null;
    /** rho with each shoe left out, in the order of `points`. */
    readonly without_each: readonly (number | null)[];
  };
  /** Smallest |rho| that this n finds with 80% power. */
  readonly detectable: number | null;
  readonly detectable_reason: ReasonOrWords | null;
  /** Shoes that would settle it in four benches of five, if rho is what it is here. */
  readonly settle: {
    /** To be found among as many metrics (Bonferroni); null for a rho of 0. */
    readonly find: number | null;
    /** To show that it lies within ±.3; null where rho is not smaller than that. */
    readonly rule_out: number | null;
    /** The smaller of the two. */
    readonly shoes: number | null;
    readonly reason: ReasonOrWords | null;
  };
  readonly n: number;
  readonly claim: PredictionClaim;
  readonly sentence: string;
  readonly points: readonly {
    readonly shoe_id: string;
    readonly name: string;
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
  readonly predicts: readonly string[];
  readonly hints: readonly string[];
  readonly no_sign: readonly string[];
  readonly cannot_tell: readonly string[];
  readonly sentence: string;
  /** Several metrics together; null when models were not asked for. */
  readonly model: CourtModel | null;
  readonly ordinal: OrdinalCheck | null;
  readonly model_sentence: string;
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
  readonly shoes: number | null;
  /** What so many shoes would show if rho is what it is here. */
  readonly outcome: "predicts" | "no sign of it" | null;
  readonly reason: ReasonOrWords | null;
};

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
  /** Fewest shoes first. */
  readonly unsettled: readonly UnsettledPair[];
  readonly sentence: string;
  readonly warnings: readonly string[];
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
 * survives the number of metrics tried, the interval and the loss of any one shoe is called a predictor;
 * where the shoes are too few, that is the answer.
 *
 * A metric computed from another one's trials is kept in the grid and marked `derived_from`. It is no
 * further evidence: its family-wise p and q are those it has in its source's place, and it is in no
 * count of predictors and in no model of several metrics.
 *
 * @param bench as of the date in question, see `benchUntil`
 * @returns one pair a metric and attribute, in the bench's order, with what follows for each attribute
 * @throws {RangeError} if a metric or attribute is not the bench's, or an option is out of range
 * @see Westfall & Young 1993 (step-down maximum), Benjamini & Hochberg 1995, Efron & Tibshirani 1993
 *   (BCa), Spearman 1904 (attenuation), Bonett & Wright 2000 (power of rank correlations)
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
  const metrics = chosen("metric", bench.metrics, metricIds);
  const attributes = chosen("attribute", bench.settings.attributes, attributeIds);
  const sources = derivedMetrics(metrics);
  const panels = attributes.map(({ id }) => panelValues(bench, id));
  const shoes = bench.shoes.map((shoe) => ({ shoe_id: shoe.shoe_id, name: shoeName(shoe) }));

  const table = {
    shoes,
    metrics: metrics.map((metric) => ({
      metric,
      derived_from: sources.get(metric.id) ?? null,
      values: inOrder(shoes, shoeValues(bench, metric.id, null)),
      reliability: reliability?.metrics.find((row) => row.metric === metric.id)?.icc_mean ?? null,
    })),
    attributes: attributes.map((attribute, index) => ({
      attribute,
      panel: panels[index],
      values: inOrder(shoes, panels[index].shoes),
      reliability:
        panel?.attributes.find((row) => row.attribute === attribute.id)?.value_reliability ??
          null,
    })),
  };
  const pairs = predictionPairs(table, {
    confidence,
    resamples,
    permutations,
    seed,
    given: { reliability: reliability !== null, panel: panel !== null },
  });
  const perAttribute = attributes.map(({ id, title }, index): AttributePrediction => {
    const own = pairs.filter((pair) => pair.attribute === id && pair.derived_from === null);
    const model = models
      ? predictionModel(table, index, { confidence, resamples: modelResamples, seed })
      : null;
    const of = (claim: PredictionClaim) =>
      own.filter((pair) => pair.claim === claim).map((pair) => pair.metric);
    return {
      attribute: id,
      title,
      shoes: panels[index].shoes.length,
      predicts: of("predicts"),
      hints: of("hint"),
      no_sign: of("no sign of it"),
      cannot_tell: of("can't tell"),
      sentence: attributeSentence(title, own),
      model,
      ordinal: models ? ordinalCheck(bench, id, own) : null,
      model_sentence: modelSentence(title, model),
    };
  });
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
    attributes: perAttribute,
    unsettled: unsettledPairs(pairs),
    sentence: predictionSentence(pairs),
    warnings: predictionWarnings(metrics, sources, panels),
  };
}

/** One row a shoe, one column a metric and an attribute: what all of the study works on. */
export type PredictionTable = {
  readonly shoes: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly metrics: readonly {
    readonly metric: Metric;
    readonly derived_from: string | null;
    readonly values: readonly (number | null)[];
    readonly reliability: Estimate | null;
  }[];
  readonly attributes: readonly {
    readonly attribute: { readonly id: string; readonly title: string };
    readonly panel: PanelValues;
    readonly values: readonly (number | null)[];
    readonly reliability: Estimate | null;
  }[];
};

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

function inOrder(
  shoes: readonly { readonly shoe_id: string }[],
  values: readonly { readonly shoe_id: string; readonly value: number }[],
): (number | null)[] {
  const byShoe = new Map(values.map(({ shoe_id, value }) => [shoe_id, value]));
  return tieNearEqual(shoes.map(({ shoe_id }) => byShoe.get(shoe_id) ?? null));
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
      shoes: pair.settle.shoes,
      outcome: pair.settle.shoes === null
        ? null
        : pair.settle.shoes === pair.settle.rule_out
        ? "no sign of it"
        : "predicts",
      reason: pair.settle.reason,
    }))
    .toSorted((a, b) => (a.shoes ?? Infinity) - (b.shoes ?? Infinity) || 0);
}

function predictionWarnings(
  metrics: readonly Metric[],
  sources: ReadonlyMap<string, string>,
  panels: readonly PanelValues[],
): string[] {
  const title = (id: string) => metrics.find((metric) => metric.id === id)!.title;
  return [
    ...[...sources].map(([id, source]) =>
      `${title(id)} comes from the same trials as ${
        title(source)
      }: it is shown, but counts as no further evidence.`
    ),
    ...metrics.filter((metric) => metric.better === "target").map((metric) =>
      `${metric.title} has a target range; a rank correlation only sees more and less of it, not nearer.`
    ),
    ...panels.flatMap((panel) => panel.warnings),
  ];
}
