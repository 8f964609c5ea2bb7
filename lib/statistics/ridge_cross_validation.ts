import { EigenvalueDecomposition, Matrix } from "ml-matrix";
import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import type { Reason } from "./reason.ts";
import { standardised } from "./ridge.ts";

/** A ridge fit whose strength was chosen, and judged on rows it has not seen. */
export type RidgeCrossValidation = {
  /** The strength that predicts left-out rows best, from all rows. */
  readonly strength: number | null;
  /** Sum of squared leave-one-out errors per strength tried, all rows. */
  readonly errors: readonly { readonly strength: number; readonly squares: number }[];
  /** Each row predicted by a fit, tuned and made without it. */
  readonly predicted: readonly number[];
  /** 1 − squared errors of the predictions / squared errors of the mean of the rows not left out. */
  readonly r2: number | null;
  readonly reason: Reason | null;
  readonly n: number;
};

/** From next to no shrinkage to next to no slope, per row of data. */
const STRENGTHS_PER_ROW = Array.from({ length: 25 }, (_, k) => 10 ** (-4 + k / 4));

/**
 * How well does a ridge fit predict a row it has not seen, its strength chosen without it too?
 *
 * Every row is left out in turn; the rest are standardised, the strength is chosen among them by
 * leave-one-out errors (exact for their scaling, from the diagonal of the hat matrix), and the row is
 * predicted. So nothing about a row reaches its own prediction.
 *
 * @param X one row per case, one column per predictor
 * @param groups rows of one group are left out together, for rows that resemble each other; default each alone
 * @param strengths to try, as in `ridge`; default 25 from 0.0001 to 100 times the number of rows
 * @returns null with a reason with fewer than four rows or a constant y
 * @throws {RangeError} if shapes do not match, a value is not finite, or a strength is not above 0
 * @see Golub, Heath & Wahba 1979, Technometrics 21:215, for the leave-one-out errors
 */
export function ridgeCrossValidation(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { strengths, groups = y.map((_, row) => row) }: {
    readonly strengths?: readonly number[];
    readonly groups?: readonly (string | number)[];
  } = {},
): RidgeCrossValidation {
  option.check("statistics.ridgeCrossValidation", arguments[2], {
    groups: option.listOf(option.either(option.text, option.number)),
    strengths: option.listOf(option.number),
  });
  const { rows: n, columns: p } = checkDesign(X, y);
  const tried = strengths ?? STRENGTHS_PER_ROW.map((share) => share * n);
  const odd = tried.find((strength) => !(strength > 0 && Number.isFinite(strength)));
  if (odd !== undefined || tried.length === 0) {
    throw new RangeError(`Strengths to try are numbers above 0, was given ${odd ?? "none"}`);
  }
  const none = (reason: Reason) => ({
    strength: null,
    errors: [],
    predicted: [],
    r2: null,
    reason,
    n,
  });
  if (n < 4) return none({ code: "too-few", of: "rows", needed: 4, found: n });
  if (p === 0) return none({ code: "too-few", of: "columns", needed: 1, found: 0 });
  if (y.every((value) => value === y[0])) return none({ code: "constant", which: "y" });
  if (groups.length !== n || new Set(groups).size < 2) {
    throw new RangeError(
      `Groups need one entry for each of ${n} rows and two groups; found ${groups.length} entries and ${
        new Set(groups).size
      } groups`,
    );
  }
  const whole = tune(X, y, tried);
  let squares = 0;
  let baseline = 0;
  const predicted = new Array<number>(n);
  for (const group of new Set(groups)) {
    const rest = y.flatMap((_, row) => groups[row] === group ? [] : [row]);
    const others = rest.map((row) => y[row]);
    // Too few others to fit, or all of them alike: their mean foretells as well as any.
    const mean = others.reduce((a, b) => a + b) / others.length;
    const flat = others.length < 3 || others.every((value) => value === others[0]);
    const fit = flat ? null : tune(rest.map((row) => X[row]), others, tried);
    groups.forEach((own, row) => {
      if (own !== group) return;
      predicted[row] = fit === null ? mean : fit.predict(X[row]);
      squares += (y[row] - predicted[row]) ** 2;
      baseline += (y[row] - mean) ** 2;
    });
  }
  return {
    strength: tried[whole.best],
    errors: tried.map((strength, k) => ({ strength, squares: whole.squares[k] })),
    predicted,
    r2: 1 - squares / baseline,
    reason: null,
    n,
  };
}

