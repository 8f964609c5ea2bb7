import { checkTriple, type CorrelationTriple, determinant } from "./dependent_correlations.ts";
import { tUpper } from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** Williams' test of two correlations that share a variable. */
export type WilliamsT = {
  readonly t: number | null;
  readonly df: number;
  /** Two-sided. */
  readonly p: number | null;
  readonly reason: Reason | null;
};

/**
 * Does one predictor go with the outcome more closely than another, over the same rows?
 *
 * @param r12, r13 correlations of the outcome with each predictor
 * @param r23 correlation between the predictors
 * @param n rows
 * @returns t with n − 3 degrees of freedom; positive if r12 is the larger. Null with a reason if n < 4
 *   or the predictors order the rows identically
 * @throws {RangeError} if no three variables could have these correlations
 * @see Williams 1959; Steiger 1980, Psychological Bulletin 87:245, equation 7
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.williamsT({ r12: 0.3, r13: 0.4, r23: 0.5, n: 100 }).t?.toFixed(4), "-1.0767");
 * ```
 */
export function williamsT({ r12, r13, r23, n }: CorrelationTriple): WilliamsT {
  checkTriple({ r12, r13, r23, n });
  const df = n - 3;
  const none = (reason: Reason) => ({ t: null, df, p: null, reason });
  if (n < 4) return none({ code: "too-few", of: "rows", needed: 4, found: n });
  const mean = (r12 + r13) / 2;
  const spread = 2 * (n - 1) / df * Math.max(0, determinant({ r12, r13, r23 })) +
    mean * mean * (1 - r23) ** 3;
  if (!(spread > 1e-14)) return none({ code: "dependent" });
  const t = (r12 - r13) * Math.sqrt((n - 1) * (1 + r23) / spread);
  return { t, df, p: Math.min(1, 2 * tUpper(Math.abs(t), df)), reason: null };
}
