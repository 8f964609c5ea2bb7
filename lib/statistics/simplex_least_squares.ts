import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import { solvePivoted } from "./linear_solve.ts";

/** Weights of a fit whose weights are at least 0 and sum to a fixed total. */
export type SimplexLeastSquares = {
  readonly weights: readonly number[];
  /** √ of the residual sum of squares. */
  readonly residualNorm: number;
  /** What was minimised: ‖y − Xw‖² + strength·‖w − toward‖². */
  readonly objective: number;
  readonly iterations: number;
  readonly converged: boolean;
  /** False if columns depend on each other so that other weights fit as well. */
  readonly unique: boolean;
};

/**
 * How should a fixed total of weight be divided among the columns to come closest to y?
 *
 * Minimises ‖y − Xw‖² + strength·‖w − toward‖² over w ≥ 0 with Σw = total, by an active set whose every
 * step lowers the objective.
 *
 * @param X one row per case, one column per weight; scales matter, as the weights share one total
 * @param y the outcome, on the scale of the weighted sum
 * @param total the sum of the weights
 * @param toward where weights are pulled to: default equal weights; need not sum to the total
 * @param strength how hard they are pulled, 0 for not at all
 * @throws {RangeError} if shapes do not match, the total is not above 0, or the strength is below 0
 *
 * @example Two columns that matter equally, a third that does not
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const X = [[1, 3, 9], [2, 2, 1], [4, 2, 4], [3, 5, 2]];
 * const { weights } = statistics.simplexLeastSquares(X, X.map(([a, b]) => (a + b) / 2));
 * assert.deepEqual(weights.map((w) => w.toFixed(6)), ["0.500000", "0.500000", "0.000000"]);
 * ```
 */
export function simplexLeastSquares(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { total = 1, toward, strength = 0 }: {
    readonly total?: number;
    readonly toward?: readonly number[];
    readonly strength?: number;
  } = {},
): SimplexLeastSquares {
  option.check("statistics.simplexLeastSquares", arguments[2], {
    total: option.number,
    toward: option.listOf(option.number),
    strength: option.either(option.notNegative, option.oneOf(Infinity)),
  });
  const { columns: p } = checkDesign(X, y);
  if (p === 0) throw new RangeError("X has no columns to weigh");
  if (!(total > 0 && Number.isFinite(total))) {
    throw new RangeError(`total is a number above 0, was given ${total}`);
  }
  if (!(strength >= 0 && Number.isFinite(strength))) {
    throw new RangeError(`strength is a number of at least 0, was given ${strength}`);
  }
  const pull = toward ?? new Array<number>(p).fill(total / p);
  if (pull.length !== p || pull.some((value) => !Number.isFinite(value))) {
    throw new RangeError(`toward needs ${p} finite weights, was given [${pull}]`);
  }
  const H = Array.from({ length: p }, (_, i) =>
    Array.from(
      { length: p },
      (_, j) => X.reduce((sum, row) => sum + row[i] * row[j], 0) + (i === j ? strength : 0),
    ));
  const d = pull.map((value, j) =>
    X.reduce((sum, row, i) => sum + row[j] * y[i], 0) + strength * value
  );
  const size = Math.max(...H.map((row, j) => row[j]), Number.MIN_VALUE);
  const found = minimise(H, d, total, size);
  const { weights } = found;
  const squares = X.reduce(
    (sum, row, i) => sum + (y[i] - row.reduce((s, value, j) => s + value * weights[j], 0)) ** 2,
    0,
  );
  return {
    weights,
    residualNorm: Math.sqrt(squares),
    objective: squares +
      strength * weights.reduce((sum, weight, j) => sum + (weight - pull[j]) ** 2, 0),
    iterations: found.iterations,
    converged: found.converged,
    unique: found.unique,
  };
}

function minimise(
  H: readonly (readonly number[])[],
  d: readonly number[],
  total: number,
  size: number,
): { weights: number[]; iterations: number; converged: boolean; unique: boolean } {
  const p = d.length;
  // Start at the best single column; every later point is feasible.
  const single = d.map((value, j) => H[j][j] * total * total / 2 - value * total);
  const first = single.indexOf(Math.min(...single));
  const weights = new Array<number>(p).fill(0);
  weights[first] = total;
  const isIn = weights.map((_, j) => j === first);
  // Columns that depend on those in: they cannot lower the objective until the set changes.
  const stuck = new Set<number>();
  let entered = first;
  let unique = true;
  const most = 50 * (p + 1);
  for (let iteration = 0; iteration < most; iteration++) {
    const { goal, price } = solveOn(H, d, total, isIn);
    if (goal === null) {
      stuck.add(entered);
      isIn[entered] = false;
      unique = false;
      continue;
    }
    if (isIn[entered] && !stuck.has(entered)) stuck.clear();
    let step = 1;
    let leaving = -1;
    for (let j = 0; j < p; j++) {
      if (!isIn[j] || goal[j] > 0) continue;
      const share = weights[j] > 0 ? weights[j] / (weights[j] - goal[j]) : 0;
      if (share < step || leaving < 0) {
        step = share;
        leaving = j;
      }
    }
    for (let j = 0; j < p; j++) if (isIn[j]) weights[j] += step * (goal[j] - weights[j]);
    if (leaving >= 0) {
      weights[leaving] = 0;
      isIn[leaving] = false;
      continue;
    }
    // All weights fit; does a column outside want in?
    let entering = -1;
    let steepest = -1e-12 * size * total;
    for (let j = 0; j < p; j++) {
      if (isIn[j] || stuck.has(j)) continue;
      const slope = H[j].reduce((sum, value, k) => sum + value * weights[k], 0) - d[j] - price;
      if (slope < steepest) {
        steepest = slope;
        entering = j;
      }
    }
    if (entering < 0) {
      return { weights: weights.slice(), iterations: iteration + 1, converged: true, unique };
    }
    isIn[entering] = true;
    entered = entering;
  }
  return { weights, iterations: most, converged: false, unique };
}

/** Minimum over the columns that are in, with their sum fixed and signs free: a bordered linear system. */
function solveOn(
  H: readonly (readonly number[])[],
  d: readonly number[],
  total: number,
  isIn: readonly boolean[],
): { goal: number[] | null; price: number } {
  const ids = d.map((_, j) => j).filter((j) => isIn[j]);
  const k = ids.length;
  const scale = Math.max(...ids.map((j) => H[j][j]), Number.MIN_VALUE);
  const rows = ids.map((i) => [...ids.map((j) => H[i][j] / scale), 1, d[i] / scale]);
  rows.push([...ids.map(() => 1), 0, total]);
  const solution = solvePivoted(rows);
  if (solution === null) return { goal: null, price: 0 };
  const goal = new Array<number>(d.length).fill(0);
  ids.forEach((j, i) => goal[j] = solution[i]);
  return { goal, price: -solution[k] * scale };
}