/** Leave-one-out errors at every strength at once, from one eigendecomposition. */
function tune(
  X: readonly (readonly number[])[],
  y: readonly number[],
  strengths: readonly number[],
): { squares: number[]; best: number; predict: (row: readonly number[]) => number } {
  const n = y.length;
  const p = X[0].length;
  const { Z, means, spreads } = standardised(X);
  const mean = y.reduce((sum, value) => sum + value, 0) / n;
  const away = Float64Array.from(y, (value) => value - mean);
  const rows = new Float64Array(n * p);
  Z.forEach((row, i) => rows.set(row, i * p));
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(
    squaresOf(rows, n, p),
    {
      assumeSymmetric: true,
    },
  );
  const values = Float64Array.from(realEigenvalues, (value) => Math.max(0, value));
  const vectors = Float64Array.from(eigenvectorMatrix.to1DArray());
  const scores = turned(rows, vectors, n, p);
  const onY = new Float64Array(p);
  for (let i = 0; i < n; i++) for (let k = 0; k < p; k++) onY[k] += scores[i * p + k] * away[i];
  const shrink = new Float64Array(p);
  const squares = strengths.map((strength) => {
    for (let k = 0; k < p; k++) shrink[k] = 1 / (values[k] + strength);
    return leftOutSquares(scores, away, onY, shrink);
  });
  const best = squares.indexOf(Math.min(...squares));
  const slopes = Array.from({ length: p }, (_, j) => {
    let slope = 0;
    for (let k = 0; k < p; k++) {
      slope += vectors[j * p + k] * onY[k] / (values[k] + strengths[best]);
    }
    return slope;
  });
  return {
    squares,
    best,
    predict: (row) =>
      row.reduce(
        (sum, value, j) => spreads[j] > 0 ? sum + slopes[j] * (value - means[j]) / spreads[j] : sum,
        mean,
      ),
  };
}

// The loops over rows stand alone on flat arrays: they run once a left-out row.

function squaresOf(rows: Float64Array, n: number, p: number): Matrix {
  const sums = new Float64Array(p * p);
  for (let i = 0; i < n; i++) {
    for (let a = 0; a < p; a++) {
      const value = rows[i * p + a];
      for (let b = 0; b <= a; b++) sums[a * p + b] += value * rows[i * p + b];
    }
  }
  const squares = Matrix.zeros(p, p);
  for (let a = 0; a < p; a++) {
    for (let b = 0; b <= a; b++) {
      squares.set(a, b, sums[a * p + b]);
      squares.set(b, a, sums[a * p + b]);
    }
  }
  return squares;
}

function turned(rows: Float64Array, vectors: Float64Array, n: number, p: number): Float64Array {
  const scores = new Float64Array(n * p);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < p; j++) {
      const value = rows[i * p + j];
      for (let k = 0; k < p; k++) scores[i * p + k] += value * vectors[j * p + k];
    }
  }
  return scores;
}

/** Residuals over 1 − leverage, squared and summed. */
function leftOutSquares(
  scores: Float64Array,
  away: Float64Array,
  onY: Float64Array,
  shrink: Float64Array,
): number {
  const n = away.length;
  const p = shrink.length;
  let total = 0;
  for (let i = 0, at = 0; i < n; i++) {
    let fitted = 0;
    let leverage = 1 / n;
    for (let k = 0; k < p; k++, at++) {
      const shrunk = scores[at] * shrink[k];
      fitted += shrunk * onY[k];
      leverage += shrunk * scores[at];
    }
    const error = (away[i] - fitted) / (1 - leverage);
    total += error * error;
  }
  return total;
}
