import type { PredictionClaim } from "./types.ts";

/** Level of the tests behind a claim. */
export const CLAIM_ALPHA = 0.05;
/** Share of hints that may be chance. */
export const HINT_RATE = 0.1;
/** A rank correlation inside ± this is too small to matter. */
export const SMALL_RHO = 0.3;

/** What a claim is judged from. */
export type ClaimEvidence = {
  readonly rho: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Adjusted over the whole grid of metrics and impressions. */
  readonly p_familywise: number | null;
  /** What it must stay below: 5% at a first review, see `claimHistory`. */
  readonly level?: number;
  /** Share of chance among pairs as strong as this. */
  readonly q: number | null;
  /** Lowest and highest rho with one shoe left out. */
  readonly lowest: number | null;
  readonly highest: number | null;
};

/**
 * What may be said of a metric as a predictor of an impression?
 *
 * *predicts*: p over the whole grid below its level (.05 at a first review), the interval excludes 0, and no single shoe turns the sign.
 * *hint*: q below .10, so that one hint in ten is chance. *no sign of it*: the interval lies inside ±.3.
 * Else *can't tell*.
 */
export function predictionClaim(evidence: ClaimEvidence): PredictionClaim {
  const { rho, lower, upper, q } = evidence;
  if (rho === null) return "can't tell";
  if (doubts(evidence).length === 0) return "predicts";
  if (q !== null && q < HINT_RATE) return "hint";
  const inside = lower !== null && upper !== null && lower >= -SMALL_RHO && upper <= SMALL_RHO;
  return inside ? "no sign of it" : "can't tell";
}

/** What stands between a correlation and the claim that it predicts; nothing when it does. */
export type ClaimDoubt =
  | "chance among many"
  | "chance among reviews"
  | "interval holds zero"
  | "no interval"
  | "one shoe";

/** Which of the three conditions of *predicts* fail? */
export function doubts(
  { rho, lower, upper, p_familywise, level = CLAIM_ALPHA, lowest, highest }: ClaimEvidence,
): readonly ClaimDoubt[] {
  const sign = Math.sign(rho ?? 0);
  return [
    ...(p_familywise === null || p_familywise >= CLAIM_ALPHA
      ? ["chance among many" as const]
      : p_familywise < level
      ? []
      : ["chance among reviews" as const]),
    ...(lower === null || upper === null
      ? ["no interval" as const]
      : lower > 0 || upper < 0
      ? []
      : ["interval holds zero" as const]),
    ...(lowest !== null && highest !== null && sign !== 0 && Math.sign(lowest) === sign &&
        Math.sign(highest) === sign
      ? []
      : ["one shoe" as const]),
  ];
}
