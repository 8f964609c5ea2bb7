import { tQuantile, tUpper } from "../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../statistics/estimate.ts";

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
  /** Σ weights·values² after the mean of nothing: what rounding is measured by. */
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
 * @param weights one a row, above 0
 */
export function weightedRegression(
  columns: RegressionColumns,
  y: readonly number[],
  weights: readonly number[] = y.map(() => 1),
): WeightedRegression {
  const names = Object.keys(columns);
  const roots = weights.map(Math.sqrt);
  const basis: { name: string; unit: Float64Array; length: number; back: Map<string, number> }[] =
    [];
  const dropped: string[] = [];
  for (const name of names) {
    const column = Float64Array.from(columns[name], (x, i) => x * roots[i]);
    const before = norm(column);
    const back = new Map<string, number>();
    // Twice is enough for orthogonality to the last digit.
    for (let pass = 0; pass < 2; pass++) {
      for (const { name: other, unit } of basis) {
        const share = dot(unit, column);
        back.set(other, (back.get(other) ?? 0) + share);
        for (let i = 0; i < column.length; i++) column[i] -= share * unit[i];
      }
    }
    const length = norm(column);
    if (!(length > 1e-9 * before)) {
      dropped.push(name);
      continue;
    }
    basis.push({ name, unit: column.map((x) => x / length), length, back });
  }

  const left = Float64Array.from(y, (value, i) => value * roots[i]);
  const largest = left.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const projections = new Map<string, number>();
  for (let pass = 0; pass < 2; pass++) {
    for (const { name, unit } of basis) {
      const share = dot(unit, left);
      projections.set(name, (projections.get(name) ?? 0) + share);
      for (let i = 0; i < left.length; i++) left[i] -= share * unit[i];
    }
  }
  const coefficients = new Map<string, number>();
  /** Row of the inverse triangle: how each coefficient is made of the projections. */
  const made = new Map<string, Map<string, number>>();
  for (const { name, length } of basis.toReversed()) {
    const own = new Map([[name, 1 / length]]);
    const after = basis.slice(basis.findIndex((one) => one.name === name) + 1);
    for (const later of after) {
      const share = (later.back.get(name) ?? 0) / length;
      for (const [source, times] of made.get(later.name)!) {
        own.set(source, (own.get(source) ?? 0) - share * times);
      }
    }
    made.set(name, own);
    coefficients.set(
      name,
      [...own].reduce((total, [source, times]) => total + times * projections.get(source)!, 0),
    );
  }
  const freedom = y.length - basis.length;
  const residualSquares = left.reduce((total, value) => total + value * value, 0);
  const hidden = residualSquares <= y.length * (8 * Number.EPSILON * largest) ** 2;

  const test = (column: string, confidence: number) => {
    const about = {
      confidence,
      method: "least squares, Student's t interval",
      n: y.length,
    };
    const value = coefficients.get(column);
    const nothing = (reason: string) => ({ estimate: noEstimate(reason, about), p: null });
    if (value === undefined) return nothing("the design does not tell it from the other columns");
    if (freedom < 1) return nothing("too few sessions to tell it from scatter");
    if (hidden) return nothing("the values leave no scatter to compare with");
    const scatter = residualSquares / freedom;
    const error = Math.sqrt(
      scatter * [...made.get(column)!.values()].reduce((total, times) => total + times * times, 0),
    );
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
    coefficient: (column) => coefficients.get(column) ?? null,
    residuals: Array.from(left, (value, i) => value / roots[i]),
    residualSquares,
    test,
  };
}

function dot(a: Float64Array, b: Float64Array): number {
  let total = 0;
  for (let i = 0; i < a.length; i++) total += a[i] * b[i];
  return total;
}

function norm(a: Float64Array): number {
  return Math.sqrt(dot(a, a));
}
