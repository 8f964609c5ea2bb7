import * as option from "../options.ts";
import { largestDifferences } from "./largest_differences.ts";
import { singularFactor } from "./linear_solve.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** Where one of several things stands, and between which places it could stand. */
export type RankInterval = {
  /** Place by the estimates, 1 for the best; ties share the better place. */
  readonly rank: number;
  readonly lower: number;
  readonly upper: number;
};

/** Ranks that each item could have, and which are shown to differ. */
export type RankIntervals = {
  readonly intervals: readonly RankInterval[];
  /** apart[i][j]: i is shown to be better than j. */
  readonly apart: readonly (readonly boolean[])[];
  /** Standard errors by which two have to differ in the first step. */
  readonly critical: number | null;
  readonly confidence: number;
  readonly method: string;
  readonly warnings: readonly Reason[];
};

/**
 * Between which places does each of several things stand, all claims holding at once?
 *
 * Compares all ordered pairs of estimates and calls a pair apart when its difference exceeds so many
 * standard errors as the largest of all true-zero differences would rarely reach (max-t), then, as long
 * as pairs drop out, looks again among the rest (step-down). A thing's best place is one below those
 * shown to be better, its worst place one above those shown to be worse. With the stated confidence all
 * intervals hold at once.
 *
 * @param estimates one number per thing, larger is better unless `better` says otherwise
 * @param covariance of the estimates; normal draws are made from it. Or:
 * @param draws resampled estimates, one row a draw, whose spread is that of the estimates
 * @throws {RangeError} if neither or both are given, shapes do not match, or a value is not finite
 * @see Mogstad, Romano, Shaikh & Wilhelm 2024, Review of Economic Studies 91:476; Romano & Wolf 2005
 *
 * @example Three scores, the last clearly behind
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { intervals } = statistics.rankIntervals({
 *   estimates: [2.1, 2.0, 0.4],
 *   covariance: [[0.04, 0, 0], [0, 0.04, 0], [0, 0, 0.04]],
 * });
 * assert.deepEqual(intervals.map(({ lower, upper }) => [lower, upper]), [[1, 2], [1, 2], [3, 3]]);
 * ```
 */
export function rankIntervals(
  { estimates, covariance, draws }: {
    readonly estimates: readonly number[];
    readonly covariance?: readonly (readonly number[])[];
    readonly draws?: readonly ArrayLike<number>[];
  },
  { confidence = 0.95, better = "higher", stepDown = true, resamples = 4000, seed = DEFAULT_SEED }:
    {
      readonly confidence?: number;
      readonly better?: "higher" | "lower";
      readonly stepDown?: boolean;
      /** Normal draws, where a covariance is given. */
      readonly resamples?: number;
      readonly seed?: number;
    } = {},
): RankIntervals {
  option.check("statistics.rankIntervals", arguments[0], {
    estimates: option.needed(option.listOf(option.number)),
    covariance: option.thing,
    draws: option.thing,
  });
  option.check("statistics.rankIntervals", arguments[1], {
    confidence: option.share,
    better: option.oneOf("higher", "lower"),
    stepDown: option.flag,
    resamples: option.resamples,
    seed: option.seed,
  });
  const p = estimates.length;
  const odd = estimates.find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`An estimate is ${odd}; expected finite numbers`);
  if ((covariance === undefined) === (draws === undefined)) {
    throw new RangeError("Give either a covariance or draws of the estimates");
  }
  const errors = covariance !== undefined
    ? normalErrors(covariance, p, resamples, seed)
    : drawnErrors(draws!, p);
  const count = p === 0 ? 0 : errors.length / p;
  const sign = better === "higher" ? 1 : -1;
  const values = estimates.map((value) => sign * value);
  if (sign < 0) { for (let k = 0; k < errors.length; k++) errors[k] = -errors[k]; }
  const spread = covariance !== undefined
    ? impliedSpread(covariance, p)
    : drawnSpread(errors, p, count);
  const warnings = count > 0 && count < 1000 ? [{ code: "few-draws", draws: count }] : [];

  const { apart, critical } = tellApart({ values, errors, spread, confidence, stepDown });
  const intervals = values.map((value, i) => ({
    rank: 1 + values.filter((other) => other > value).length,
    lower: 1 + values.filter((_, j) => apart[j][i]).length,
    upper: p - values.filter((_, j) => apart[i][j]).length,
  }));
  return {
    intervals,
    apart,
    critical,
    confidence,
    method: `simultaneous over all pairs, max-t${stepDown ? " step-down" : ""}, ${count} ${
      covariance !== undefined ? "normal draws" : "draws"
    }`,
    warnings,
  };
}

/** Which are better than which? Rejects pairs by the largest difference of those that are left, in steps. */
function tellApart(
  { values, errors, spread, confidence, stepDown }: {
    readonly values: readonly number[];
    readonly errors: Float64Array;
    readonly spread: Float64Array;
    readonly confidence: number;
    readonly stepDown: boolean;
  },
): { readonly apart: readonly boolean[][]; readonly critical: number | null } {
  const p = values.length;
  const count = p === 0 ? 0 : errors.length / p;
  // Ordered pairs (i, j) for which "i is not better than j" still stands have a scale, the others NaN.
  const apart = values.map(() => new Array<boolean>(p).fill(false));
  const scale = new Float64Array(p * p).fill(NaN);
  let open = 0;
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      if (i === j) continue;
      const error = spread[i * p + j];
      if (error > 0) {
        scale[i * p + j] = 1 / error;
        open++;
      } else apart[i][j] = values[i] > values[j]; // known without error
    }
  }
  let critical: number | null = null;
  while (open > 0) {
    const largest = largestDifferences(errors, scale, { p, count });
    const limit = orderStatistics(largest).quantile(confidence);
    critical ??= limit;
    let closed = 0;
    for (let i = 0; i < p; i++) {
      for (let j = 0; j < p; j++) {
        const at = i * p + j;
        if (Number.isNaN(scale[at]) || !((values[i] - values[j]) / spread[at] > limit)) continue;
        apart[i][j] = true;
        scale[at] = NaN;
        closed++;
      }
    }
    open -= closed;
    if (closed === 0 || !stepDown) break;
  }
  return { apart, critical };
}

