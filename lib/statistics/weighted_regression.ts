import { tQuantile, tUpper } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import type { Reason } from "./reason.ts";

/** Columns of a regression by name, one number a row. */
export type RegressionColumns = Readonly<Record<string, readonly number[]>>;

/** A fitted line or plane, ready to be asked about any of its columns. */
export type WeightedRegression = {
  /** Columns that the rows can't tell from those before them, left out. */
  readonly dropped: readonly string[];
  readonly freedom: number;
  /** Coefficient of a column; null when it was left out. */
  readonly coefficient: (column: string) => number | null;
  readonly residuals: readonly number[];
  readonly residualSquares: number;
  /** A column's coefficient with its interval, and the test against 0. */
  readonly test: (column: string, confidence: number) => {
    readonly estimate: Estimate;
    readonly p: number | null;
  };
};

/**
 * How does a value depend on a few columns, each given the others?
 *
 * Weighted least squares by orthogonalising one column after the other. A column that the earlier ones
 * already make up is left out and named, never fitted with an arbitrary share.
 *
 * @param columns in order of priority, the constant included if it is wanted
 * @param y one value a row; take a large common offset away before
 * @param options.weights one a row, above 0
 * @param options.within a level a row: everything is fitted inside levels, as if each of them had a 0/1
 * column of its own before all others, at the cost of one pass over the rows
 */
export function weightedRegression(
  columns: RegressionColumns,
  y: readonly number[],
  { weights, within }: {
    readonly weights?: readonly number[];
    readonly within?: readonly (string | number)[];
  } = {},
): WeightedRegression {
  const rows = y.length;
  const roots = new Float64Array(rows).fill(1);
  weights?.forEach((weight, i) => roots[i] = Math.sqrt(weight));
  const levels = within === undefined ? null : levelsOf(within, roots);
  const names: string[] = [];
  const dropped: string[] = [];
  const units: Unit[] = [];
  /** Column by column: shares in the units before it, then its own length. */
  const triangle: Float64Array[] = [];
  for (const [name, values] of Object.entries(columns)) {
    const column = new Float64Array(rows);
    for (let i = 0; i < rows; i++) column[i] = values[i] * roots[i];
    const before = norm(column);
    if (levels !== null) centre(levels, roots, column);
    const shares = removeAll(units, column);
    const length = norm(column);
    if (!(length > 1e-9 * before)) {
      dropped.push(name);
      continue;
    }
    names.push(name);
    units.push(unitOf(column, length));
    const down = new Float64Array(shares.length + 1);
    down.set(shares);
    down[shares.length] = length;
    triangle.push(down);
  }

  const left = new Float64Array(rows);
  let largest = 0;
  for (let i = 0; i < rows; i++) {
    left[i] = y[i] * roots[i];
    largest = Math.max(largest, Math.abs(left[i]));
  }
  if (levels !== null) centre(levels, roots, left);
  const coefficients = removeAll(units, left);
  for (let j = names.length - 1; j >= 0; j--) {
    for (let l = j + 1; l < names.length; l++) coefficients[j] -= triangle[l][j] * coefficients[l];
    coefficients[j] /= triangle[j][j];
  }
  const freedom = rows - names.length - (levels?.squares.length ?? 0);
  const residualSquares = norm(left) ** 2;
  const hidden = residualSquares <= rows * (8 * Number.EPSILON * largest) ** 2;

  const test = (column: string, confidence: number) => {
    const about = {
      confidence,
      method: "least squares, Student's t interval",
      n: rows,
    };
    const at = names.indexOf(column);
    const value = coefficients[at];
    const nothing = (reason: Reason) => ({ estimate: noEstimate(reason, about), p: null });
    if (at < 0) return nothing({ code: "not-told-apart" });
    if (freedom < 1) {
      return nothing({ code: "too-few", of: "rows", needed: rows - freedom + 1, found: rows });
    }
    if (hidden) return nothing({ code: "no-noise", of: "fit" });
    const scatter = residualSquares / freedom;
    const error = Math.sqrt(scatter * unitVariance(triangle, at));
    const reach = tQuantile((1 + confidence) / 2, freedom) * error;
    return {
      estimate: {
        estimate: value,
        estimate_reason: null,
        lower: value - reach,
        upper: value + reach,
        ...about,
        warnings: [],
      },
      p: Math.min(1, 2 * tUpper(Math.abs(value) / error, freedom)),
    };
  };
  return {
    dropped,
    freedom,
    coefficient: (column) => coefficients[names.indexOf(column)] ?? null,
    residuals: Array.from(left, (value, i) => value / roots[i]),
    residualSquares,
    test,
  };
}

