import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { crossProducts, rowProducts } from "./swept_matrix.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** How R² divides among the predictors. */
export type RelativeImportance = {
  /** One share per column; they sum to r2. Null with a reason where there is no R². */
  readonly shares: readonly number[] | null;
  readonly shares_lower: readonly number[] | null;
  readonly shares_upper: readonly number[] | null;
  /** R² of the column alone, and what it adds to all the others. */
  readonly first: readonly number[] | null;
  readonly last: readonly number[] | null;
  readonly r2: number | null;
  readonly reason: Reason | null;
  readonly confidence: number;
  readonly n: number;
  readonly method: string;
  readonly warnings: readonly Reason[];
};

/** Beyond this many columns the number of orderings outgrows patience. */
const MOST_COLUMNS = 16;

/**
 * How much of the explained variance is each predictor's?
 *
 * What a column adds to R² depends on what stands before it; its share is that gain averaged over all
 * orderings (LMG), exact over all 2^p subsets. Shares are never negative and sum to R², however
 * correlated the columns are. Percentile bootstrap intervals resample rows.
 *
 * @param X one row per case, one column per predictor; an intercept is always fitted
 * @param y the outcome
 * @param groups rows of one group are drawn together, for rows that resemble each other; default each alone
 * @returns shares in column order; null with a reason if y is constant or there are too few rows
 * @throws {RangeError} if shapes do not match, a value is not finite, or there are more than 16 columns
 * @see Lindeman, Merenda & Gold 1980; Grömping 2006, Journal of Statistical Software 17(1)
 *
 * @example Two unrelated columns: each has what it explains alone
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const X = [[1, 1], [1, -1], [-1, 1], [-1, -1]];
 * const { shares, r2 } = statistics.relativeImportance(X, [3, 1, -1, -3], { resamples: 0 });
 * assert.deepEqual(shares?.map((share) => share.toFixed(2)), ["0.80", "0.20"]);
 * assert.equal(r2, 1);
 * ```
 */
export function relativeImportance(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { resamples = 1000, confidence = 0.95, seed = DEFAULT_SEED, groups = y.map((_, row) => row) }: {
    readonly resamples?: number;
    readonly confidence?: number;
    readonly seed?: number;
    readonly groups?: readonly (string | number)[];
  } = {},
): RelativeImportance {
  option.check("statistics.relativeImportance", arguments[2], {
    groups: option.listOf(option.either(option.text, option.number)),
    resamples: option.resamples,
    confidence: option.share,
    seed: option.seed,
  });
  const { rows: n, columns: p } = checkDesign(X, y);
  if (groups.length !== n) {
    throw new RangeError(`Groups need one entry for each of ${n} rows; found ${groups.length}`);
  }
  if (p > MOST_COLUMNS) {
    throw new RangeError(`At most ${MOST_COLUMNS} columns can be shared out, was given ${p}`);
  }
  const method = `R² averaged over all orderings${
    resamples > 0 ? `, percentile bootstrap, ${resamples} resamples` : ""
  }`;
  const about = { confidence, n, method };
  const none = (reason: Reason): RelativeImportance => ({
    shares: null,
    shares_lower: null,
    shares_upper: null,
    first: null,
    last: null,
    r2: null,
    reason,
    ...about,
    warnings: [],
  });
  if (p === 0) return none({ code: "too-few", of: "columns", needed: 1, found: 0 });
  if (n < p + 2) return none({ code: "too-few", of: "rows", needed: p + 2, found: n });
  if (y.every((value) => value === y[0])) return none({ code: "constant", which: "y" });

  const tree = subsetTree(p);
  const products = rowProducts(centredRows(X, y), p + 2);
  const all = Int32Array.from({ length: n }, (_, i) => i);
  const ones = new Int32Array(n).fill(1);
  shareOut(products, n, all, ones, n, tree);
  const shares = Array.from(tree.shares);
  const r2 = shares.reduce((a, b) => a + b, 0);
  const { first, last } = firstAndLast(tree);

  const constant = Array.from({ length: p }, (_, j) => j)
    .filter((j) => X.every((row) => row[j] === X[0][j]));
  const warnings: Reason[] = constant.map((j) => ({
    code: "constant",
    which: "column",
    column: j + 1,
  }));
  const limits = resamples === 0
    ? null
    : bootstrapShares(products, groups, tree, { resamples, confidence, seed }, warnings);
  return {
    shares,
    shares_lower: limits?.lower ?? null,
    shares_upper: limits?.upper ?? null,
    first,
    last,
    r2: Math.min(1, r2),
    reason: null,
    ...about,
    warnings,
  };
}

