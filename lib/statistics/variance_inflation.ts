import { leastSquares } from "./least_squares.ts";
import type { Reason } from "./reason.ts";

/** How entangled one predictor is with the others. */
export type VarianceInflation = {
  /** 1/(1 − R² of this column on the others); null if they determine it. */
  readonly factor: number | null;
  readonly reason: Reason | null;
};

/**
 * How much does each predictor's coefficient suffer from its likeness to the others?
 *
 * @param X one row per case, one column per predictor
 * @returns per column the factor by which its coefficient's variance is inflated, 1 for none
 * @throws {RangeError} if rows differ in length or a value is not finite
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const [first] = statistics.varianceInflation([[1, 1], [2, 1], [1, 2], [2, 2]]);
 * assert.equal(first.factor, 1);
 * ```
 */
export function varianceInflation(X: readonly (readonly number[])[]): VarianceInflation[] {
  const columns = X.length === 0 ? 0 : X[0].length;
  return Array.from({ length: columns }, (_, j): VarianceInflation => {
    const own = X.map((row) => row[j]);
    const others = X.map((row) => row.filter((_, k) => k !== j));
    if (own.every((value) => value === own[0])) {
      return { factor: null, reason: { code: "constant", which: "column", column: j + 1 } };
    }
    if (columns === 1) return { factor: 1, reason: null };
    const { r2, reason, freedom } = leastSquares(others, own);
    if (r2 === null) return { factor: null, reason };
    if (freedom < 1) {
      return {
        factor: null,
        reason: { code: "too-few", of: "rows", needed: columns + 1, found: X.length },
      };
    }
    if (1 - r2 < 1e-13) return { factor: null, reason: { code: "dependent", column: j + 1 } };
    return { factor: 1 / (1 - r2), reason: null };
  });
}