/** Draws of the estimates' errors: `p` numbers per draw, centred at 0. */
function drawnErrors(draws: readonly ArrayLike<number>[], p: number): Float64Array {
  const errors = new Float64Array(draws.length * p);
  if (draws.length < 2) throw new RangeError(`${draws.length} draws show no spread; give many`);
  draws.forEach((draw, b) => {
    if (draw.length !== p) {
      throw new RangeError(`Draw ${b + 1} has ${draw.length} values, expected ${p}`);
    }
    for (let i = 0; i < p; i++) {
      if (!Number.isFinite(draw[i])) throw new RangeError(`Draw ${b + 1} holds ${draw[i]}`);
      errors[b * p + i] = draw[i];
    }
  });
  for (let i = 0; i < p; i++) centreFrom(errors, i, p, draws.length);
  return errors;
}

/** Takes the mean off every p-th number. */
function centreFrom(errors: Float64Array, from: number, p: number, count: number): void {
  let sum = 0;
  for (let at = from; at < errors.length; at += p) sum += errors[at];
  const mean = sum / count;
  for (let at = from; at < errors.length; at += p) errors[at] -= mean;
}

/** Standard deviation of every pair's difference, p × p. */
function impliedSpread(covariance: readonly (readonly number[])[], p: number): Float64Array {
  const spread = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) {
      const variance = covariance[i][i] + covariance[j][j] - 2 * covariance[i][j];
      spread[i * p + j] = Math.sqrt(Math.max(0, variance));
    }
  }
  return spread;
}

/** The same, from draws. */
function drawnSpread(errors: Float64Array, p: number, count: number): Float64Array {
  const turned = new Float64Array(p * count);
  for (let b = 0; b < count; b++) {
    for (let i = 0; i < p; i++) turned[i * count + b] = errors[b * p + i];
  }
  // The draws are gone through in stretches that stay in the processor's own memory, each pair's sum going
  // on where the last stretch left it.
  const squares = new Float64Array(p * p);
  const stretch = Math.max(64, Math.floor(STRETCH_NUMBERS / Math.max(1, p)));
  for (let from = 0; from < count; from += stretch) {
    const to = Math.min(count, from + stretch);
    for (let i = 0; i < p; i++) {
      let j = i + 1;
      for (; j + 3 < p; j += 4) addSquaredDistances(turned, count, i, j, from, to, squares, i * p);
      for (; j < p; j++) {
        let sum = squares[i * p + j];
        for (let k = from; k < to; k++) {
          const gap = turned[i * count + k] - turned[j * count + k];
          sum += gap * gap;
        }
        squares[i * p + j] = sum;
      }
    }
  }
  for (let i = 0; i < p; i++) {
    for (let j = i + 1; j < p; j++) {
      const own = Math.sqrt(squares[i * p + j] / (count - 1));
      squares[i * p + j] = own;
      squares[j * p + i] = own;
    }
  }
  return squares;
}

/** So many numbers are half of a usual second cache. */
const STRETCH_NUMBERS = 65_536;

/** Four sums at a time share the readings of the one: half the time of one after the other. */
function addSquaredDistances(
  turned: Float64Array,
  count: number,
  i: number,
  j: number,
  from: number,
  to: number,
  into: Float64Array,
  row: number,
): void {
  const one = i * count;
  const a = j * count, b = a + count, c = b + count, d = c + count;
  let sumA = into[row + j], sumB = into[row + j + 1];
  let sumC = into[row + j + 2], sumD = into[row + j + 3];
  for (let k = from; k < to; k++) {
    const value = turned[one + k];
    const toA = value - turned[a + k], toB = value - turned[b + k];
    const toC = value - turned[c + k], toD = value - turned[d + k];
    sumA += toA * toA;
    sumB += toB * toB;
    sumC += toC * toC;
    sumD += toD * toD;
  }
  into[row + j] = sumA;
  into[row + j + 1] = sumB;
  into[row + j + 2] = sumC;
  into[row + j + 3] = sumD;
}

function normalErrors(
  covariance: readonly (readonly number[])[],
  p: number,
  resamples: number,
  seed: number,
): Float64Array {
  if (covariance.length !== p || covariance.some((row) => row.length !== p)) {
    throw new RangeError(`The covariance of ${p} estimates is ${p} × ${p}`);
  }
  if (!Number.isSafeInteger(resamples) || resamples < 2) {
    throw new RangeError(`resamples is a whole number of at least 2, was given ${resamples}`);
  }
  const factor = singularFactor(covariance);
  const errors = new Float64Array(resamples * p);
  const stream = randomStream(seed, 8, p);
  const normals = new Float64Array(p);
  for (let b = 0; b < resamples; b++) {
    stream.fillNormal(normals);
    for (let i = 0; i < p; i++) {
      let sum = 0;
      for (let k = 0; k <= i; k++) sum += factor[i][k] * normals[k];
      errors[b * p + i] = sum;
    }
  }
  return errors;
}
