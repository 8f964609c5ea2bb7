import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import { fitNonNegative, type NonNegativeProblem, nonNegativeProblem } from "./non_negative_fit.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { crossProducts, dropRow, rowInfluence, rowProducts, sweep } from "./swept_matrix.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** A non-negative fit judged on rows it has not seen. */
export type NonNegativeCrossValidation = {
  readonly weights: readonly number[];
  readonly weights_lower: readonly (number | null)[];
  readonly weights_upper: readonly (number | null)[];
  /** Share of resamples in which the weight is above 0. */
  readonly kept: readonly (number | null)[];
  readonly intercept: number;
  /** Each row predicted from a fit without it. */
  readonly predicted: readonly number[];
  /** 1 − squared errors of the predictions / squared errors of the mean of the other rows. */
  readonly r2: number | null;
  readonly r2_lower: number | null;
  readonly r2_upper: number | null;
  readonly reason: Reason | null;
  readonly confidence: number;
  readonly n: number;
  readonly method: string;
};

/**
 * How well do non-negative weights predict a row they were not fitted to, and how firm are they?
 *
 * Leaves out each row in turn; refits resamples of the rows for percentile intervals of the weights;
 * with `nested`, leaves out each row of every resample too, for an interval of the out-of-sample R².
 * A left-out row takes all its copies with it.
 *
 * Cross-products come from counts, and a row is dropped by a rank-one step from the fit at hand; only
 * where that would turn a weight negative or call for another column is the active set searched again.
 *
 * @param X one row per case, one column per weight, on scales of like size (standardise first if not)
 * @param groups rows of one group are left out together, for rows that resemble each other, and drawn together;
 *   default each alone
 * @param intercept whether a constant of any sign is fitted beside the weights
 * @returns r2 null with a reason with fewer than three rows or a constant y
 * @throws {RangeError} if shapes do not match, a value is not finite, or an option is out of range
 * @see Lawson & Hanson 1974, chapter 23; Efron & Tibshirani 1993, chapter 17
 */
export function nonNegativeCrossValidation(
  X: readonly (readonly number[])[],
  y: readonly number[],
  {
    intercept = false,
    resamples = 2000,
    nested = true,
    confidence = 0.95,
    seed = DEFAULT_SEED,
    groups,
  }: {
    readonly groups?: readonly (string | number)[];
    readonly intercept?: boolean;
    readonly resamples?: number;
    readonly nested?: boolean;
    readonly confidence?: number;
    readonly seed?: number;
  } = {},
): NonNegativeCrossValidation {
  option.check("statistics.nonNegativeCrossValidation", arguments[2], {
    groups: option.listOf(option.either(option.text, option.number)),
    intercept: option.flag,
    resamples: option.resamples,
    nested: option.flag,
    confidence: option.share,
    seed: option.seed,
  });
  const { rows: n, columns } = checkDesign(X, y);
  checkRequest({ n, nested, groups });
  const free = intercept ? 1 : 0;
  const method = `non-negative least squares, leave-one-${groups === undefined ? "" : "group-"}out${
    resamples > 0 ? `, percentile bootstrap, ${resamples} resamples` : ""
  }`;
  const about = { confidence, n, method };
  if (n < 3 || columns === 0) {
    return { ...nothingFitted(n, columns), ...about };
  }
  const size = free + columns + 1;
  const flat = Float64Array.from(
    X.flatMap((row, i) => [...(intercept ? [1] : []), ...row, y[i]]),
  );
  const drawn = Int32Array.from({ length: n + 1 }, (_, i) => i);
  const counts = new Int32Array(n + 1).fill(1);
  const matrix = new Float64Array(size * size);
  const rows = { flat, products: rowProducts(flat, size) };
  crossProducts(rows.products, size, drawn, counts, n, matrix);
  const problem = nonNegativeProblem(matrix, size, free);
  const inFit = new Uint8Array(size);
  const weights = new Float64Array(size);
  fitNonNegative(matrix, problem, inFit, weights);
  const work = leaveOneOutWork(size);
  const predicted = new Float64Array(n);
  const numbered = groupNumbers(groups ?? drawn.subarray(0, n));
  const r2 = groups === undefined
    ? leaveOneOut(rows, problem, drawn, counts, n, n, matrix, inFit, work, predicted)
    : leaveGroupsOut(rows, problem, numbered, work, predicted);
  const bootstrap = resamples === 0
    ? null
    : refit(rows, problem, numbered, inFit, { resamples, nested, seed }, work);
  const tail = (1 - confidence) / 2;
  const { r2_lower, r2_upper, ...ofWeights } = drawnLimits(
    bootstrap,
    { free, columns, resamples, nested, tail },
  );
  return {
    weights: Array.from(weights.subarray(free, free + columns)),
    ...ofWeights,
    intercept: intercept ? weights[0] : 0,
    predicted: Array.from(predicted),
    r2: Number.isNaN(r2) ? null : r2,
    r2_lower,
    r2_upper,
    reason: Number.isNaN(r2) ? { code: "constant", which: "y" } : null,
    ...about,
  };
}

