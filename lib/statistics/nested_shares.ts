import * as option from "../options.ts";

/** Rows in groups within groups: `inner` numbers the small groups, `outer` the large ones that hold them. */
export type NestedGroups = {
  readonly outer: readonly number[];
  readonly inner: readonly number[];
};

/** How much of the variance lies between large groups, between small ones within them, and within these. */
export type NestedShares = {
  readonly outer: number;
  readonly inner: number;
  readonly rest: number;
  /** Mean, then what each stratum lies above it, by generalized least squares at the shares. */
  readonly fixed: readonly number[];
};

/** Shares are looked for in steps of this, then ever finer around the best. */
const FIRST_STEP = 0.2;
const LAST_STEP = 5e-4;
/** No share so large that rows of a group would be copies of each other. */
const MOST = 0.98;

/**
 * How alike are rows of one group?
 *
 * A normal model with a random effect of the large group, of the small one within it, and of the row;
 * shares by restricted maximum likelihood. A level that the groups can't tell from its neighbour (one
 * large group only, every row a small group of its own) has a share of 0.
 *
 * @param values one a row, at least one more than there are strata
 * @param strata columns that the mean may depend on besides (0 or 1 each), one list a column
 * @throws {RangeError} if lists differ in length, a value is not finite, or a small group lies in two large ones
 * @see Patterson & Thompson 1971, Biometrika 58:545; checked against R's lme4
 *
 * @example Three lines of two editions each, alike within a line
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const shares = statistics.nestedShares([5, 5.2, 7, 7.1, 9, 8.6], {
 *   outer: [0, 0, 0, 0, 0, 0],
 *   inner: [0, 0, 1, 1, 2, 2],
 * });
 * assert.equal(shares.outer, 0);
 * assert.ok(shares.inner > 0.9);
 * ```
 */
export function nestedShares(
  values: readonly number[],
  groups: NestedGroups,
  { strata = [] }: { readonly strata?: readonly (readonly number[])[] } = {},
): NestedShares {
  option.check("statistics.nestedShares", arguments[2], { strata: option.thing });
  checkCall(values, groups, strata);
  const model = nestedModel([values, values.map(() => 1), ...strata], groups);
  const open = separableLevels(groups);
  const most = (level: boolean) => level ? MOST : 0;
  let best = { outer: 0, inner: 0, likelihood: model.solve(0, 0).likelihood };
  // A place that was no better once is none later: the search comes back to many, at 0 to most.
  const seen = new Map([[0, new Set([0])]]);
  const attempt = (outer: number, inner: number) => {
    if (outer < 0 || inner < 0 || outer + inner > MOST) return;
    if (outer > most(open.outer) || inner > most(open.inner)) return;
    const tried = seen.get(outer) ?? new Set();
    if (tried.has(inner)) return;
    seen.set(outer, tried.add(inner));
    const { likelihood } = model.solve(outer, inner);
    // A likelihood that is flat to the last digits keeps the smaller share.
    if (likelihood > best.likelihood + 1e-10) best = { outer, inner, likelihood };
  };
  for (let outer = 0; outer <= most(open.outer); outer += FIRST_STEP) {
    for (let inner = 0; inner <= most(open.inner); inner += FIRST_STEP) attempt(outer, inner);
  }
  for (let step = FIRST_STEP / 2; step >= LAST_STEP; step /= 2) {
    for (let moved = true; moved;) {
      const { outer, inner, likelihood } = best;
      for (const [a, b] of [[1, 0], [-1, 0], [0, 1], [0, -1], [1, -1], [-1, 1]]) {
        attempt(Math.max(0, outer + a * step), Math.max(0, inner + b * step));
      }
      moved = best.likelihood > likelihood;
    }
  }
  const { outer, inner } = best;
  return { outer, inner, rest: 1 - outer - inner, fixed: model.solve(outer, inner).fixed };
}

/** Which levels can the grouping tell from their neighbours? */
function separableLevels(
  { outer, inner }: NestedGroups,
): { readonly outer: boolean; readonly inner: boolean } {
  const outers = new Set(outer).size;
  const inners = new Set(inner).size;
  return {
    // Where every row is a small group of its own, large groups are told from rows; where every large
    // group holds one small group, what they share goes to the small one.
    outer: outers > 1 && outers < inners,
    inner: inners > 1 && inners < inner.length,
  };
}

function checkCall(
  values: readonly number[],
  { outer, inner }: NestedGroups,
  strata: readonly (readonly number[])[],
): void {
  const n = values.length;
  const short = [outer, inner, ...strata].find((list) => list.length !== n);
  if (short !== undefined) {
    throw new RangeError(
      `Groups and strata need one entry a value; found ${n} and ${short.length}`,
    );
  }
  const odd = values.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`Cannot share out variance: ${odd} is not finite`);
  if (n < strata.length + 2) {
    throw new RangeError(`${n} values are too few for a mean and ${strata.length} strata`);
  }
  const holder = new Map<number, number>();
  inner.forEach((group, row) => {
    const known = holder.get(group) ?? outer[row];
    if (known !== outer[row]) {
      throw new RangeError(`Small group ${group} lies in large groups ${known} and ${outer[row]}`);
    }
    holder.set(group, known);
  });
}

/**
 * Products of columns through the inverse of the covariance. What a small group takes off depends on its
 * size alone, so groups of one size are summed once; a step of the search then costs a handful of sizes
 * and the large groups, not the small ones.
 */
