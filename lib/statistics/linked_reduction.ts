import type { LinkedRows } from "./linked_simplex_least_squares.ts";

/** The smaller problem that is left when all columns but the free ones keep their weights. */
export type Reduction = {
  readonly free: readonly number[];
  readonly kept: readonly number[];
  /** Per kept column, its weight in those of the free ones together. */
  readonly shares: readonly number[];
  readonly size: number;
};

/**
 * The reduction to some free columns; null where their old weights are all 0, so that nothing can be divided.
 *
 * A kept part K goes into every free column as K / (weight of the free ones), which their fixed sum
 * turns into K itself.
 */
export function reduction({ size, toward }: LinkedRows, free: readonly number[]): Reduction | null {
  const total = free.reduce((sum, j) => sum + toward[j], 0);
  if (!(total > 0)) return null;
  const kept = [...toward.keys()].filter((j) => !free.includes(j) && toward[j] > 0);
  return { free, kept, shares: kept.map((j) => toward[j] / total), size };
}

/** The rows of the smaller problem. */
export function reduced(rows: LinkedRows, { free, kept, shares, size }: Reduction): LinkedRows {
  const toward = Float64Array.from(free, (j) => rows.toward[j]);
  const small = free.length + 2;
  const flat = new Float64Array(rows.n * small);
  for (let row = 0; row < rows.n; row++) {
    const [from, to] = [row * size, row * small];
    let part = 0;
    for (let k = 0; k < kept.length; k++) part += shares[k] * rows.flat[from + 1 + kept[k]];
    flat[to] = rows.flat[from];
    for (let k = 0; k < free.length; k++) {
      flat[to + 1 + k] = rows.flat[from + 1 + free[k]] + part;
    }
    flat[to + small - 1] = rows.flat[from + size - 1];
  }
  return {
    ...rows,
    size: small,
    flat,
    toward,
    total: toward.reduce((sum, weight) => sum + weight, 0),
  };
}

/** The cross-products of the smaller problem's columns, from those of the larger one's. */
export function reduceInto(
  gram: Float64Array,
  { free, kept, shares, size }: Reduction,
  into: Float64Array,
): void {
  const small = free.length + 2;
  const y = size - 1;
  // What the kept part has in common with a column of the larger problem, and with itself.
  const withKept = (column: number) => {
    let sum = 0;
    for (let k = 0; k < kept.length; k++) sum += shares[k] * gram[(1 + kept[k]) * size + column];
    return sum;
  };
  let own = 0;
  for (let k = 0; k < kept.length; k++) own += shares[k] * withKept(1 + kept[k]);
  const [withOne, withY] = [withKept(0), withKept(y)];
  const common = free.map((j) => withKept(1 + j));
  into[0] = gram[0];
  into[small - 1] = gram[y];
  into[(small - 1) * small] = gram[y];
  into[small * small - 1] = gram[size * size - 1];
  for (let a = 0; a < free.length; a++) {
    const column = 1 + free[a];
    const at = (1 + a) * small;
    into[at] = into[1 + a] = gram[column] + withOne;
    into[at + small - 1] = into[(small - 1) * small + 1 + a] = gram[column * size + y] + withY;
    for (let b = 0; b < free.length; b++) {
      into[at + 1 + b] = gram[column * size + 1 + free[b]] + common[a] + common[b] + own;
    }
  }
}

/** The weights of all columns from those of the free ones. */
export function spreadOut(
  rows: LinkedRows,
  free: readonly number[],
  weights: Float64Array,
): Float64Array {
  const all = rows.toward.slice();
  free.forEach((j, k) => all[j] = weights[k]);
  return all;
}