/** Rows of 1, the columns and y, each less its mean so that cross-products lose nothing. */
function centredRows(X: readonly (readonly number[])[], y: readonly number[]): Float64Array {
  const n = y.length;
  const rows = X.map((row, i) => [...row, y[i]]);
  const means = rows[0].map((_, j) => rows.reduce((sum, row) => sum + row[j], 0) / n);
  return Float64Array.from(rows.flatMap((row) => [1, ...row.map((value, j) => value - means[j])]));
}

type SubsetTree = {
  readonly p: number;
  /** Cross-products over 1, the columns and y. */
  readonly gram: Float64Array;
  /** Per number of columns in, cross-products of the rest and y given those in. */
  readonly given: readonly Float64Array[];
  /** Below this own square a column counts as dependent on those in. */
  readonly dependent: Float64Array;
  /** What R² of a subset of each size counts in the share of its members, and against all columns. */
  readonly asMember: Float64Array;
  readonly asBase: Float64Array;
  readonly shares: Float64Array;
  /** Sum over subsets of base weight times explained squares. */
  readonly base: Float64Array;
};

function subsetTree(p: number): SubsetTree {
  const size = p + 1;
  const asBase = new Float64Array(p + 1);
  // size!·(p − 1 − size)!/p!: the share of orderings in which exactly these stand before a column.
  for (let s = 0, ways = 1; s < p; s++) {
    asBase[s] = 1 / (p * ways);
    ways = ways * (p - 1 - s) / (s + 1);
  }
  const asMember = asBase.map((weight, s) => weight + (s > 0 ? asBase[s - 1] : 0));
  return {
    p,
    gram: new Float64Array((p + 2) * (p + 2)),
    given: Array.from({ length: p + 1 }, () => new Float64Array(size * size)),
    dependent: new Float64Array(size),
    asMember,
    asBase,
    shares: new Float64Array(p),
    base: new Float64Array(1),
  };
}

/** Computes tree.shares for one resample. Returns false if y is constant in it. */
function shareOut(
  products: Float64Array,
  total: number,
  drawn: Int32Array,
  counts: ArrayLike<number>,
  m: number,
  tree: SubsetTree,
): boolean {
  const { p, gram, given, dependent, shares, base } = tree;
  const wide = p + 2;
  const size = p + 1;
  crossProducts(products, wide, drawn, counts, m, gram);
  const start = given[0];
  for (let i = 0; i < size; i++) {
    const mean = gram[i + 1] / total;
    for (let j = 0; j < size; j++) {
      start[i * size + j] = gram[(i + 1) * wide + j + 1] - mean * gram[j + 1];
    }
  }
  for (let j = 0; j < size; j++) dependent[j] = 1e-10 * gram[(j + 1) * wide + j + 1];
  const whole = start[size * size - 1];
  if (!(whole > dependent[p])) return false;
  shares.fill(0);
  base[0] = 0;
  descend(tree, 0, 0, 0);
  for (let j = 0; j < p; j++) shares[j] = Math.max(0, (shares[j] - base[0]) / whole);
  return true;
}

/**
 * Adds up all subsets that agree on the columns before `column`.
 *
 * @param inCount how many of those are in; given[inCount] holds the cross-products given them
 * @param explained squares of y that they explain
 * @returns the sum of member weight times explained squares over these subsets
 */
function descend(tree: SubsetTree, column: number, inCount: number, explained: number): number {
  const { p, given, dependent, shares } = tree;
  if (column === p - 2) return lastTwo(tree, inCount, explained);
  if (column === p - 1) return lastOne(tree, inCount, explained);
  const size = p + 1;
  const now = given[inCount];
  const own = now[column * size + column];
  const withY = now[column * size + p];
  const isFree = own > dependent[column];
  const without = descend(tree, column + 1, inCount, explained);
  const next = given[inCount + 1];
  if (isFree) condition(now, next, size, column, 1 / own);
  else copyRest(now, next, size, column);
  const more = explained + (isFree ? withY * withY / own : 0);
  const withIt = descend(tree, column + 1, inCount + 1, more);
  shares[column] += withIt;
  return withIt + without;
}

/** The four subsets of the last two columns, without another step down. */
function lastTwo(tree: SubsetTree, inCount: number, explained: number): number {
  const { p, given, dependent, asMember, asBase, shares, base } = tree;
  const now = given[inCount];
  const rowA = (p - 2) * (p + 1);
  const rowB = rowA + p + 1;
  const ownA = now[rowA + p - 2];
  const ownB = now[rowB + p - 1];
  const both = now[rowA + p - 1];
  const yA = now[rowA + p];
  const yB = now[rowB + p];
  const factor = ownA > dependent[p - 2] ? 1 / ownA : 0;
  const restB = ownB - both * both * factor;
  const restY = yB - both * yA * factor;
  const onlyA = explained + yA * yA * factor;
  const onlyB = explained + (ownB > dependent[p - 1] ? yB * yB / ownB : 0);
  const all = onlyA + (restB > dependent[p - 1] ? restY * restY / restB : 0);
  base[0] += asBase[inCount] * explained + asBase[inCount + 1] * (onlyA + onlyB) +
    asBase[inCount + 2] * all;
  const weight = asMember[inCount + 1];
  const weighedAll = asMember[inCount + 2] * all;
  shares[p - 2] += weight * onlyA + weighedAll;
  shares[p - 1] += weight * onlyB + weighedAll;
  return asMember[inCount] * explained + weight * (onlyA + onlyB) + weighedAll;
}

