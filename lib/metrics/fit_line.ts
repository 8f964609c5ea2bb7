import { dot, leastSquares } from "./least_squares.ts";

/** A least-squares line and how straight the points lie on it. */
type FittedLine = {
  readonly reason: null;
  readonly slope: number;
  /** Null without a point to spare. */
  readonly u_slope: number | null;
  /** 0 by construction for a line through the origin. */
  readonly intercept: number;
  readonly residual_sum_of_squares: number;
  readonly degrees_of_freedom: number;
  /** A squared term's coefficient over its standard uncertainty; null if the points can't tell. */
  readonly curvature_ratio: number | null;
};

/**
 * How steep is the line through these points?
 *
 * @param x free of error
 * @param y as many
 * @param line with an intercept of its own, or held at the origin
 * @returns the line; or a reason, if the points define none
 */
export function fitLine(
  x: readonly number[],
  y: readonly number[],
  line: "own-intercept" | "through-origin",
): FittedLine | { readonly reason: string } {
  // Shifted to the middle, where the two coefficients don't disturb each other.
  const middle = line === "own-intercept" ? x.reduce((total, at) => total + at, 0) / x.length : 0;
  const along = x.map((at) => at - middle);
  const columns = line === "own-intercept" ? [along, x.map(() => 1)] : [along];
  const fit = x.length < columns.length ? null : leastSquares(columns, y);
  if (fit === null) return { reason: "the points lie at one place, which sets no slope" };
  const [slope, level = 0] = fit.coefficients;
  const squares = squaresLeft(columns, fit.coefficients, y);
  const freedom = x.length - columns.length;
  return {
    reason: null,
    slope,
    u_slope: freedom > 0 ? Math.sqrt((squares / freedom) * fit.inverse[0][0]) : null,
    intercept: level - slope * middle,
    residual_sum_of_squares: squares,
    degrees_of_freedom: freedom,
    curvature_ratio: curvatureRatio(columns, along, y),
  };
}

function curvatureRatio(
  columns: readonly (readonly number[])[],
  along: readonly number[],
  y: readonly number[],
): number | null {
  const bent = [...columns, along.map((at) => at * at)];
  const freedom = y.length - bent.length;
  if (freedom < 1) return null;
  const fit = leastSquares(bent, y);
  if (fit === null) return null;
  const last = bent.length - 1;
  const squares = squaresLeft(bent, fit.coefficients, y);
  // Points exactly on a curve leave only rounding, which is no scatter to judge by.
  if (squares <= 1e-24 * dot(y, y)) return null;
  return fit.coefficients[last] / Math.sqrt((squares / freedom) * fit.inverse[last][last]);
}

function squaresLeft(
  columns: readonly (readonly number[])[],
  coefficients: readonly number[],
  y: readonly number[],
): number {
  return y.reduce((total, reading, row) => {
    const fitted = columns.reduce((sum, column, i) => sum + coefficients[i] * column[row], 0);
    return total + (reading - fitted) ** 2;
  }, 0);
}
