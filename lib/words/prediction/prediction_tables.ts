import type {
  AttributePrediction,
  CourtPrediction,
  PredictionClaim,
  PredictionPair,
} from "../../studies/prediction/types.ts";
import { CLAIM_ALPHA } from "../../studies/prediction/prediction_claim.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords, type ReviewRow } from "../review/review_tables.ts";
import { pText, shoesText } from "../phrases.ts";

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
    lines: pair.kin.lines,
    makers: pair.kin.makers,
    "rank correlation": estimateInWords(pair.spearman, 2),
    ceiling: pair.ceiling === null ? sayReason(pair.ceiling_reason) : pair.ceiling.toFixed(2),
    "without noise": estimateInWords(pair.disattenuated, 2),
    "given mass": estimateInWords(pair.partial_given_mass, 2),
    "p, all pairs": pair.p_familywise === null
      ? sayReason(pair.p_familywise_reason)
      : `${pText(pair.p_familywise).replace(/^p (= )?/, "")}${
        pair.claim === "hint" && pair.p_familywise < CLAIM_ALPHA && pair.p_familywise >= pair.level
          ? `, not below ${pair.level.toFixed(3)}`
          : ""
      }`,
  }));
}

/** How well do several metrics together foretell each impression? One row an impression. */
export function modelRows({ attributes }: Pick<CourtPrediction, "attributes">): ReviewRow[] {
  return attributes.map(({ title, model, ordinal }) => ({
    impression: title,
    shoes: model?.n ?? null,
    metrics: model?.metrics.length ?? null,
    "R² on shoes not seen": model === null ? null : estimateInWords(model.ridge.r2, 2),
    "the same, better direction only": model === null ? null : estimateInWords(model.nnls.r2, 2),
    "typical error, points": model?.ridge.error?.toFixed(1) ?? null,
    "ratings taken as ranks": ordinal === null
      ? null
      : ordinal.agrees === null
      ? sayReason(ordinal.reason)
      : ordinal.agrees
      ? "say the same"
      : "say otherwise",
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
    "rank correlation": pair.rho === null ? sayReason(pair.reason) : twoDecimals(pair.rho),
    "smallest that would show": pair.detectable?.toFixed(2) ?? null,
    "shoes to settle it": settleRange(pair.low, pair.high),
    "or lines": settleRange(pair.lines_low, pair.lines_high),
    "likely as": pair.outcome === null
      ? sayReason(pair.reason)
      : pair.outcome === "predicts"
      ? "a predictor"
      : "no sign of it",
  }));
}

function settleRange(low: number | null, high: number | null): string | null {
  return low === null || high === null ? null : `${shoesText(low)} to ${shoesText(high)}`;
}

/** With a minus sign, which what rounds to zero has not. */
function twoDecimals(value: number): string {
  return estimateInWords({ estimate: value, estimate_reason: null, lower: null, upper: null }, 2);
}
