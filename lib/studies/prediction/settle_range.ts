import { rowsToDetect } from "../../statistics/detectable_effect.ts";
import type { Reason } from "../../statistics/reason.ts";
import { rowsToRuleOut } from "../../statistics/rows_to_rule_out.ts";
import { CLAIM_ALPHA, SMALL_RHO } from "./prediction_claim.ts";
import type { SettleRange } from "./types.ts";

/** Chance of success that sample sizes are asked for. */
export const POWER = 0.8;
/** A range wider than this says nothing to plan by. */
const WIDEST = 10;
/** The needed number is worked out at so many places of the interval. */
const PLACES = 21;

/**
 * How many shoes would settle it?
 *
 * The number depends on the true correlation, which is known no better than its interval: at each place
 * of the interval either so many shoes find it among as many pairs (Bonferroni), or they show that it
 * lies within ±.3. Where the largest number is more than ten times the smallest there is none.
 *
 * @param inflation variance of the correlation over that of independent shoes
 * @param lines_per_shoe lines over shoes, as they are here
 * @see Hoenig & Heisey 2001, The American Statistician 55:19, on taking an estimate for the truth
 */
export function settleRange(
  { rho, lower, upper }: {
    readonly rho: number | null;
    readonly lower: number | null;
    readonly upper: number | null;
  },
  { family, level = CLAIM_ALPHA, confidence, inflation, lines_per_shoe }: {
    readonly family: number;
    /** That the p over the family must stay below. */
    readonly level?: number;
    readonly confidence: number;
    readonly inflation: number;
    readonly lines_per_shoe: number;
  },
): SettleRange {
  const none = (reason: Reason): SettleRange => ({
    shoes: null,
    low: null,
    high: null,
    lines_low: null,
    lines_high: null,
    outcome: null,
    reason,
  });
  if (rho === null) return none({ code: "unknown-correlation" });
  if (lower === null || upper === null) return none({ code: "no-interval" });
  const needed = (at: number) => {
    const find = at === 0
      ? null
      : rowsToDetect(at, { power: POWER, alpha: level / Math.max(1, family) });
    const ruleOut = rowsToRuleOut(at, { within: SMALL_RHO, power: POWER, confidence });
    const rows = Math.min(find ?? Infinity, ruleOut ?? Infinity);
    return {
      shoes: Math.ceil(1 + (rows - 1) * inflation),
      outcome: rows === find ? "predicts" as const : "no sign of it" as const,
    };
  };
  const here = needed(rho);
  const counts = Array.from(
    { length: PLACES },
    // Rounding may lead past the end of the interval, and that past 1.
    (_, k) => needed(Math.min(upper, lower + (upper - lower) * k / (PLACES - 1))).shoes,
  );
  const low = Math.min(here.shoes, ...counts);
  const high = Math.max(here.shoes, ...counts);
  if (high > WIDEST * low) return none({ code: "too-wide-to-plan", low, high });
  const inLines = (shoes: number) => Math.ceil(shoes * lines_per_shoe);
  return {
    shoes: here.shoes,
    low,
    high,
    lines_low: inLines(low),
    lines_high: inLines(high),
    outcome: here.outcome,
    reason: null,
  };
}
