import { checkDesign } from "./design_matrix.ts";
import { fitNonNegative, nonNegativeProblem } from "./non_negative_fit.ts";

/** Shares of a fixed total, and the line that leads from the weighted sum to y. */
export type LinkedSimplexLeastSquares = {
  /** At least 0, with the total as their sum; those given as `toward` when no column goes with y. */
  readonly weights: readonly number[];
  /** y = intercept + slope × weighted sum; the slope is at least 0. */
  readonly slope: number;
  readonly intercept: number;
  readonly residualSumOfSquares: number;
  /** False when no positive weight helps, so that nothing can be said about the shares. */
  readonly related: boolean;
};

/**
 * How should a fixed total of weight be divided among the columns, if y lies on a scale of its own?
 *
 * Minimises ‖y − a − b·Xw‖² + strength·n·v·b²·‖w − toward‖² over a, b ≥ 0, w ≥ 0 with Σw = total, where v
 * is the mean variance of the columns. As the slope b is free, the total sets no more than the scale
 * of w; with β = b·w it is a non-negative fit of β, whose penalty pulls β toward the proportions of
 * `toward`. Strength Infinity gives `toward` itself. At the slope found, the weights are those of
 * `simplexLeastSquares` for (y − a)/b.
 *
 * @param X one row per case, one column per weight
 * @param toward the weights to stay near: at least 0, with a sum above 0, which is the total
 * @param strength 0 for not at all; 1 pulls as hard as columns of their usual spread push
 * @throws {RangeError} if shapes do not match, weights are negative or all zero, or strength is below 0
 * @see Lawson & Hanson 1974, chapter 23, for the active set
 *
 * @example Two columns that matter alike, read on a scale ten times as wide
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const X = [[1, 3, 9], [2, 2, 1], [4, 2, 4], [3, 5, 2], [5, 1, 5]];
 * const y = X.map(([a, b]) => 7 + 10 * (a + b) / 2);
 * const { weights, slope } = statistics.linkedSimplexLeastSquares(X, y, { toward: [0.2, 0.2, 0.6] });
 * assert.deepEqual(weights.map((w) => w.toFixed(6)), ["0.500000", "0.500000", "0.000000"]);
 * assert.equal(slope.toFixed(6), "10.000000");
 * ```
 */
export function linkedSimplexLeastSquares(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { toward, strength = 0 }: { readonly toward: readonly number[]; readonly strength?: number },
): LinkedSimplexLeastSquares {
  const rows = linkedRows(X, y, toward);
  if (!(strength >= 0)) throw new RangeError(`strength is a number of at least 0, was ${strength}`);
  const gram = crossProductsOf(rows, new Float64Array(rows.n).fill(1));
  const fit = fitLinked(rows, gram, strength);
  const weights = Array.from(fit.weights);
  const centre = rows.centre.reduce((sum, value, j) => sum + value * weights[j], 0);
  const residuals = y.map((value, i) => {
    const weighted = X[i].reduce((sum, x, j) => sum + x * weights[j], 0);
    return value - fit.intercept - fit.slope * (weighted - centre);
  });
  return {
    weights,
    slope: fit.slope,
    intercept: fit.intercept - fit.slope * centre,
    residualSumOfSquares: residuals.reduce((sum, value) => sum + value * value, 0),
    related: fit.slope > 0,
  };
}

/** Rows ready for many fits: 1, the centred columns, y. */
export type LinkedRows = {
  readonly n: number;
  /** 1 + columns + 1. */
  readonly size: number;
  readonly flat: Float64Array;
  readonly centre: Float64Array;
  readonly toward: Float64Array;
  readonly total: number;
  /** Mean variance of the columns, times n once a fit knows its n. */
  readonly spread: number;
};

/** A fit over centred columns. */
export type LinkedFit = {
  readonly weights: Float64Array;
  readonly slope: number;
  readonly intercept: number;
};

