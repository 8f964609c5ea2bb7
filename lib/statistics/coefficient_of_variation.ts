import * as option from "../options.ts";
import { checkReadings, momentsOf } from "./checks.ts";
import { chiSquaredQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { repeatabilitySd } from "./repeatability_sd.ts";

/**
 * By which share of its own size does a reading scatter when it is repeated?
 *
 * `root-mean-square`: each subject's variance over its squared mean, averaged by degrees of freedom,
 * then the root. `log`: √(exp(s²) − 1) with s the repeatability SD of natural logarithms, the one to
 * take when scatter grows with size; it needs positive readings. Both are shares (0.07 is 7%), and
 * mean something on a ratio scale only: a scale whose zero is arbitrary has no such share.
 *
 * @param trialsBySubject one list of readings per subject; null for a missing one
 * @throws {RangeError} if a reading is not finite
 * @see Bland & Altman 1996 (measurement error and logarithms); Quan & Shih 1996 (root mean square).
 *   Limits: chi-squared on the pooled degrees of freedom, which for the root mean square takes the
 *   subjects' means as known
 *
 * @example Two shoes, two readings each
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { estimate } = statistics.coefficientOfVariation([[99, 101], [198, 202]]);
 * assert.equal(estimate?.toFixed(5), "0.01414");
 * ```
 */
export function coefficientOfVariation(
  trialsBySubject: readonly (readonly (number | null)[])[],
  { method = "root-mean-square", confidence = 0.95 }: {
    readonly method?: "root-mean-square" | "log";
    readonly confidence?: number;
  } = {},
): Estimate {
  option.check("statistics.coefficientOfVariation", arguments[1], {
    method: option.oneOf("root-mean-square", "log"),
    confidence: option.share,
  });
  if (method !== "root-mean-square" && method !== "log") {
    throw new RangeError(`Unknown method ${method}, expected "root-mean-square" or "log"`);
  }
  checkReadings(trialsBySubject.flat(), "compare readings with their size");
  const repeated = trialsBySubject.map((trials) => trials.filter((x) => x !== null) as number[])
    .filter((trials) => trials.length > 1);
  const n = repeated.reduce((total, trials) => total + trials.length, 0);
  const about = {
    confidence,
    n,
    method: method === "log"
      ? "within-subject SD of logarithms, chi-squared interval"
      : "root mean square of within-subject shares, chi-squared interval",
    warnings: [],
  };
  if (n === 0) return noEstimate({ code: "no-repeats", subjects: trialsBySubject.length }, about);
  if (method === "log") {
    if (repeated.flat().some((x) => x <= 0)) {
      return noEstimate({ code: "not-positive", which: "reading" }, about);
    }
    const sd = repeatabilitySd(repeated.map((trials) => trials.map(Math.log)), { confidence });
    if (sd.estimate === null) return noEstimate(sd.estimate_reason!, about);
    const share = (s: number) => Math.sqrt(Math.expm1(s * s));
    return {
      estimate: share(sd.estimate),
      estimate_reason: null,
      lower: share(sd.lower!),
      upper: share(sd.upper!),
      ...about,
    };
  }
  const moments = repeated.map(momentsOf);
  if (moments.some(({ mean }) => !(mean > 0))) {
    return noEstimate({ code: "not-positive", which: "mean" }, about);
  }
  const freedom = n - repeated.length;
  const total = moments.reduce((sum, { mean, squares }) => sum + squares / mean ** 2, 0);
  if (moments.every(({ squares, rounding }) => squares <= rounding)) {
    return noEstimate({ code: "hidden-by-resolution" }, about);
  }
  const bound = (share: number) => Math.sqrt(total / chiSquaredQuantile(share, freedom));
  return {
    estimate: Math.sqrt(total / freedom),
    estimate_reason: null,
    lower: bound((1 + confidence) / 2),
    upper: bound((1 - confidence) / 2),
    ...about,
  };
}
