import * as option from "../options.ts";
import {
  chiSquaredUpper,
  fUpper,
  normalUpper,
  normalUpperQuantile,
  tUpper,
  tUpperQuantile,
} from "./distributions.ts";
import { pivotedFactor } from "./linear_solve.ts";
import { randomStream } from "./random_stream.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** Differences whose standard errors come from one estimate of noise, independent of the other blocks. */
export type ComparisonBlock = {
  /** Of the differences with each other; a multiple of it will do. */
  readonly covariance: readonly (readonly number[])[];
  /** Degrees of freedom of each difference's standard error; Infinity where it is known. */
  readonly freedom: readonly number[];
  /** Of each difference by itself, two-sided; for the adjusted ones. */
  readonly p?: readonly number[];
};

/** What each of several intervals is drawn at, so that all hold together. */
export type SingleStepLevel = {
  /** Risk of each interval by itself. */
  readonly level: number;
  /** Of each block's differences: the smallest risk for all together at which it is told from 0. */
  readonly p_adjusted: readonly (readonly number[])[];
};

/**
 * At which risk is each interval drawn, so that all of them hold together?
 *
 * The single-step maximum t: with the stated confidence no difference's t exceeds the quantile at this level.
 * Within a block the t's are multivariate t, correlated as the covariance says, over one scatter; blocks are
 * independent. The chance that the largest exceeds a bound is found by integrating its radius exactly (F)
 * over drawn directions, so that few directions give it to three digits. One difference alone is exact.
 * Where degrees of freedom differ within a block the largest stands for the shared part, which is cautious.
 *
 * @param blocks none, or each with one difference or more
 * @throws {RangeError} if shapes don't match, or a variance is not above 0
 * @see Hothorn, Bretz & Westfall 2008, Biometrical Journal 50:346
 *
 * @example All three differences of three means over 10 degrees of freedom: Tukey's 3.877 / √2
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { level } = statistics.singleStepLevel([
 *   { covariance: [[2, 1, -1], [1, 2, 1], [-1, 1, 2]], freedom: [10, 10, 10] },
 * ]);
 * assert.equal(level.toFixed(3), "0.021"); // 2.741 standard errors each
 * ```
 */
export function singleStepLevel(
  blocks: readonly ComparisonBlock[],
  { confidence = 0.95, directions = 2000, seed = DEFAULT_SEED }: {
    readonly confidence?: number;
    readonly directions?: number;
    readonly seed?: number;
  } = {},
): SingleStepLevel {
  option.check("statistics.singleStepLevel", arguments[1], {
    confidence: option.share,
    directions: option.number,
    seed: option.seed,
  });
  const spreads = blocks.map((block, index) => spreadOf(block, { index, directions, seed }));
  const riskAt = (level: number) =>
    1 - spreads.reduce((kept, spread) => kept * (1 - exceedingRisk(level, spread)), 1);
  return {
    level: solveLevel(riskAt, 1 - confidence, blocks.reduce((sum, b) => sum + b.freedom.length, 0)),
    p_adjusted: blocks.map(({ p = [] }) => p.map((own) => Math.min(1, Math.max(own, riskAt(own))))),
  };
}

/** How far the largest of a block reaches in each drawn direction, and on how many dimensions. */
type Spread = {
  readonly reach: Float64Array;
  readonly rank: number;
  readonly freedom: number;
};

function spreadOf(
  { covariance, freedom }: ComparisonBlock,
  { index, directions, seed }: {
    readonly index: number;
    readonly directions: number;
    readonly seed: number;
  },
): Spread {
  const size = freedom.length;
  if (size === 0 || covariance.length !== size || covariance.some((row) => row.length !== size)) {
    throw new RangeError(
      `Block ${index + 1} has ${size} degrees of freedom and a covariance of ${covariance.length}`,
    );
  }
  const odd = covariance.findIndex((row, i) => !(row[i] > 0 && Number.isFinite(row[i])));
  if (odd >= 0) throw new RangeError(`Variance ${odd + 1} of block ${index + 1} is not above 0`);
  const factor = pivotedFactor(
    covariance.map((row, i) =>
      row.map((value, j) => value / Math.sqrt(covariance[i][i] * covariance[j][j]))
    ),
  );
  const rank = factor[0].length;
  const most = Math.max(...freedom);
  if (rank === 1) return { reach: Float64Array.of(1), rank, freedom: most };
  const stream = randomStream(seed, 17, index);
  const direction = new Float64Array(rank);
  const reach = new Float64Array(directions).map(() => {
    stream.fillNormal(direction);
    const length = Math.hypot(...direction);
    return Math.max(
      ...factor.map((row) => Math.abs(row.reduce((sum, part, k) => sum + part * direction[k], 0))),
    ) / length;
  });
  return { reach, rank, freedom: most };
}

/** Chance that the largest t of a block lies beyond the quantile that one alone exceeds at `level`. */
function exceedingRisk(level: number, { reach, rank, freedom }: Spread): number {
  if (level <= 0) return 0;
  if (level >= 1) return 1;
  if (rank === 1) return level;
  const bound = quantileAt(level, freedom) ** 2;
  let sum = 0;
  for (const far of reach) {
    const radius = bound / far ** 2;
    sum += freedom === Infinity
      ? chiSquaredUpper(radius, rank)
      : fUpper(radius / rank, rank, freedom);
  }
  return sum / reach.length;
}

function quantileAt(level: number, freedom: number): number {
  return freedom === Infinity ? normalUpperQuantile(level / 2) : tUpperQuantile(level / 2, freedom);
}

/** Between Bonferroni's level and the whole risk, where all exceed together. */
function solveLevel(riskAt: (level: number) => number, risk: number, comparisons: number): number {
  if (comparisons <= 1) return risk;
  // The risk is close to a power of the level: on logarithms a straight line lands near.
  const off = (log: number) => Math.log(riskAt(Math.exp(log)) / risk);
  let [low, high] = [Math.log(risk / comparisons), Math.log(risk)];
  let [below, above] = [off(low), off(high)];
  for (let step = 0; step < 60 && high - low > 1e-6 && below < 0; step++) {
    const share = step % 3 === 2 ? 0.5 : below / (below - above);
    const middle = low + Math.min(0.999, Math.max(0.001, share)) * (high - low);
    const found = off(middle);
    if (Math.abs(found) < 1e-6) return Math.exp(middle);
    if (found > 0) [high, above] = [middle, found];
    else [low, below] = [middle, found];
  }
  return Math.exp(low);
}

/** Two-sided p of a difference by its t. */
export function twoSidedP(t: number, freedom: number): number {
  const upper = freedom === Infinity ? normalUpper(Math.abs(t)) : tUpper(Math.abs(t), freedom);
  return Math.min(1, 2 * upper);
}