/** Checks and prepares. */
export function linkedRows(
  X: readonly (readonly number[])[],
  y: readonly number[],
  toward: readonly number[],
): LinkedRows {
  const { rows: n, columns: p } = checkDesign(X, y);
  const total = toward.reduce((sum, weight) => sum + weight, 0);
  if (toward.length !== p || toward.some((weight) => !(weight >= 0)) || !(total > 0)) {
    throw new RangeError(
      `toward needs ${p} weights of at least 0, not all 0; was given [${toward}]`,
    );
  }
  const size = p + 2;
  const centre = Float64Array.from(
    { length: p },
    (_, j) => X.reduce((sum, row) => sum + row[j], 0) / Math.max(1, n),
  );
  const flat = new Float64Array(n * size);
  let squares = 0;
  X.forEach((row, i) => {
    flat[i * size] = 1;
    row.forEach((value, j) => {
      const away = value - centre[j];
      flat[i * size + 1 + j] = away;
      squares += away * away;
    });
    flat[i * size + size - 1] = y[i];
  });
  const spread = squares / Math.max(1, n * p);
  return { n, size, flat, centre, toward: Float64Array.from(toward), total, spread };
}

/** Cross-products of all rows, each as often as its count says. */
export function crossProductsOf(rows: LinkedRows, counts: ArrayLike<number>): Float64Array {
  const { flat, size, n } = rows;
  const products = new Float64Array(size * size);
  for (let row = 0; row < n; row++) {
    if (counts[row] !== 0) addRow(flat, size, row, counts[row], products);
  }
  return products;
}

/** Adds one row's products, `count` times (−1 takes it out). */
export function addRow(
  flat: Float64Array,
  size: number,
  row: number,
  count: number,
  gram: Float64Array,
): void {
  const from = row * size;
  for (let i = 0; i < size; i++) {
    const factor = count * flat[from + i];
    const at = i * size;
    for (let j = 0; j < size; j++) gram[at + j] += factor * flat[from + j];
  }
}

/** Cross-products of `n` rows with the pull toward the old weights added, in a new matrix. */
export function pulled(
  { size, toward, total, spread }: LinkedRows,
  gram: Float64Array,
  strength: number,
  n: number,
): Float64Array {
  const p = size - 2;
  const matrix = gram.slice();
  if (!(strength > 0)) return matrix;
  const pull = strength * n * spread;
  let square = 0;
  for (let j = 0; j < p; j++) square += toward[j] * toward[j];
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      matrix[(1 + i) * size + 1 + j] += pull *
        ((i === j ? 1 : 0) - (toward[i] + toward[j]) / total + square / (total * total));
    }
  }
  return matrix;
}

/** The fit of whatever rows are in `gram`, which is left as it is. */
export function fitLinked(rows: LinkedRows, gram: Float64Array, strength: number): LinkedFit {
  const { size, toward, total } = rows;
  if (strength === Infinity) return fixedFit(toward, size, gram);
  const p = size - 2;
  const matrix = pulled(rows, gram, strength, gram[0]);
  const inFit = new Uint8Array(size);
  const found = new Float64Array(size);
  fitNonNegative(matrix, nonNegativeProblem(matrix, size, 1), inFit, found);
  let sum = 0;
  for (let j = 0; j < p; j++) sum += found[1 + j];
  if (!(sum > 0)) return { weights: toward.slice(), slope: 0, intercept: found[0] };
  const weights = new Float64Array(p);
  for (let j = 0; j < p; j++) weights[j] = found[1 + j] / sum * total;
  return { weights, slope: sum / total, intercept: found[0] };
}

/** The line from a fixed weighted sum to y, for the rows in `gram`; a falling one is laid flat. */
export function fixedFit(weights: Float64Array, size: number, gram: Float64Array): LinkedFit {
  const n = gram[0];
  const y = size - 1;
  let sum = 0;
  let product = 0;
  let square = 0;
  for (let i = 0; i < weights.length; i++) {
    const at = (1 + i) * size;
    sum += weights[i] * gram[at];
    product += weights[i] * gram[at + y];
    for (let j = 0; j < weights.length; j++) square += weights[i] * weights[j] * gram[at + 1 + j];
  }
  const within = square - sum * sum / n;
  const slope = within > 1e-12 * square ? Math.max(0, (product - sum * gram[y] / n) / within) : 0;
  return { weights, slope, intercept: (gram[y] - slope * sum) / n };
}
