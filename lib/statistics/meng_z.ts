import * as option from "../options.ts";
import { checkTriple, type CorrelationTriple } from "./dependent_correlations.ts";
import { normalQuantile, normalUpper } from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** A z test of two correlations that share a variable, with an interval for the difference of atanh. */
export type MengZ = {
  readonly z: number | null;
  readonly p: number | null;
  readonly p_one_sided: number | null;
  /** Interval of atanh(r12) − atanh(r13). */
  readonly lower: number | null;
  readonly upper: number | null;
  readonly confidence: number;
  readonly reason: Reason | null;
};

/**
 * By how much does one predictor beat another, on Fisher's scale?
 *
 * Stands beside `williamsT`, which it agrees with for all but small n, and gives an interval.
 *
 * @throws {RangeError} if no three variables could have these correlations
 * @see Meng, Rosenthal & Rubin 1992, Psychological Bulletin 111:172
 */
export function mengZ(
  { r12, r13, r23, n }: CorrelationTriple,
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): MengZ {
  option.check("statistics.mengZ", arguments[1], { confidence: option.share });
  checkTriple({ r12, r13, r23, n });
  const none = (reason: Reason) => ({
    z: null,
    p: null,
    p_one_sided: null,
    lower: null,
    upper: null,
    confidence,
    reason,
  });
  if (n < 4) return none({ code: "too-few", of: "rows", needed: 4, found: n });
  if (Math.abs(r12) === 1 || Math.abs(r13) === 1 || r23 === 1) {
    return none({ code: "perfect-correlation" });
  }
  const square = (r12 * r12 + r13 * r13) / 2;
  const f = Math.min(1, (1 - r23) / (2 * (1 - square)));
  const h = (1 - f * square) / (1 - square);
  const difference = Math.atanh(r12) - Math.atanh(r13);
  const error = Math.sqrt(2 * (1 - r23) * h / (n - 3));
  const z = difference / error;
  const half = normalQuantile((1 + confidence) / 2) * error;
  const p_one_sided = normalUpper(Math.abs(z));
  return {
    z,
    p: Math.min(1, 2 * p_one_sided),
    p_one_sided,
    lower: difference - half,
    upper: difference + half,
    confidence,
    reason: null,
  };
}
