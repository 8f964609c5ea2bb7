import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import {
  type Long,
  longAdd,
  longDivide,
  longDot,
  longMultiply,
  longNegate,
  longProduct,
  longSubtractMultiple,
  type LongVector,
  longVector,
} from "./double_double.ts";
import type { Reason } from "./reason.ts";

/** An ordinary least-squares fit. */
export type LeastSquares = {
  /** The intercept first, if there is one; null where columns depend on each other. */
  readonly coefficients: readonly number[] | null;
  readonly standard_errors: readonly number[] | null;
  readonly reason: Reason | null;
  readonly residuals: readonly number[];
  /** Diagonal of the hat matrix: how much each row pulls its own fitted value. */
  readonly leverages: readonly number[];
  readonly residual_sum_of_squares: number | null;
  /** Square root of the residual mean square; null without degrees of freedom. */
  readonly residual_sd: number | null;
  /** Explained share of the squares about the mean (about 0 without an intercept). */
  readonly r2: number | null;
  readonly freedom: number;
  readonly n: number;
};

/** A column is taken to depend on earlier ones when less than this share of its squares is its own. */
const OWN_SHARE = 1e-28;

/**
 * Which straight-line combination of the columns comes closest to y?
 *
 * Orthogonalises the columns one by one in doubled precision (modified Gram–Schmidt), so that what
 * comes out is limited by the rounding of the data, not of the method.
 *
 * @param X one row per case, one column per predictor, no missing values
 * @param y the outcome
 * @param intercept whether a column of ones is added in front
 * @returns coefficients with standard errors; null with a reason if columns depend on each other or
 *   there are fewer rows than coefficients
 * @throws {RangeError} if shapes do not match or a value is not finite
 * @see checked against the NIST Statistical Reference Datasets, linear regression
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.deepEqual(statistics.leastSquares([[1], [2], [3]], [3, 5, 7]).coefficients, [1, 2]);
 * ```
 */
export function leastSquares(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { intercept = true }: { readonly intercept?: boolean } = {},
): LeastSquares {
  option.check("statistics.leastSquares", arguments[2], { intercept: option.flag });
  const { columns } = checkDesign(X, y);
  const design = Array.from({ length: columns }, (_, j) => longVector(X.map((row) => row[j])));
  if (intercept) design.unshift(longVector(y.map(() => 1)));
  return fit(design, y, intercept);
}

/**
 * Which polynomial comes closest to y?
 *
 * Powers are formed in doubled precision too: rounded to doubles they lose digits that a high degree needs.
 *
 * @returns coefficients from the constant (if `intercept`) upward
 */
export function polynomialLeastSquares(
  x: readonly number[],
  y: readonly number[],
  degree: number,
  { intercept = true }: { readonly intercept?: boolean } = {},
): LeastSquares {
  option.check("statistics.polynomialLeastSquares", arguments[3], { intercept: option.flag });
  checkDesign(x.map((value) => [value]), y);
  if (!Number.isInteger(degree) || degree < 0) {
    throw new RangeError(`degree is a whole number of at least 0, was given ${degree}`);
  }
  const base = longVector(x);
  const powers = [longVector(x.map(() => 1))];
  for (let k = 1; k <= degree; k++) powers.push(longProduct(powers[k - 1], base));
  return fit(intercept ? powers : powers.slice(1), y, intercept);
}

function fit(design: readonly LongVector[], y: readonly number[], centred: boolean): LeastSquares {
  const n = y.length;
  const p = design.length;
  const freedom = n - p;
  const nothing = (reason: Reason): LeastSquares => ({
    coefficients: null,
    standard_errors: null,
    reason,
    residuals: [],
    leverages: [],
    residual_sum_of_squares: null,
    residual_sd: null,
    r2: null,
    freedom,
    n,
  });
  if (p === 0) return nothing({ code: "too-few", of: "columns", needed: 1, found: 0 });
  if (freedom < 0) return nothing({ code: "too-few", of: "rows", needed: p, found: n });

  const basis = design.map((column) => ({ high: column.high.slice(), low: column.low.slice() }));
  const rest = longVector(y);
  const squares: Long[] = [];
  const projections: Long[][] = []; // projections[j][k], k > j: column k on basis vector j
  const onY: Long[] = [];
  for (let j = 0; j < p; j++) {
    const own = longDot(basis[j], basis[j]);
    const whole = longDot(design[j], design[j])[0];
    if (!(own[0] > OWN_SHARE * whole)) {
      return nothing({ code: "dependent", column: centred ? j : j + 1 });
    }
    squares.push(own);
    projections.push([]);
    for (let k = j + 1; k < p; k++) {
      const factor = longDivide(longDot(basis[j], basis[k]), own);
      projections[j][k] = factor;
      longSubtractMultiple(basis[k], factor, basis[j]);
    }
    const factor = longDivide(longDot(basis[j], rest), own);
    onY.push(factor);
    longSubtractMultiple(rest, factor, basis[j]);
  }
  const coefficients: Long[] = new Array(p);
  for (let j = p - 1; j >= 0; j--) {
    let value = onY[j];
    for (let k = j + 1; k < p; k++) {
      value = longAdd(value, longNegate(longMultiply(projections[j][k], coefficients[k])));
    }
    coefficients[j] = value;
  }
  const rss = longDot(rest, rest)[0];
  const residuals = Array.from(rest.high, (high, i) => high + rest.low[i]);
  const meanSquare = freedom > 0 ? rss / freedom : null;
  const total = totalSquares(y, centred);
  return {
    coefficients: coefficients.map(([high]) => high),
    standard_errors: meanSquare === null
      ? null
      : inverseDiagonal(projections, squares).map((value) => Math.sqrt(value * meanSquare)),
    reason: null,
    residuals,
    leverages: leverages(basis, squares),
    residual_sum_of_squares: rss,
    residual_sd: meanSquare === null ? null : Math.sqrt(meanSquare),
    r2: total > 0 ? 1 - rss / total : null,
    freedom,
    n,
  };
}

function totalSquares(y: readonly number[], centred: boolean): number {
  const values = longVector(y);
  if (centred) {
    const ones = longVector(y.map(() => 1));
    longSubtractMultiple(values, longDivide(longDot(values, ones), [y.length, 0]), ones);
  }
  return longDot(values, values)[0];
}

/** Diagonal of (X'X)⁻¹ = R⁻¹ D⁻¹ R⁻ᵀ, with unit upper triangular R and D the squares. */
function inverseDiagonal(projections: readonly Long[][], squares: readonly Long[]): number[] {
  const p = squares.length;
  const diagonal = new Array<number>(p).fill(0);
  for (let k = 0; k < p; k++) {
    // Column k of R⁻¹ by back substitution.
    const column: Long[] = new Array(p);
    column[k] = [1, 0];
    for (let j = k - 1; j >= 0; j--) {
      let value: Long = [0, 0];
      for (let m = j + 1; m <= k; m++) {
        value = longAdd(value, longMultiply(projections[j][m], column[m]));
      }
      column[j] = longNegate(value);
    }
    for (let j = 0; j <= k; j++) diagonal[j] += column[j][0] ** 2 / squares[k][0];
  }
  return diagonal;
}

function leverages(basis: readonly LongVector[], squares: readonly Long[]): number[] {
  return Array.from(basis[0].high, (_, i) => {
    let sum = 0;
    for (let j = 0; j < basis.length; j++) sum += basis[j].high[i] ** 2 / squares[j][0];
    return sum;
  });
}
