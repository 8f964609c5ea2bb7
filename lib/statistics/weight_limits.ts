import { reduceInto, type Reduction } from "./linked_reduction.ts";
import { addRow, crossProductsOf, type LinkedRows } from "./linked_simplex_least_squares.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";

/** Limits of a weight, and the median of its draws. */
export type Limits = { readonly lower: number; readonly upper: number; readonly middle: number };

/** How many resamples, from which seed. */
export type Draws = { readonly resamples: number; readonly seed: number };

/** Cross-products of all rows drawn anew. */
export function resampledCrossProducts(rows: LinkedRows, options: Draws): Float64Array[] {
  const grams: Float64Array[] = [];
  forResamples(rows.n, options, (again) => grams.push(crossProductsOf(rows, again)));
  return grams;
}

/**
 * The same without each row in turn, from the first to the last.
 *
 * The same places are drawn every time, and from one row left out to the next the row in one place
 * changes: only that is exchanged in the cross-products.
 */
export function leftOutCrossProducts(rows: LinkedRows, options: Draws) {
  const { n, size, flat } = rows;
  const drawn: Float64Array[] = [];
  forResamples(n - 1, options, (again) => drawn.push(again.slice()));
  const grams = drawn.map((again) => crossProductsOf(rows, Float64Array.from([0, ...again])));
  let out = 0;
  return {
    without(row: number): readonly Float64Array[] {
      for (; out < row; out++) {
        drawn.forEach((again, b) => {
          if (again[out] === 0) return;
          addRow(flat, size, out, again[out], grams[b]);
          addRow(flat, size, out + 1, -again[out], grams[b]);
        });
      }
      return grams;
    },
  };
}

/** Limits of each free weight from resamples in which it may have any sign. */
export function weightLimits(
  rows: LinkedRows,
  grams: readonly Float64Array[],
  confidence: number,
  change: Reduction | null = null,
): Limits[] {
  const { size, total, n } = rows;
  const p = size - 2;
  const drawn = signedWeights(rows, grams, change);
  const tail = (1 - confidence) / 2;
  const widen = Math.sqrt(n / Math.max(1, n - p - 1));
  const cut = (value: number) => Math.min(total, Math.max(0, value));
  return drawn.map((weights, j) => {
    const usable = weights.filter((weight) => weight === weight);
    // Where too many resamples have no relation at all, any division of the total is possible.
    if (usable.length < (1 - tail) * grams.length) {
      return { lower: 0, upper: total, middle: rows.toward[j] };
    }
    const sorted = orderStatistics(usable);
    const middle = sorted.quantile(0.5);
    const limit = (share: number) => cut(middle + (sorted.quantile(share) - middle) * widen);
    return { lower: limit(tail), upper: limit(1 - tail), middle: cut(middle) };
  });
}

/** Per column and resample, least squares without a sign as a share of the total; NaN where there is none. */
function signedWeights(
  { size, total }: LinkedRows,
  grams: readonly Float64Array[],
  change: Reduction | null,
): Float64Array[] {
  const p = size - 2;
  const drawn = Array.from({ length: p }, () => new Float64Array(grams.length));
  const matrix = new Float64Array(size * size);
  const found = new Float64Array(size);
  grams.forEach((gram, b) => {
    if (change === null) matrix.set(gram);
    else reduceInto(gram, change, matrix);
    solveInto(matrix, size, found);
    let sum = 0;
    for (let j = 1; j <= p; j++) if (found[j] === found[j]) sum += found[j];
    for (let j = 0; j < p; j++) drawn[j][b] = sum > 0 ? found[1 + j] / sum * total : NaN;
  });
  return drawn;
}

/**
 * Least squares by elimination above the diagonal of cross-products, which is used up; NaN for columns
 * that those before them determine.
 */
function solveInto(matrix: Float64Array, size: number, found: Float64Array): void {
  const y = size - 1;
  for (let k = 0; k < y; k++) found[k] = 1e-10 * matrix[k * size + k];
  for (let k = 0; k < y; k++) {
    const row = k * size;
    const pivot = matrix[row + k];
    if (!(pivot > found[k])) {
      matrix[row + k] = NaN;
      continue;
    }
    for (let i = k + 1; i < y; i++) {
      const factor = matrix[row + i] / pivot;
      if (factor === 0) continue;
      const at = i * size;
      for (let j = i; j < size; j++) matrix[at + j] -= factor * matrix[row + j];
    }
  }
  for (let k = y - 1; k >= 0; k--) {
    const row = k * size;
    let rest = matrix[row + y];
    for (let j = k + 1; j < y; j++) if (found[j] === found[j]) rest -= matrix[row + j] * found[j];
    found[k] = rest / matrix[row + k];
  }
}

/** How often each of n places is drawn. */
export function forResamples(
  n: number,
  { resamples, seed }: Draws,
  use: (again: Float64Array) => void,
): void {
  const draws = new Uint32Array(n);
  const again = new Float64Array(n);
  const stream = randomStream(seed, 11, n);
  for (let b = 0; b < resamples; b++) {
    stream.fillIntegers(draws, n);
    again.fill(0);
    for (let i = 0; i < n; i++) again[draws[i]]++;
    use(again);
  }
}
