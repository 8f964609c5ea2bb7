import { randomStream } from "./random_stream.ts";
import {
  carrierCount,
  emptyResample,
  loadCarriers,
  rankResample,
  type RankTable,
  sumProducts,
  unloadCarriers,
} from "./rank_resampling.ts";

/** How often permuted rank correlations reach the observed ones. */
type RankPermutation = {
  /** Per pair, column-major: permutations whose |rho| is at least the observed. */
  readonly reached: Float64Array;
  /** Per pair: the same for the largest |rho| among its target's columns at or below it. */
  readonly reachedStepDown: Float64Array;
  readonly permutations: number;
  /** True if every order was tried, so that counts over permutations are exact. */
  readonly complete: boolean;
};

/** Up to this many rows every order is tried. */
export const MOST_ROWS_ENUMERATED = 8;

/** One stream for the permutations of every set of n rows, whatever columns are asked for. */
export const PERMUTATION_STREAM = 2;

/**
 * How often do shuffled targets correlate as strongly as the real ones?
 *
 * Ranked once; one permutation serves all pairs. Sums of doubled centred ranks are whole numbers, so
 * 'as strongly' is decided exactly, ties included.
 *
 * @param permutations how many random orders; ignored where all can be tried
 * @see Westfall & Young 1993, Resampling-Based Multiple Testing, algorithm 2.8, for the step-down
 */
export function permuteRankCorrelations(
  table: RankTable,
  { permutations, seed }: { readonly permutations: number; readonly seed: number },
): RankPermutation {
  const { n } = table;
  const test = prepare(table);
  const perm = Int32Array.from({ length: n }, (_, row) => row);
  const complete = n <= MOST_ROWS_ENUMERATED;
  let tried = 0;
  if (complete) {
    forEachOrder(perm, () => {
      tryOrder(test, perm);
      tried++;
    });
  } else {
    const stream = randomStream(seed, PERMUTATION_STREAM, n);
    const block = new Float64Array(128 * (n - 1));
    while (tried < permutations) {
      stream.fillUniform(block);
      for (let b = 0; b < 128 && tried < permutations; b++, tried++) {
        shuffle(perm, block, b * (n - 1));
        tryOrder(test, perm);
      }
    }
  }
  const { reached, reachedStepDown } = test;
  return { reached, reachedStepDown, permutations: tried, complete };
}

/** Fisher–Yates from a block of uniform numbers, n − 1 of them. */
export function shuffle(perm: Int32Array, uniforms: Float64Array, from: number): void {
  for (let i = perm.length - 1; i > 0; i--) {
    const j = (uniforms[from + i - 1] * (i + 1)) | 0;
    const kept = perm[i];
    perm[i] = perm[j];
    perm[j] = kept;
  }
}

/** Calls back with every order of the list, changed in place (Heap's way). */
export function forEachOrder(list: Int32Array, visit: () => void): void {
  const swaps = new Int32Array(list.length);
  visit();
  for (let i = 1; i < list.length;) {
    if (swaps[i] < i) {
      const j = i % 2 === 0 ? 0 : swaps[i];
      const kept = list[i];
      list[i] = list[j];
      list[j] = kept;
      visit();
      swaps[i]++;
      i = 1;
    } else swaps[i++] = 0;
  }
}

type Test = {
  readonly table: RankTable;
  readonly ranks: Float64Array;
  readonly carriers: number;
  readonly carried: Float64Array;
  readonly shuffled: Float64Array;
  readonly packedSums: Float64Array;
  /** Sums of products in the present order, per column then target. */
  readonly sums: Float64Array;
  readonly squares: Float64Array;
  readonly scale: Float64Array;
  /** |Sum of products| observed, per column then target. */
  readonly observed: Float64Array;
  /** Per target: its columns from the strongest correlation to the weakest. */
  readonly ladder: Int32Array;
  /** Observed |sum|·scale per target and rung, a hair below and above: between them, whole numbers decide. */
  readonly surelyBelow: Float64Array;
  readonly surelyAbove: Float64Array;
  readonly reached: Float64Array;
  readonly reachedStepDown: Float64Array;
};

