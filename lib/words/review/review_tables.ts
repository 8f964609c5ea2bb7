import { signed } from "../phrases.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { hasCode } from "../../statistics/reason.ts";
import type { IndexScores } from "../../studies/index/index_scores.ts";
import type { PanelAgreement } from "../../studies/panel/panel_agreement.ts";
import type { TrialReliability } from "../../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../reasons.ts";
import { unitWords } from "../unit_words.ts";
import { decimalsOf, noiseDecimals, scoreDecimals } from "../digits.ts";

/** A row of a table for a reader: text or numbers, null where there is nothing to say. */
export type ReviewRow = Readonly<Record<string, string | number | null>>;

/**
 * How is an estimate written for a reader?
 *
 * @param most decimals where its limits leave so many
 * @returns such as `0.94 (0.91 to 0.96)`; the reason in words where there is no estimate
 */
export function estimateInWords(
  { estimate, estimate_reason, lower, upper, warnings }:
    & Pick<Estimate, "estimate" | "estimate_reason" | "lower" | "upper">
    & Partial<Pick<Estimate, "warnings">>,
  most: number,
): string {
  if (estimate === null) return estimate_reason === null ? "not known" : sayReason(estimate_reason);
  const lone = warnings?.find((warning) => hasCode(warning, "one-holds-scatter"));
  const figures = withLimits(estimate, { lower, upper }, decimalsOf({ lower, upper }, most));
  return lone !== undefined && (lower === null || upper === null)
    ? `${figures} (${sayReason(lone)})`
    : figures;
}

/** How is an estimate of noise written: to the digits that noise deserves? */
export function noiseInWords(noise: Parameters<typeof estimateInWords>[0]): string {
  return estimateInWords(noise, noiseDecimals(noise.estimate ?? 0));
}

/** A value and its limits in brackets, if it has any. */
function withLimits(
  value: number,
  { lower, upper }: Pick<Estimate, "lower" | "upper">,
  decimals: number,
): string {
  const [middle, from, to] = [value, lower, upper].map((one) =>
    one === null ? null : signed(one, decimals)
  );
  return from === null || to === null ? middle! : `${middle} (${from} to ${to})`;
}

/** A coefficient of variation in percent: one decimal, two digits where that would make it 0. */
export function cvPercent(cv: number): string {
  const percent = 100 * cv;
  return percent.toFixed(percent < 0.1 ? noiseDecimals(percent) : 1);
}

/** How repeatable is each metric? One row a metric, most repeatable first. */
export function reliabilityRows({ metrics }: Pick<TrialReliability, "metrics">): ReviewRow[] {
  return metrics
    .toSorted((a, b) => (b.icc_mean.lower ?? -1) - (a.icc_mean.lower ?? -1))
    .map((row) => ({
      metric: row.title,
      verdict: row.verdict,
      unit: unitWords(row.unit) || "no unit",
      shoes: row.shoes,
      trials: row.trials,
      "ICC of a trial": estimateInWords(row.icc_single, 2),
      "ICC of the mean": estimateInWords(row.icc_mean, 2),
      "SEM of the mean": noiseInWords(row.sem),
      "MDC of two means": noiseInWords(row.mdc.mean_across_sessions),
      "CV, %": row.cv.estimate === null
        ? sayReason(row.cv.estimate_reason!)
        : Number(cvPercent(row.cv.estimate)),
    }));
}

/** How far does the panel agree? One row an impression, most agreed first. */
export function panelRows({ attributes }: Pick<PanelAgreement, "attributes">): ReviewRow[] {
  return attributes
    .toSorted((a, b) => (b.icc_mean.lower ?? -1) - (a.icc_mean.lower ?? -1))
    .map((row) => ({
      impression: row.title,
      shoes: row.shoes,
      testers: row.testers,
      ratings: row.ratings,
      "ICC of a rating": estimateInWords(row.icc_single, 2),
      "ICC of the panel": estimateInWords(row.icc_mean, 2),
      "Krippendorff's alpha": estimateInWords(row.alpha, 2),
      "Kendall's W": estimateInWords(row.kendall_w, 2),
    }));
}

/** Where does every shoe stand under a rule? One row a shoe, best first. */
export function indexRows({ shoes }: Pick<IndexScores, "shoes">): ReviewRow[] {
  const decimals = scoreDecimals(shoes);
  // A column of nothing but dashes says less than its absence.
  const gaps = shoes.some(({ missing_terms }) => missing_terms.length > 0);
  return shoes.map((row) => ({
    rank: row.reference ? "reference" : row.rank,
    "ranks it could have": row.rank_lower === null
      ? null
      : `${row.rank_lower} to ${row.rank_upper}`,
    shoe: row.name,
    score: row.score === null ? sayReason(row.score_reason) : withLimits(row.score, row, decimals),
    bonuses: row.bonuses.map(({ feature, points }) => `${feature} +${points}`).join(", ") || null,
    ...(gaps ? { "terms missing": row.missing_terms.join(", ") || null } : {}),
  }));
}