function checkRequest({ n, nested, groups }: {
  readonly n: number;
  readonly nested: boolean;
  readonly groups: readonly (string | number)[] | undefined;
}): void {
  if (groups !== undefined && (groups.length !== n || nested || new Set(groups).size < 2)) {
    throw new RangeError(
      `Groups need one entry for each of ${n} rows, two groups and nested: false; found ${groups.length} entries, ${
        new Set(groups).size
      } groups and nested: ${nested}`,
    );
  }
}

/** Percentile limits of every weight and of R², and the share of resamples that keep a weight. */
function drawnLimits(
  bootstrap: Refits | null,
  { free, columns, resamples, nested, tail }: {
    readonly free: number;
    readonly columns: number;
    readonly resamples: number;
    readonly nested: boolean;
    readonly tail: number;
  },
): Pick<
  NonNegativeCrossValidation,
  "weights_lower" | "weights_upper" | "kept" | "r2_lower" | "r2_upper"
> {
  const none = new Array<null>(columns).fill(null);
  if (bootstrap === null) {
    return { weights_lower: none, weights_upper: none, kept: none, r2_lower: null, r2_upper: null };
  }
  const drawn = none.map((_, j) =>
    bootstrap.weights.subarray((free + j) * resamples, (free + j + 1) * resamples)
  );
  const order = drawn.map((values) => orderStatistics(values));
  const usable = bootstrap.r2.filter((value) => value === value);
  const spread = nested && usable.length > resamples / 2 ? orderStatistics(usable) : null;
  return {
    weights_lower: order.map(({ quantile }) => quantile(tail)),
    weights_upper: order.map(({ quantile }) => quantile(1 - tail)),
    kept: drawn.map((values) =>
      values.reduce((sum, weight) => sum + (weight > 0 ? 1 : 0), 0) / resamples
    ),
    r2_lower: spread?.quantile(tail) ?? null,
    r2_upper: spread?.quantile(1 - tail) ?? null,
  };
}

function nothingFitted(
  n: number,
  columns: number,
): Omit<NonNegativeCrossValidation, "confidence" | "n" | "method"> {
  const none = new Array<null>(columns).fill(null);
  return {
    weights: none.map(() => 0),
    weights_lower: none,
    weights_upper: none,
    kept: none,
    intercept: 0,
    predicted: [],
    r2: null,
    r2_lower: null,
    r2_upper: null,
    reason: columns === 0
      ? { code: "too-few", of: "columns", needed: 1, found: 0 }
      : { code: "too-few", of: "rows", needed: 3, found: n },
  };
}

/** The rows of columns and y, and the products of their entries. */
type Rows = { readonly flat: Float64Array; readonly products: Float64Array };

/** Each resample's weights, one column after another, and its R². */
type Refits = { readonly weights: Float64Array; readonly r2: Float64Array };

type Work = {
  readonly matrix: Float64Array;
  readonly inFit: Uint8Array;
  readonly weights: Float64Array;
  readonly influence: Float64Array;
};

function leaveOneOutWork(size: number): Work {
  return {
    matrix: new Float64Array(size * size),
    inFit: new Uint8Array(size),
    weights: new Float64Array(size),
    influence: new Float64Array(size),
  };
}

/**
 * Leaves out each drawn row with all its copies.
 *
 * @param matrix, inFit the fit to all drawn rows; not changed
 * @param predicted gets one prediction per drawn row, if given
 * @returns the out-of-sample R²; NaN if y is constant
 */
function leaveOneOut(
  rows: Rows,
  problem: NonNegativeProblem,
  drawn: Int32Array,
  counts: Int32Array,
  m: number,
  total: number,
  matrix: Float64Array,
  inFit: Uint8Array,
  work: Work,
  predicted: Float64Array | null,
): number {
  const { size } = problem;
  const y = size - 1;
  const { influence } = work;
  let sum = 0;
  for (let d = 0; d < m; d++) sum += counts[d] * rows.flat[drawn[d] * size + y];
  let errors = 0;
  let baseline = 0;
  for (let d = 0; d < m; d++) {
    const count = counts[d];
    const from = drawn[d] * size;
    const actual = rows.flat[from + y];
    const leverage = rowInfluence(matrix, size, inFit, rows.flat, from, influence);
    const left = 1 - count * leverage;
    let error = influence[y] / left;
    if (!(left > 1e-9) || !holds(matrix, problem, inFit, influence, count / left)) {
      error = actual - predictAnew(rows, problem, drawn, counts, m, d, matrix, inFit, left, work);
    }
    if (predicted !== null) predicted[d] = actual - error;
    errors += count * error * error;
    const mean = (sum - count * actual) / (total - count);
    baseline += count * (actual - mean) * (actual - mean);
  }
  return baseline > 0 ? 1 - errors / baseline : NaN;
}