function prepare(table: RankTable): Test {
  const { n, padded, width, columnCount, targetCount } = table;
  const carriers = carrierCount(table);
  const whole = emptyResample(table);
  whole.counts.fill(1);
  for (let row = 0; row < n; row++) whole.drawn[row] = row;
  rankResample(table, whole, n, n);
  const carried = new Float64Array(n * carriers);
  loadCarriers(table, whole, n, carriers, carried);
  const pairs = columnCount * targetCount;
  const test: Test = {
    table,
    ranks: onlyColumns(whole.ranks, width, padded, n),
    carriers,
    carried,
    shuffled: new Float64Array(n * carriers),
    packedSums: new Float64Array(padded * carriers),
    sums: new Float64Array(pairs),
    squares: whole.squares,
    scale: whole.squares.map((squares) => 1 / Math.sqrt(squares)),
    observed: new Float64Array(pairs),
    ladder: new Int32Array(pairs),
    surelyBelow: new Float64Array(pairs),
    surelyAbove: new Float64Array(pairs),
    reached: new Float64Array(pairs),
    reachedStepDown: new Float64Array(pairs),
  };
  takeSums(test, whole.drawn.subarray(0, n));
  test.sums.forEach((sum, k) => test.observed[k] = Math.abs(sum));
  for (let t = 0; t < targetCount; t++) {
    const strength = (j: number) => test.observed[j * targetCount + t] * test.scale[j];
    const ladder = Array.from({ length: columnCount }, (_, j) => j)
      .sort((a, b) => strength(b) - strength(a) || a - b);
    ladder.forEach((j, rung) => {
      const at = t * columnCount + rung;
      test.ladder[at] = j;
      test.surelyBelow[at] = strength(j) * (1 - 1e-12);
      test.surelyAbove[at] = strength(j) * (1 + 1e-12);
    });
  }
  return test;
}

function onlyColumns(ranks: Float64Array, width: number, padded: number, n: number): Float64Array {
  const columns = new Float64Array(n * padded);
  for (let row = 0; row < n; row++) {
    columns.set(ranks.subarray(row * width, row * width + padded), row * padded);
  }
  return columns;
}

function tryOrder(test: Test, perm: Int32Array): void {
  takeSums(test, perm);
  countPlain(test.sums, test.observed, test.reached);
  for (let t = 0; t < test.table.targetCount; t++) climb(test, t);
}

function takeSums(test: Test, perm: Int32Array): void {
  const { n, padded, columnCount, targetCount } = test.table;
  const { ranks, carriers, carried, shuffled, packedSums, sums } = test;
  gather(carried, carriers, perm, shuffled);
  sumProducts(ranks, padded, padded, shuffled, carriers, n, packedSums);
  unloadCarriers(packedSums, carriers, columnCount, targetCount, sums);
}

function gather(from: Float64Array, carriers: number, perm: Int32Array, into: Float64Array): void {
  for (let i = 0, to = 0; i < perm.length; i++) {
    const row = perm[i] * carriers;
    for (let q = 0; q < carriers; q++) into[to++] = from[row + q];
  }
}

function countPlain(sums: Float64Array, observed: Float64Array, reached: Float64Array): void {
  for (let k = 0; k < sums.length; k++) if (Math.abs(sums[k]) >= observed[k]) reached[k]++;
}

/** From the weakest rung up: does the largest correlation so far reach this rung's observed one? */
function climb(test: Test, t: number): void {
  const { columnCount, targetCount } = test.table;
  const { ladder, scale, sums, surelyBelow, surelyAbove, reachedStepDown } = test;
  const at = t * columnCount;
  let largest = 0;
  for (let rung = columnCount - 1; rung >= 0; rung--) {
    const j = ladder[at + rung];
    largest = Math.max(largest, Math.abs(sums[j * targetCount + t]) * scale[j]);
    if (largest < surelyBelow[at + rung]) continue;
    if (largest > surelyAbove[at + rung] || reachesExactly(test, t, rung)) {
      reachedStepDown[j * targetCount + t]++;
    }
  }
}

/** Is any |rho| from this rung down at least the observed one, decided in whole numbers? */
function reachesExactly(test: Test, t: number, rung: number): boolean {
  const { columnCount, targetCount } = test.table;
  const { ladder, sums, observed, squares } = test;
  const wanted = ladder[t * columnCount + rung];
  const goal = observed[wanted * targetCount + t];
  for (let k = rung; k < columnCount; k++) {
    const j = ladder[t * columnCount + k];
    const sum = Math.abs(sums[j * targetCount + t]);
    const left = sum * sum * squares[wanted];
    const right = goal * goal * squares[j];
    if (Math.max(left, right) < Number.MAX_SAFE_INTEGER) {
      if (left >= right) return true;
    } else if (
      BigInt(sum) ** 2n * BigInt(squares[wanted]) >= BigInt(goal) ** 2n * BigInt(squares[j])
    ) return true;
  }
  return false;
}
