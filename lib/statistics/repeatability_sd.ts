import * as option from "../options.ts";
import { checkReadings, momentsOf } from "./checks.ts";
import { chiSquaredQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { scatterLimits } from "./scatter_limits.ts";

/**
 * How much do repeated trials of the same subject scatter?
 *
 * The square root of the within-subject variance, pooled by degrees of freedom (trials minus one).
 *
 * @param trialsBySubject one list of readings per subject, in the metric's unit; lengths may differ,
 *   null stands for a missing one
 * @param options.noise limits by chi-squared, or from how unlike the subjects scatter (`scatterLimits`)
 * @returns the repeatability SD in that unit; null with a reason if no subject was read twice, or if
 *   every repeated reading is the same; limits null, with a warning that says why, where one subject holds
 *   most of the scatter
 * @throws {RangeError} if a reading is not a finite number
 * @see ISO 5725-2; Bland & Altman 1996. Chi-squared limits take errors as normal, with the same spread
 *   in every subject
 *
 * @example Rebound height in cm: three drops on one shoe, two on another
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.repeatabilitySd([[48, 50, 52], [44, 44]]).estimate?.toFixed(3), "1.633");
 * ```
 */
export function repeatabilitySd(
  trialsBySubject: readonly (readonly (number | null)[])[],
  { confidence = 0.95, noise = "normal" }: {
    readonly confidence?: number;
    readonly noise?: "normal" | "of any shape";
  } = {},
): Estimate & { readonly freedom: number } {
  option.check("statistics.repeatabilitySd", arguments[1], {
    confidence: option.share,
    noise: option.oneOf("normal", "of any shape"),
  });
  checkReadings(trialsBySubject.flat(), "pool readings");
  const repeated = trialsBySubject.map((trials) => trials.filter((x) => x !== null) as number[])
    .filter((trials) => trials.length > 1);
  const n = repeated.reduce((total, trials) => total + trials.length, 0);
  const freedom = n - repeated.length;
  const about = { confidence, method: "pooled SD, chi-squared interval", n, warnings: [] };
  if (freedom === 0) {
    return {
      ...noEstimate({ code: "no-repeats", subjects: trialsBySubject.length }, about),
      freedom,
    };
  }

  const moments = repeated.map(momentsOf);
  const squares = moments.reduce((total, { squares }) => total + squares, 0);
  if (squares <= moments.reduce((total, { rounding }) => total + rounding, 0)) {
    const reason = { code: "hidden-by-resolution" };
    return { ...noEstimate(reason, about), freedom };
  }
  if (noise === "of any shape") {
    const { lower, upper, limits_reason, method } = scatterLimits(
      moments.map(({ squares }, i) => ({ squares, freedom: repeated[i].length - 1 })),
      { confidence },
    );
    return {
      estimate: Math.sqrt(squares / freedom),
      estimate_reason: null,
      lower: lower === null ? null : Math.sqrt(lower),
      upper: upper === null ? null : Math.sqrt(upper),
      ...about,
      warnings: limits_reason === null ? [] : [limits_reason],
      method: `pooled SD, ${method}`,
      freedom,
    };
  }
  const bound = (share: number) => Math.sqrt(squares / chiSquaredQuantile(share, freedom));
  return {
    estimate: Math.sqrt(squares / freedom),
    estimate_reason: null,
    lower: bound((1 + confidence) / 2),
    upper: bound((1 - confidence) / 2),
    ...about,
    freedom,
  };
}
