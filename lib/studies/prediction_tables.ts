import type {
  AttributePrediction,
  CourtPrediction,
  PredictionClaim,
  PredictionPair,
} from "./court_prediction.ts";
import { pText } from "./prediction_sentences.ts";
import { estimateInWords, type ReviewRow } from "./review_tables.ts";

/**
 * Which pairs were claimed?
 *
 * @param claims which claims to take
 * @returns strongest first; metrics computed from another one's trials are left out
 */
export function claimedPairs(
  { pairs }: Pick<CourtPrediction, "pairs">,
  claims: readonly PredictionClaim[] = ["predicts"],
): readonly PredictionPair[] {
  return pairs.filter((pair) => pair.derived_from === null && claims.includes(pair.claim))
    .toSorted((a, b) => Math.abs(b.spearman.estimate ?? 0) - Math.abs(a.spearman.estimate ?? 0));
}

/** Which attributes have a metric that predicts them? */
export function foretoldAttributes(
  { attributes }: Pick<CourtPrediction, "attributes">,
): readonly AttributePrediction[] {
  return attributes.filter(({ predicts }) => predicts.length > 0);
}

/** What is claimed, with all that it rests on? One row a pair, strongest first. */
export function predictionRows(pairs: readonly PredictionPair[]): ReviewRow[] {
  return pairs.map((pair) => ({
    metric: pair.metric_title,
    impression: pair.attribute_title,
    claim: pair.claim,
    shoes: pair.n,
    "rank correlation": estimateInWords(pair.spearman, 2),
    "most that noise allows": pair.ceiling === null ? pair.ceiling_reason : pair.ceiling.toFixed(2),
    "without noise": estimateInWords(pair.disattenuated, 2),
    "given mass": estimateInWords(pair.partial_given_mass, 2),
    "p, among all metrics": pair.p_familywise === null
      ? pair.p_familywise_reason
      : pText(pair.p_familywise).replace(/^p (= )?/, ""),
    "q, over the grid": pair.q === null ? pair.q_reason : pText(pair.q).replace(/^p (= )?/, ""),
  }));
}

/** How well do several metrics together foretell each impression? One row an impression. */
export function modelRows({ attributes }: Pick<CourtPrediction, "attributes">): ReviewRow[] {
  return attributes.map(({ title, model, ordinal }) => ({
    impression: title,
    shoes: model?.n ?? null,
    metrics: model?.metrics.length ?? null,
    "out-of-sample R², ridge": model === null ? null : estimateInWords(model.ridge.r2, 2),
    "out-of-sample R², better direction only": model === null
      ? null
      : estimateInWords(model.nnls.r2, 2),
    "typical error, rating points": model?.ridge.error?.toFixed(1) ?? null,
    "ratings as an order": ordinal === null
      ? null
      : ordinal.agrees === null
      ? ordinal.reason
      : ordinal.agrees
      ? "same signs"
      : "other signs",
  }));
}

/** What can't be told yet, and how many shoes would settle it? One row a pair, fewest shoes first. */
export function unsettledRows(
  { unsettled }: Pick<CourtPrediction, "unsettled">,
): ReviewRow[] {
  return unsettled.map((pair) => ({
    metric: pair.metric_title,
    impression: pair.attribute_title,
    shoes: pair.n,
    "rank correlation": pair.rho?.toFixed(2) ?? pair.reason,
    "smallest these shoes find": pair.detectable?.toFixed(2) ?? null,
    "shoes to settle it": pair.shoes,
    "as": pair.outcome === null
      ? pair.reason
      : pair.outcome === "predicts"
      ? "a predictor"
      : "no sign of it",
  }));
}

/** What is said of each impression, and what the study warns of: a list in Markdown. */
export function predictionList(
  { attributes, warnings }: Pick<CourtPrediction, "attributes" | "warnings">,
): string {
  return [
    ...attributes.map(({ title, sentence }) => `- **${title}.** ${sentence}`),
    ...warnings.map((warning) => `- ${warning}`),
  ].join("\n");
}
