import { checkDesign } from "./design_matrix.ts";
import { leastSquares } from "./least_squares.ts";
import { fitNonNegative, nonNegativeProblem } from "./non_negative_fit.ts";
import { crossProducts, rowProducts } from "./swept_matrix.ts";

/** Weights of a non-negative fit. */
export type NonNegativeLeastSquares = {
  /** One weight per column, each at least 0. */
  readonly weights: readonly number[];
  /** √ of the residual sum of squares. */
  readonly residualNorm: number;
  readonly iterations: number;
  readonly converged: boolean;
};

/**
 * Which weights, none below zero, come closest to y?
 *
 * Minimises ‖y − Xw‖ over w ≥ 0, without an intercept: the columns that stay are found by an active
 * set, and their weights solved by orthogonalisation in doubled precision.
 *
 * @param X one row per case, one column per weight
 * @param y the outcome
 * @returns weights with an exact 0 where a column is of no use; all 0 if every column opposes y. Of
 *   columns that are multiples of each other one takes all
 * @throws {RangeError} if shapes do not match or a value is not finite
 * @see Lawson & Hanson 1974, Solving Least Squares Problems, chapter 23
 *
 * @example The second column would need a negative weight
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { weights } = statistics.nonNegativeLeastSquares([[1, 1], [2, 1], [3, 1]], [1, 3, 5]);
 * assert.equal(weights[1], 0);
 * assert.equal(weights[0].toFixed(4), "1.5714");
 * ```
 */
export function nonNegativeLeastSquares(
  X: readonly (readonly number[])[],
  y: readonly number[],
): NonNegativeLeastSquares {
  const { rows, columns } = checkDesign(X, y);
  const size = columns + 1;
  // Columns at unit length: tolerances then mean the same in every unit.
  const lengths = Array.from(
    { length: columns },
    (_, j) => Math.hypot(...X.map((row) => row[j])) || 1,
  );
  const flat = Float64Array.from(
    X.flatMap((row, i) => [...row.map((value, j) => value / lengths[j]), y[i]]),
  );
  const all = Int32Array.from({ length: rows }, (_, i) => i);
  const matrix = new Float64Array(size * size);
  crossProducts(rowProducts(flat, size), size, all, new Int32Array(rows).fill(1), rows, matrix);
  const inFit = new Uint8Array(size);
  const iterations = fitNonNegative(
    matrix,
    nonNegativeProblem(matrix, size, 0),
    inFit,
    new Float64Array(size),
  );
  const weights = polished(X, y, inFit);
  const residuals = y.map((value, i) =>
    value - weights.reduce((sum, weight, j) => sum + weight * X[i][j], 0)
  );
  return {
    weights,
    residualNorm: Math.hypot(...residuals),
    iterations: Math.max(0, iterations),
    converged: iterations >= 0,
  };
}

/** Solves for the columns that stay once more, from the data instead of cross-products. */
function polished(
  X: readonly (readonly number[])[],
  y: readonly number[],
  inFit: Uint8Array,
): number[] {
  const weights = new Array<number>(inFit.length - 1).fill(0);
  const kept = weights.map((_, j) => j).filter((j) => inFit[j] === 1);
  if (kept.length === 0) return weights;
  const { coefficients } = leastSquares(X.map((row) => kept.map((j) => row[j])), y, {
    intercept: false,
  });
  kept.forEach((j, k) => weights[j] = Math.max(0, coefficients?.[k] ?? 0));
  return weights;
}
