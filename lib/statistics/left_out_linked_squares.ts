import { addRow, crossProductsOf, fitLinked, pulled } from "./linked_simplex_least_squares.ts";
import type { LinkedRows } from "./linked_simplex_least_squares.ts";
import { fitNonNegative, nonNegativeProblem } from "./non_negative_fit.ts";
import { rowInfluence } from "./swept_matrix.ts";

/**
 * How far off is each row under a linked fit to the others, at each strength of the pull?
 *
 * Squared errors of rows left out in turn, as one `fitLinked` a row would give them. As long as a row's
 * absence changes no column's being in the fit, its error follows from the fit with the row (its
 * residual over 1 − leverage); that is checked row by row by the conditions of the optimum, and where
 * they fail the row is fitted anew.
 *
 * @param counts 1 for the rows that take part, 0 for others
 * @returns per strength, one squared error a row with a count
 */
export function leftOutLinkedSquares(
  rows: LinkedRows,
  counts: Float64Array,
  strengths: readonly number[],
): number[][] {
  const gram = crossProductsOf(rows, counts);
  const present = [...counts.keys()].filter((row) => counts[row] !== 0);
  return strengths.map((strength) =>
    strength === Infinity ? fixedSquares(rows, present) : squaresAt(rows, present, gram, strength)
  );
}

function squaresAt(
  rows: LinkedRows,
  present: readonly number[],
  gram: Float64Array,
  strength: number,
): number[] {
  const { size, flat } = rows;
  const y = size - 1;
  // Every fit without a row has one row fewer, on which the pull's size depends.
  const matrix = pulled(rows, gram, strength, present.length - 1);
  const { dependent, ...problem } = nonNegativeProblem(matrix, size, 1);
  const inFit = new Uint8Array(size);
  const weights = new Float64Array(size);
  const solved = fitNonNegative(matrix, { dependent, ...problem }, inFit, weights) >= 0;
  const influence = new Float64Array(size);
  return present.map((row) => {
    const leverage = rowInfluence(matrix, size, inFit, flat, row * size, influence);
    const error = influence[y] / (1 - leverage);
    return solved && 1 - leverage > 1e-6 && staysOptimal(matrix, size, inFit, influence, error)
      ? error * error
      : refitted(rows, gram, strength, row) ** 2;
  });
}

/** Whether the same columns are the right ones without the row: weights above 0, no gradient outside. */
function staysOptimal(
  matrix: Float64Array,
  size: number,
  inFit: Uint8Array,
  influence: Float64Array,
  error: number,
): boolean {
  const y = size - 1;
  for (let j = 1; j < y; j++) {
    const now = matrix[j * size + y] - error * influence[j];
    if (inFit[j] === 1 ? !(now > 0) : !(now <= 0)) return false;
  }
  return true;
}

function refitted(rows: LinkedRows, gram: Float64Array, strength: number, row: number): number {
  const { size, flat } = rows;
  const without = gram.slice();
  addRow(flat, size, row, -1, without);
  const { weights, slope, intercept } = fitLinked(rows, without, strength);
  let score = 0;
  for (let j = 0; j < weights.length; j++) score += weights[j] * flat[row * size + 1 + j];
  return flat[row * size + size - 1] - intercept - slope * score;
}

/** The same with the weights held: a line through the others' scores, laid flat where it would fall. */
function fixedSquares({ size, flat, toward }: LinkedRows, present: readonly number[]): number[] {
  const scores = new Float64Array(present.length);
  const felt = new Float64Array(present.length);
  let [sum, square, total, product] = [0, 0, 0, 0];
  present.forEach((row, i) => {
    const from = row * size;
    for (let j = 0; j < toward.length; j++) scores[i] += toward[j] * flat[from + 1 + j];
    felt[i] = flat[from + size - 1];
    sum += scores[i];
    square += scores[i] * scores[i];
    total += felt[i];
    product += scores[i] * felt[i];
  });
  const n = present.length - 1;
  return present.map((_, i) => {
    const [ownSum, ownTotal] = [sum - scores[i], total - felt[i]];
    const ownSquare = square - scores[i] * scores[i];
    const within = ownSquare - ownSum * ownSum / n;
    const rise = product - scores[i] * felt[i] - ownSum * ownTotal / n;
    const slope = within > 1e-12 * ownSquare ? Math.max(0, rise / within) : 0;
    return (felt[i] - (ownTotal - slope * ownSum) / n - slope * scores[i]) ** 2;
  });
}