/** Which level each row has, and the sum of the rows' weights in each. */
type Levels = {
  readonly of: Int32Array;
  readonly squares: Float64Array;
  readonly sums: Float64Array;
};

function levelsOf(within: readonly (string | number)[], roots: Float64Array): Levels {
  const ids = new Map<string | number, number>();
  const of = new Int32Array(roots.length);
  within.forEach((level, i) => {
    if (!ids.has(level)) ids.set(level, ids.size);
    of[i] = ids.get(level)!;
  });
  const squares = new Float64Array(ids.size);
  for (let i = 0; i < of.length; i++) squares[of[i]] += roots[i] * roots[i];
  return { of, squares, sums: new Float64Array(ids.size) };
}

/** Takes the weighted mean of its level out of every row, in place; twice, to the last digit. */
function centre({ of, squares, sums }: Levels, roots: Float64Array, column: Float64Array): void {
  for (let pass = 0; pass < 2; pass++) {
    sums.fill(0);
    for (let i = 0; i < of.length; i++) sums[of[i]] += column[i] * roots[i];
    for (let i = 0; i < of.length; i++) column[i] -= roots[i] * sums[of[i]] / squares[of[i]];
  }
}

/** A column of length 1, and the rows between which it is not 0: most of a large design is empty. */
type Unit = { readonly values: Float64Array; readonly from: number; readonly to: number };

function unitOf(column: Float64Array, length: number): Unit {
  let from = column.length;
  let to = 0;
  for (let i = 0; i < column.length; i++) {
    if (column[i] === 0) continue;
    column[i] /= length;
    from = Math.min(from, i);
    to = i + 1;
  }
  return { values: column, from, to };
}

/** Takes the share of every unit out of a column, in place; twice, for orthogonality to the last digit. */
function removeAll(units: readonly Unit[], column: Float64Array): Float64Array {
  const shares = new Float64Array(units.length);
  for (let pass = 0; pass < 2; pass++) {
    for (let j = 0; j < units.length; j++) {
      const share = removeOne(units[j], column);
      if (share !== 0) shares[j] += share;
    }
  }
  return shares;
}

function removeOne({ values, from, to }: Unit, column: Float64Array): number {
  let share = 0;
  for (let i = from; i < to; i++) share += values[i] * column[i];
  if (share === 0) return share;
  for (let i = from; i < to; i++) column[i] -= share * values[i];
  return share;
}

/** Variance of one coefficient for a scatter of 1: its row of the inverse triangle, squared and summed. */
function unitVariance(triangle: readonly Float64Array[], at: number): number {
  const row = new Float64Array(triangle.length);
  row[at] = 1 / triangle[at][at];
  let total = row[at] ** 2;
  for (let l = at + 1; l < triangle.length; l++) {
    for (let m = at; m < l; m++) row[l] -= row[m] * triangle[l][m];
    row[l] /= triangle[l][l];
    total += row[l] ** 2;
  }
  return total;
}

function norm(column: Float64Array): number {
  let total = 0;
  for (let i = 0; i < column.length; i++) total += column[i] * column[i];
  return Math.sqrt(total);
}
