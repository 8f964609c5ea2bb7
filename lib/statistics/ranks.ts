/**
 * Where does each value stand among the others?
 *
 * Ranks from 1 to n, smallest first; tied values share the mean of the places they take (mid-ranks).
 *
 * @param values finite numbers in any unit
 * @returns one rank per value, in the order given; an empty list for an empty one
 * @throws {RangeError} if a value is not a finite number
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.deepEqual(statistics.ranks([48, 50, 48, 52]), [1.5, 3, 1.5, 4]);
 * ```
 */
export function ranks(values: readonly number[]): number[] {
  const doubled = doubledCentredRanks(values);
  return Array.from(doubled, (rank) => (rank + values.length + 1) / 2);
}

/**
 * The same ranks as whole numbers: 2·rank − (n + 1).
 *
 * They sum to 0, and sums of their products are exact, so that two rank correlations that are equal on
 * paper are equal here too.
 *
 * @throws {RangeError} if a value is not a finite number
 */
export function doubledCentredRanks(values: readonly number[]): Int32Array {
  const odd = values.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`Cannot rank values: ${odd} is not finite`);
  const { start, end } = tieGroups(values);
  return start.map((first, i) => first + end[i] - values.length);
}

/** Rows in ascending order of value, and for each row where its group of ties begins and ends in it. */
type TieGroups = {
  /** Row numbers, smallest value first. */
  readonly order: Int32Array;
  /** Per row, the place in `order` where its ties begin. */
  readonly start: Int32Array;
  /** Per row, the place in `order` just after its ties. */
  readonly end: Int32Array;
};

/** Sorts once what every later resample needs: the order of the rows and which of them are tied. */
export function tieGroups(values: ArrayLike<number>): TieGroups {
  const n = values.length;
  const order = new Int32Array(n);
  for (let row = 0; row < n; row++) order[row] = row;
  if (n <= MOST_INSERTED) insertInOrder(order, values);
  else order.sort((a, b) => values[a] - values[b] || a - b);
  const start = new Int32Array(n);
  const end = new Int32Array(n);
  for (let from = 0; from < n;) {
    let to = from + 1;
    while (to < n && values[order[to]] === values[order[from]]) to++;
    for (let k = from; k < to; k++) {
      start[order[k]] = from;
      end[order[k]] = to;
    }
    from = to;
  }
  return { order, start, end };
}

/** Up to this many rows, putting each in its place beats a sort that calls back for every comparison. */
const MOST_INSERTED = 96;

function insertInOrder(order: Int32Array, values: ArrayLike<number>): void {
  for (let k = 1; k < order.length; k++) {
    const row = order[k];
    const value = values[row];
    let to = k;
    while (to > 0 && values[order[to - 1]] > value) {
      order[to] = order[to - 1];
      to--;
    }
    order[to] = row;
  }
}