/** The same where there is only one column in all. */
function lastOne(tree: SubsetTree, inCount: number, explained: number): number {
  const { p, given, dependent, asMember, asBase, shares, base } = tree;
  const at = (p - 1) * (p + 1);
  const own = given[inCount][at + p - 1];
  const withY = given[inCount][at + p];
  const more = explained + (own > dependent[p - 1] ? withY * withY / own : 0);
  base[0] += asBase[inCount] * explained + asBase[inCount + 1] * more;
  const withIt = asMember[inCount + 1] * more;
  shares[p - 1] += withIt;
  return withIt + asMember[inCount] * explained;
}

/** Cross-products of the later columns and y given this one too; upper triangle only. */
function condition(
  from: Float64Array,
  into: Float64Array,
  size: number,
  column: number,
  inverse: number,
): void {
  const pivot = column * size;
  for (let i = column + 1; i < size; i++) {
    const factor = from[pivot + i] * inverse;
    const row = i * size;
    for (let j = i; j < size; j++) into[row + j] = from[row + j] - factor * from[pivot + j];
  }
}

function copyRest(from: Float64Array, into: Float64Array, size: number, column: number): void {
  for (let i = column + 1; i < size; i++) {
    for (let j = i; j < size; j++) into[i * size + j] = from[i * size + j];
  }
}

/** R² of each column alone and after all others, from the whole sample's cross-products. */
function firstAndLast({ p, given, dependent }: SubsetTree): { first: number[]; last: number[] } {
  const size = p + 1;
  const start = given[0];
  const whole = start[size * size - 1];
  const explainedBy = (order: readonly number[]) => {
    const left = start.slice();
    let before = 0;
    let explained = 0;
    for (const k of order) {
      before = explained;
      const own = left[k * size + k];
      if (!(own > dependent[k])) continue;
      explained += left[k * size + p] ** 2 / own;
      for (let i = 0; i < size; i++) {
        const factor = left[i * size + k] / own;
        if (i !== k) {
          for (let j = 0; j < size; j++) left[i * size + j] -= factor * left[k * size + j];
        }
      }
    }
    return { explained, gain: explained - before };
  };
  const ids = Array.from({ length: p }, (_, j) => j);
  return {
    first: ids.map((j) => explainedBy([j]).explained / whole),
    last: ids.map((j) => explainedBy([...ids.filter((k) => k !== j), j]).gain / whole),
  };
}

function bootstrapShares(
  products: Float64Array,
  groups: readonly (string | number)[],
  tree: SubsetTree,
  { resamples, confidence, seed }: {
    readonly resamples: number;
    readonly confidence: number;
    readonly seed: number;
  },
  warnings: Reason[],
): { lower: number[]; upper: number[] } | null {
  const { p } = tree;
  const n = groups.length;
  const drawnTogether = [...Map.groupBy(groups.keys(), (row) => groups[row]).values()];
  const stream = randomStream(seed, 9, n);
  const draws = new Uint32Array(drawnTogether.length);
  const counts = new Int32Array(n);
  const all = Int32Array.from({ length: n }, (_, i) => i);
  const values = Array.from({ length: p }, () => new Float64Array(resamples));
  let kept = 0;
  for (let b = 0; b < resamples; b++) {
    stream.fillIntegers(draws, draws.length);
    counts.fill(0);
    for (const group of draws) for (const row of drawnTogether[group]) counts[row]++;
    if (!shareOut(products, n, all, counts, n, tree)) continue;
    for (let j = 0; j < p; j++) values[j][kept] = tree.shares[j];
    kept++;
  }
  if (kept < resamples) {
    warnings.push({
      code: "resamples-lost",
      lost: resamples - kept,
      of: resamples,
      because: "constant",
    });
  }
  if (kept < resamples / 2) return null;
  const tail = (1 - confidence) / 2;
  const sorted = values.map((column) => orderStatistics(column.subarray(0, kept)));
  return {
    lower: sorted.map((column) => column.quantile(tail)),
    upper: sorted.map((column) => column.quantile(1 - tail)),
  };
}