function nestedModel(columns: readonly (readonly number[])[], { outer, inner }: NestedGroups) {
  const numbered = (ids: readonly number[]) => {
    const place = new Map([...new Set(ids)].map((id, g) => [id, g]));
    return { of: Int32Array.from(ids, (id) => place.get(id)!), count: place.size };
  };
  const [small, large] = [numbered(inner), numbered(outer)];
  const width = columns.length;
  const square = width * width;
  const sizeOf = new Int32Array(small.count);
  const parent = new Int32Array(small.count);
  const sums = new Float64Array(small.count * width);
  const products = new Float64Array(square);
  small.of.forEach((g, row) => {
    sizeOf[g]++;
    parent[g] = large.of[row];
    for (let c = 0; c < width; c++) {
      sums[g * width + c] += columns[c][row];
      for (let d = 0; d <= c; d++) products[c * width + d] += columns[c][row] * columns[d][row];
    }
  });
  const sizes = [...new Set(sizeOf)];
  const groups = new Float64Array(sizes.length);
  const sizeProducts = new Float64Array(sizes.length * square);
  const parentGroups = new Float64Array(large.count * sizes.length);
  const parentSizeSums = new Float64Array(large.count * sizes.length * width);
  sizeOf.forEach((size, g) => {
    const k = sizes.indexOf(size);
    const at = parent[g] * sizes.length + k;
    groups[k]++;
    parentGroups[at]++;
    for (let c = 0; c < width; c++) {
      parentSizeSums[at * width + c] += sums[g * width + c];
      for (let d = 0; d <= c; d++) {
        sizeProducts[k * square + c * width + d] += sums[g * width + c] * sums[g * width + d];
      }
    }
  });

  const out = new Float64Array(square);
  const parentSums = new Float64Array(width);

  /** Puts the lower triangle of the columns' products through the inverse covariance; its log determinant. */
  function through(outerShare: number, innerShare: number): number {
    const rest = 1 - outerShare - innerShare;
    for (let k = 0; k < square; k++) out[k] = products[k] / rest;
    let logDeterminant = (inner.length - small.count) * Math.log(rest);
    for (let k = 0; k < sizes.length; k++) {
      const whole = rest + sizes[k] * innerShare;
      logDeterminant += groups[k] * Math.log(whole);
      const factor = innerShare / (rest * whole);
      for (let at = 0; at < square; at++) out[at] -= factor * sizeProducts[k * square + at];
    }
    if (outerShare === 0) return logDeterminant;
    for (let h = 0; h < large.count; h++) logDeterminant += takeOff(h, outerShare, innerShare);
    return logDeterminant;
  }

  function takeOff(h: number, outerShare: number, innerShare: number): number {
    const rest = 1 - outerShare - innerShare;
    let weight = 0;
    parentSums.fill(0);
    for (let k = 0; k < sizes.length; k++) {
      const at = h * sizes.length + k;
      if (parentGroups[at] === 0) continue;
      const whole = rest + sizes[k] * innerShare;
      weight += parentGroups[at] * sizes[k] / whole;
      for (let c = 0; c < width; c++) parentSums[c] += parentSizeSums[at * width + c] / whole;
    }
    const whole = 1 + outerShare * weight;
    for (let c = 0; c < width; c++) {
      const scaled = outerShare / whole * parentSums[c];
      for (let d = 0; d <= c; d++) out[c * width + d] -= scaled * parentSums[d];
    }
    return Math.log(whole);
  }

  const freedom = inner.length - (width - 1);
  const root = new Float64Array(square);
  return {
    /** Fixed effects and restricted log-likelihood at these shares, the scale being the likeliest. */
    solve(outerShare: number, innerShare: number) {
      const logDeterminant = through(outerShare, innerShare);
      const { fixed, squares, designLog } = regressed(out, width, root);
      return {
        fixed,
        likelihood: -0.5 *
          (logDeterminant + designLog + freedom * Math.log(Math.max(squares, 1e-12))),
      };
    },
  };
}

/**
 * The first column on the others, from the lower triangle of all their products, by Cholesky: in place,
 * since a search calls it a hundred times a column.
 */
function regressed(
  products: Float64Array,
  width: number,
  root: Float64Array,
): { readonly fixed: number[]; readonly squares: number; readonly designLog: number } {
  let designLog = 0;
  for (let i = 0; i < width; i++) {
    for (let j = 0; j <= i; j++) {
      // The columns' own products, then the row of their products with the first column.
      let sum = i < width - 1
        ? products[(i + 1) * width + j + 1]
        : products[j < width - 1 ? (j + 1) * width : 0];
      for (let k = 0; k < j; k++) sum -= root[i * width + k] * root[j * width + k];
      if (i === j) {
        root[i * width + i] = i === width - 1 ? sum : Math.sqrt(sum);
        if (i < width - 1) designLog += Math.log(sum);
      } else root[i * width + j] = sum / root[j * width + j];
    }
  }
  const last = (width - 1) * width;
  const fixed = new Array<number>(width - 1);
  for (let i = width - 2; i >= 0; i--) {
    let sum = root[last + i];
    for (let k = i + 1; k < width - 1; k++) sum -= root[k * width + i] * fixed[k];
    fixed[i] = sum / root[i * width + i];
  }
  return { fixed, squares: root[last + width - 1], designLog };
}
