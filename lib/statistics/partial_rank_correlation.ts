import * as option from "../options.ts";
import { bootstrapInterval } from "./bootstrap_interval.ts";
import { checkColumn } from "./complete_pairs.ts";
import { noEstimate } from "./estimate.ts";
import { leastSquares } from "./least_squares.ts";
import { productMoment } from "./pearson.ts";
import { ranks } from "./ranks.ts";
import type { Reason } from "./reason.ts";
import { type Correlation, tApproximation } from "./spearman.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/**
 * Do two measurements go together beyond what a third explains?
 *
 * Ranks every column, takes out of both what the ranks of the controls explain linearly, and
 * correlates the rest. p is the t approximation with n − 2 − controls degrees of freedom.
 *
 * @param x, y values of the same rows; null is missing
 * @param controls further columns over the same rows, such as [mass]; rows with any gap are left out
 * @returns null with a reason if too few rows are complete, a column is constant, or the controls
 *   determine x or y
 * @throws {RangeError} if lengths differ or a value is not finite
 * @see Kendall 1970, Rank Correlation Methods, chapter 8; p as in Conover 1999
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const mass = [1, 2, 3, 4, 5, 6, 7, 8];
 * const found = statistics.partialRankCorrelation([2, 1, 4, 3, 6, 5, 8, 7], [1, 3, 2, 5, 4, 7, 6, 8], [mass], {
 *   interval: "none",
 * });
 * assert.equal(found.estimate?.toFixed(4), "-0.9467");
 * ```
 */
export function partialRankCorrelation(
  x: readonly (number | null)[],
  y: readonly (number | null)[],
  controls: readonly (readonly (number | null)[])[],
  { interval = "bca", confidence = 0.95, resamples = 2000, seed = DEFAULT_SEED }: {
    readonly interval?: "bca" | "percentile" | "none";
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  } = {},
): Correlation {
  option.check("statistics.partialRankCorrelation", arguments[3], {
    interval: option.oneOf("bca", "percentile", "none"),
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  const columns = [x, y, ...controls];
  const odd = columns.find((column) => column.length !== x.length);
  if (odd !== undefined) {
    throw new RangeError(`Columns need the same rows; found ${x.length} and ${odd.length} values`);
  }
  columns.forEach(checkColumn);
  const rows = x.map((_, i) => columns.map((column) => column[i]))
    .filter((row): row is number[] => row.every((value) => value !== null));
  const n = rows.length;
  const method = `partial Spearman's rho given ${controls.length} ${
    controls.length === 1 ? "column" : "columns"
  }${
    interval === "none"
      ? ""
      : `, ${interval === "bca" ? "BCa" : "percentile"} bootstrap, ${resamples} resamples`
  }; p from the t approximation`;
  const about = { confidence, method, n };
  const freedom = n - 2 - controls.length;
  if (freedom < 1) {
    const reason = { code: "too-few", of: "complete rows", needed: controls.length + 3, found: n };
    return { ...noEstimate(reason, about), p: null };
  }
  const estimate = partial(rows);
  if (estimate === null) {
    const constant = columns.findIndex((_, j) => rows.every((row) => row[j] === rows[0][j]));
    const reason: Reason = constant >= 0
      ? { code: "constant", which: "column", column: constant + 1 }
      : { code: "dependent" };
    return { ...noEstimate(reason, about), p: null };
  }
  const limits = interval === "none"
    ? { lower: null, upper: null, warnings: [] }
    : bootstrapInterval(rows, partial, { method: interval, confidence, resamples, seed });
  return {
    estimate,
    estimate_reason: null,
    lower: limits.lower,
    upper: limits.upper,
    ...about,
    warnings: limits.warnings,
    p: tApproximation(estimate, freedom),
  };
}

function partial(rows: readonly (readonly number[])[]): number | null {
  const [x, y, ...controls] = rows[0].map((_, j) => ranks(rows.map((row) => row[j])));
  if (controls.length === 0) return productMoment(x, y);
  if (controls.length === 1) return partialOfThree(x, y, controls[0]);
  const design = rows.map((_, i) => controls.map((column) => column[i]));
  const a = leastSquares(design, x);
  const b = leastSquares(design, y);
  if (a.r2 === null || b.r2 === null || 1 - a.r2 < 1e-12 || 1 - b.r2 < 1e-12) return null;
  return productMoment(a.residuals, b.residuals);
}

function partialOfThree(
  x: readonly number[],
  y: readonly number[],
  z: readonly number[],
): number | null {
  const xy = productMoment(x, y);
  const xz = productMoment(x, z);
  const yz = productMoment(y, z);
  if (xy === null || xz === null || yz === null) return null;
  const left = (1 - xz * xz) * (1 - yz * yz);
  if (left < 1e-12) return null;
  return Math.min(1, Math.max(-1, (xy - xz * yz) / Math.sqrt(left)));
}