/** Leaves out the rows of each group together, each time with a fit from scratch. */
function leaveGroupsOut(
  rows: Rows,
  problem: NonNegativeProblem,
  { of, count }: Groups,
  work: Work,
  predicted: Float64Array,
): number {
  const { size } = problem;
  const n = of.length;
  const drawn = Int32Array.from({ length: n + 1 }, (_, row) => row);
  const counts = new Int32Array(n + 1);
  let errors = 0;
  let baseline = 0;
  for (let group = 0; group < count; group++) {
    let sum = 0;
    let others = 0;
    for (let row = 0; row < n; row++) {
      counts[row] = of[row] === group ? 0 : 1;
      others += counts[row];
      sum += counts[row] * rows.flat[row * size + size - 1];
    }
    crossProducts(rows.products, size, drawn, counts, n, work.matrix);
    work.inFit.fill(0);
    fitNonNegative(work.matrix, problem, work.inFit, work.weights);
    for (let row = 0; row < n; row++) {
      if (of[row] !== group) continue;
      let prediction = 0;
      for (let j = 0; j < size - 1; j++) prediction += work.weights[j] * rows.flat[row * size + j];
      predicted[row] = prediction;
      const actual = rows.flat[row * size + size - 1];
      errors += (actual - prediction) ** 2;
      baseline += (actual - sum / others) ** 2;
    }
  }
  return baseline > 0 ? 1 - errors / baseline : NaN;
}

type Groups = { readonly of: Int32Array; readonly count: number };

function groupNumbers(groups: ArrayLike<string | number>): Groups {
  const ids = Array.from(groups);
  const place = new Map([...new Set(ids)].map((id, g) => [id, g]));
  return { of: Int32Array.from(ids, (id) => place.get(id)!), count: place.size };
}

/** Do the same columns stay, with the row gone? */
function holds(
  matrix: Float64Array,
  { size, free, flat }: NonNegativeProblem,
  inFit: Uint8Array,
  influence: Float64Array,
  factor: number,
): boolean {
  const y = size - 1;
  const change = factor * influence[y];
  for (let j = free; j < y; j++) {
    const value = matrix[j * size + y] - change * influence[j];
    if (inFit[j] === 1 ? value <= 0 : value > flat[j]) return false;
  }
  return true;
}

function predictAnew(
  rows: Rows,
  problem: NonNegativeProblem,
  drawn: Int32Array,
  counts: Int32Array,
  m: number,
  d: number,
  matrix: Float64Array,
  inFit: Uint8Array,
  left: number,
  work: Work,
): number {
  const { size } = problem;
  const from = drawn[d] * size;
  if (left > 1e-9) {
    work.matrix.set(matrix);
    work.inFit.set(inFit);
    dropRow(work.matrix, size, work.influence, counts[d] / left);
  } else {
    // The row alone settles a column: build the rest from scratch.
    const kept = counts[d];
    counts[d] = 0;
    crossProducts(rows.products, size, drawn, counts, m, work.matrix);
    counts[d] = kept;
    work.inFit.fill(0);
  }
  fitNonNegative(work.matrix, problem, work.inFit, work.weights);
  let prediction = 0;
  for (let j = 0; j < size - 1; j++) prediction += work.weights[j] * rows.flat[from + j];
  return prediction;
}

function refit(
  rows: Rows,
  problem: NonNegativeProblem,
  groups: Groups,
  start: Uint8Array,
  { resamples, nested, seed }: {
    readonly resamples: number;
    readonly nested: boolean;
    readonly seed: number;
  },
  work: Work,
): Refits {
  const { size } = problem;
  const all = new Float64Array((size - 1) * resamples);
  const r2 = new Float64Array(resamples).fill(NaN);
  const n = groups.of.length;
  const stream = randomStream(seed, 7, n);
  const draws = new Uint32Array(groups.count);
  const perGroup = new Int32Array(groups.count);
  const drawn = new Int32Array(n + 1);
  const counts = new Int32Array(n + 1);
  const matrix = new Float64Array(size * size);
  const inFit = new Uint8Array(size);
  const weights = new Float64Array(size);
  for (let b = 0; b < resamples; b++) {
    stream.fillIntegers(draws, groups.count);
    const m = countRows(draws, groups, perGroup, drawn, counts);
    crossProducts(rows.products, size, drawn, counts, m, matrix);
    // The columns of the fit to all rows are the best guess.
    for (let j = 0; j < size; j++) {
      inFit[j] = 0;
      if (start[j] === 1 && matrix[j * size + j] > problem.dependent[j]) {
        sweep(matrix, size, j, 1);
        inFit[j] = 1;
      }
    }
    fitNonNegative(matrix, problem, inFit, weights);
    for (let j = 0; j < size - 1; j++) all[j * resamples + b] = weights[j];
    if (nested && m > 2) {
      r2[b] = leaveOneOut(rows, problem, drawn, counts, m, n, matrix, inFit, work, null);
    }
  }
  return { weights: all, r2 };
}

function countRows(
  draws: Uint32Array,
  { of, count }: Groups,
  perGroup: Int32Array,
  drawn: Int32Array,
  counts: Int32Array,
): number {
  perGroup.fill(0);
  for (let i = 0; i < count; i++) perGroup[draws[i]]++;
  let m = 0;
  for (let row = 0; row < of.length; row++) {
    const times = perGroup[of[row]];
    drawn[m] = row;
    counts[m] = times;
    m += -times >>> 31;
  }
  return m;
}
