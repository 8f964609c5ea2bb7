import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import { comparedImpression, comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { panelAgreement } from "../panel/panel_agreement.ts";
import { courtPrediction } from "../prediction/court_prediction.ts";
import type { PredictionPair } from "../prediction/types.ts";
import { trialReliability } from "../repeatability/trial_reliability.ts";
import { askedAttribute, askedMetric } from "../shoes/asked_shoes.ts";
import { publishedVisits } from "../shoes/published_visits.ts";

/** What a metric has to do with an impression. */
export type MetricLink = AnswerParts & {
  readonly question: "link";
  readonly metric: ComparedOn;
  readonly attribute: ComparedOn;
  /** As the review judges it, among all pairs of the bench. */
  readonly pair: PredictionPair;
  /** Whether the metric may be published by itself. */
  readonly verdict: string;
  readonly verdict_reason: Reason | null;
  readonly ratings: number;
};

/**
 * Does a metric mean anything on court?
 *
 * The claim is the review's (`courtPrediction`): judged over the whole grid of metrics and impressions, so that asking
 * about one pair finds nothing that asking about all would not.
 *
 * @throws {CantAnswer} if no shoe has both, or the metric or impression is unknown
 */
export function metricLink(
  bench: Bench,
  { metric: typedMetric, attribute: typedAttribute, seed, confidence = bench.settings.confidence }:
    {
      readonly metric: string;
      readonly attribute: string;
      readonly seed: number;
      readonly confidence?: number;
    },
): MetricLink {
  option.check("studies.metricLink", arguments[1], {
    metric: option.needed(option.text),
    attribute: option.needed(option.text),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const metric = askedMetric(bench, typedMetric);
  const attribute = askedAttribute(bench, typedAttribute);
  const reliability = trialReliability(bench, {
    seed,
    resamples: 100,
    componentLimits: false,
    metrics: [metric.id],
  });
  const panel = panelAgreement(bench, { seed, resamples: 100, attributes: [attribute.id] });
  const found = courtPrediction(bench, { reliability, panel, confidence, models: false, seed });
  const pair = found.pairs.find((one) =>
    one.metric === metric.id && one.attribute === attribute.id
  )!;
  if (pair.points.length === 0) {
    throw new CantAnswer(
      {
        code: "too-few-with-both",
        found: 0,
        needed: 3,
        metric: metric.id,
        attribute: attribute.id,
      },
      `No shoe has both ${metric.id} and ${attribute.id}`,
    );
  }
  const shoes = new Set(pair.points.map(({ shoe_id }) => shoe_id));
  const visits = publishedVisits(bench, metric.id).filter(({ shoe_id }) => shoes.has(shoe_id));
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  return {
    question: "link",
    metric: comparedMetric(metric),
    attribute: comparedImpression(attribute, bench.settings),
    pair,
    verdict: about?.verdict ?? "can't tell",
    verdict_reason: about?.verdict_reason ?? null,
    trials: visits.reduce((total, { values }) => total + values.length, 0),
    last_trial: visits.map(({ date }) => date).sort().at(-1) ?? null,
    ratings:
      bench.impressions.filter((row) =>
        row.attribute === attribute.id && row.rating !== null && shoes.has(row.shoe_id) &&
        !isInstrument(bench, row.shoe_id)
      ).length,
    warnings: [],
  };
}
