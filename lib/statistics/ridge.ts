import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import { leastSquares } from "./least_squares.ts";
import type { Reason } from "./reason.ts";

/** A ridge fit in the units of the data. */
export type Ridge = {
  readonly intercept: number | null;
  /** One per column of X, per unit of that column; null with a reason where there is no fit. */
  readonly coefficients: readonly number[] | null;
  /** The same per standard deviation of the column: what the penalty acts on. */
  readonly scaled_coefficients: readonly number[] | null;
  readonly fitted: readonly number[];
  readonly reason: Reason | null;
  readonly strength: number;
  readonly n: number;
};

/**
 * Which coefficients fit y without leaning on columns that the data can't tell apart?
 *
 * Minimises ‖y − b₀ − Zβ‖² + strength·‖β‖², where Z holds the columns less their mean and divided by
 * their standard deviation with n below the line. The residual sum is plain, not averaged; the
 * intercept is not shrunk. `coefficients` are turned back into the units of X.
 *
 * @param X one row per case, one column per predictor
 * @param strength at least 0; 0 is ordinary least squares
 * @returns null coefficients with a reason with fewer than two rows, or at strength 0 where columns
 *   depend on each other; a constant column gets coefficient 0
 * @throws {RangeError} if shapes do not match, a value is not finite, or the strength is below 0
 * @see Hoerl & Kennard 1970, Technometrics 12:55; scaled as in Venables & Ripley 2002
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { coefficients } = statistics.ridge([[1], [2], [3]], [3, 5, 7], { strength: 3 });
 * assert.equal(coefficients?.[0].toFixed(12), "1.000000000000"); // half of least squares' 2
 * ```
 */
export function ridge(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { strength }: { readonly strength: number },
): Ridge {
  option.check("statistics.ridge", arguments[2], { strength: option.needed(option.notNegative) });
  const { rows: n, columns: p } = checkDesign(X, y);
  if (!(strength >= 0 && Number.isFinite(strength))) {
    throw new RangeError(`strength is a number of at least 0, was given ${strength}`);
  }
  const none = (reason: Reason): Ridge => ({
    intercept: null,
    coefficients: null,
    scaled_coefficients: null,
    fitted: [],
    reason,
    strength,
    n,
  });
  if (n < 2) return none({ code: "too-few", of: "rows", needed: 2, found: n });
  if (p === 0) return none({ code: "too-few", of: "columns", needed: 1, found: 0 });
  const { Z, means, spreads } = standardised(X);
  const mean = y.reduce((sum, value) => sum + value, 0) / n;
  const varying = spreads.map((_, j) => j).filter((j) => spreads[j] > 0);
  const scaled = new Array<number>(p).fill(0);
  if (varying.length > 0) {
    // The penalty as extra rows: solved by orthogonalisation, no cross-products formed.
    const root = Math.sqrt(strength);
    const design = Z.map((row) => varying.map((j) => row[j]));
    const extra = strength === 0
      ? []
      : varying.map((_, k) => varying.map((_, m) => k === m ? root : 0));
    const { coefficients, reason } = leastSquares(
      [...design, ...extra],
      [...y.map((value) => value - mean), ...extra.map(() => 0)],
      { intercept: false },
    );
    if (coefficients === null) return none(reason!);
    varying.forEach((j, k) => scaled[j] = coefficients[k]);
  }
  const coefficients = scaled.map((value, j) => spreads[j] > 0 ? value / spreads[j] : 0);
  const intercept = mean - coefficients.reduce((sum, value, j) => sum + value * means[j], 0);
  return {
    intercept,
    coefficients,
    scaled_coefficients: scaled,
    fitted: Z.map((row) => mean + row.reduce((sum, value, j) => sum + value * scaled[j], 0)),
    reason: null,
    strength,
    n,
  };
}

/** Columns less their mean, by their standard deviation with n below the line; constant ones become 0. */
export function standardised(X: readonly (readonly number[])[]): {
  readonly Z: number[][];
  readonly means: number[];
  readonly spreads: number[];
} {
  const n = X.length;
  const ids = X[0].map((_, j) => j);
  const means = ids.map((j) => {
    const mean = X.reduce((sum, row) => sum + row[j], 0) / n;
    // A second pass takes out the rounding of the first.
    return mean + X.reduce((sum, row) => sum + (row[j] - mean), 0) / n;
  });
  const spreads = ids.map((j) => {
    const first = X[0][j];
    if (X.every((row) => row[j] === first)) return 0;
    return Math.sqrt(X.reduce((sum, row) => sum + (row[j] - means[j]) ** 2, 0) / n);
  });
  const Z = X.map((row) =>
    row.map((value, j) => spreads[j] > 0 ? (value - means[j]) / spreads[j] : 0)
  );
  return { Z, means, spreads };
}
