import { sum } from "simple-statistics";
import { chiSquaredUpper } from "./distributions.ts";

/**
 * Are several hypotheses all true, going by all of their p-values together?
 *
 * Fisher's combination: minus twice the sum of their logarithms is chi-squared with two degrees of freedom for each,
 * where all are true and the tests independent. Many small differences add up; one large one among many is seen
 * better by the smallest p itself. It asks nothing of where the p-values come from, so that t tests of different degrees
 * of freedom combine exactly.
 *
 * @param p one p-value or more, of independent tests
 * @returns the p-value of all together; that of one alone is itself, and 0 where one of them is 0
 * @throws {RangeError} if none is given, or one is not from 0 to 1
 * @see Fisher 1932, Statistical Methods for Research Workers, 4th edition, section 21.1 (from memory)
 *
 * @example None of three is small enough by itself
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.combinedP([0.06, 0.07, 0.1]).toFixed(4), "0.0164");
 * ```
 */
export function combinedP(p: readonly number[]): number {
  const odd = p.find((value) => !(value >= 0 && value <= 1));
  if (odd !== undefined) throw new RangeError(`A p-value lies from 0 to 1, was given ${odd}`);
  if (p.length === 0) throw new RangeError("At least one p-value is needed, was given none");
  if (p.length === 1) return p[0];
  if (p.includes(0)) return 0; // no logarithm is taken of it
  return chiSquaredUpper(-2 * sum(p.map((value) => Math.log(value))), 2 * p.length);
}
