import { normalQuantile } from "./distributions.ts";
import { ranks } from "./ranks.ts";

/**
 * Where would each value stand if the list were normal?
 *
 * Ranks (ties share their mean rank) put through the normal quantile, so that heavy tails and skew don't
 * decide what a variance is.
 *
 * @throws {RangeError} if a value is not finite
 * @see van der Waerden 1952 for rank / (n + 1)
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.deepEqual(
 *   statistics.normalScores([10, 30, 1000]).map((score) => score.toFixed(3)),
 *   ["-0.674", "0.000", "0.674"],
 * );
 * ```
 */
export function normalScores(values: readonly number[]): number[] {
  return ranks(values).map((rank) => normalQuantile(rank / (values.length + 1)));
}
