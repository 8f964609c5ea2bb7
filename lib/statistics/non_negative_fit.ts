import { sweep } from "./swept_matrix.ts";

/** Columns that may have any sign (an intercept), and how small counts as nothing. */
export type NonNegativeProblem = {
  /** Columns and y: the matrix is size × size. */
  readonly size: number;
  /** The first `free` columns are always in the fit and may be negative. */
  readonly free: number;
  /** Per column, its own sum of squares times a small number: a swept diagonal below it is dependent. */
  readonly dependent: Float64Array;
  /** Per column, a gradient below it counts as 0. */
  readonly flat: Float64Array;
};

/** Tolerances from a matrix of cross-products in which nothing is swept in yet. */
export function nonNegativeProblem(
  matrix: Float64Array,
  size: number,
  free: number,
): NonNegativeProblem {
  const dependent = new Float64Array(size);
  const flat = new Float64Array(size);
  const length = Math.sqrt(matrix[size * size - 1]);
  for (let j = 0; j < size; j++) {
    dependent[j] = 1e-12 * matrix[j * size + j];
    flat[j] = 1e-13 * Math.sqrt(matrix[j * size + j]) * length;
  }
  return { size, free, dependent, flat };
}

/**
 * Finds the columns that a non-negative fit keeps (Lawson & Hanson's active set, on a swept matrix).
 *
 * Starts from the columns marked in `inFit`, which need not be right: those that come out negative are
 * dropped first, and from there on every step lowers the residual.
 *
 * @param matrix cross-products with exactly the marked columns swept in; left with the final ones in
 * @param inFit 1 per column in the fit; changed along
 * @param weights scratch of `size`; holds the weights at the end
 * @returns iterations taken, or −1 if they ran out
 */
export function fitNonNegative(
  matrix: Float64Array,
  { size, free, dependent, flat }: NonNegativeProblem,
  inFit: Uint8Array,
  weights: Float64Array,
): number {
  const y = size - 1;
  for (let j = 0; j < free; j++) {
    if (inFit[j] === 0 && matrix[j * size + j] > dependent[j]) {
      sweep(matrix, size, j, 1);
      inFit[j] = 1;
    }
  }
  // A start that is not feasible: take out what is negative until nothing is.
  for (let again = true; again;) {
    again = false;
    for (let j = free; j < y; j++) {
      if (inFit[j] === 1 && matrix[j * size + y] <= 0) {
        sweep(matrix, size, j, -1);
        inFit[j] = 0;
        again = true;
      }
    }
  }
  readWeights(matrix, size, inFit, weights);

  const most = 30 * size;
  for (let iteration = 1; iteration <= most; iteration++) {
    const entering = steepest(matrix, size, free, dependent, flat, inFit);
    if (entering < 0) return iteration - 1;
    sweep(matrix, size, entering, 1);
    inFit[entering] = 1;
    // Walk from the old weights toward the new fit, and drop each weight that reaches 0 on the way.
    while (true) {
      let step = 1;
      let leaving = -1;
      for (let j = free; j < y; j++) {
        if (inFit[j] === 0) continue;
        const goal = matrix[j * size + y];
        if (goal > 0) continue;
        const share = weights[j] > 0 ? weights[j] / (weights[j] - goal) : 0;
        if (share < step || leaving < 0) {
          step = share;
          leaving = j;
        }
      }
      if (leaving < 0) break;
      for (let j = 0; j < y; j++) {
        if (inFit[j] === 1) weights[j] += step * (matrix[j * size + y] - weights[j]);
      }
      weights[leaving] = 0;
      sweep(matrix, size, leaving, -1);
      inFit[leaving] = 0;
    }
    readWeights(matrix, size, inFit, weights);
  }
  return -1;
}

function readWeights(
  matrix: Float64Array,
  size: number,
  inFit: Uint8Array,
  weights: Float64Array,
): void {
  for (let j = 0; j < size - 1; j++) {
    weights[j] = inFit[j] === 1 ? matrix[j * size + size - 1] : 0;
  }
}

/** The column whose weight most wants to grow, by its gradient per unit of its own length; −1 if none. */
function steepest(
  matrix: Float64Array,
  size: number,
  free: number,
  dependent: Float64Array,
  flat: Float64Array,
  inFit: Uint8Array,
): number {
  let best = -1;
  let most = 0;
  for (let j = free; j < size - 1; j++) {
    if (inFit[j] === 1) continue;
    const gradient = matrix[j * size + size - 1];
    if (gradient <= flat[j] || matrix[j * size + j] <= dependent[j]) continue;
    const gain = gradient * gradient / matrix[j * size + j];
    if (gain > most) {
      most = gain;
      best = j;
    }
  }
  return best;
}
