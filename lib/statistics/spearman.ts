import * as option from "../options.ts";
import type { CensoredReading } from "./censored_normal.ts";
import { completeBounded } from "./complete_pairs.ts";
import { normalQuantile, tUpper } from "./distributions.ts";
import type { Estimate } from "./estimate.ts";
import { MOST_ROWS_ENUMERATED } from "./rank_permutation.ts";
import { rankCorrelationGrid } from "./rank_correlation_grid.ts";
import type { Reason } from "./reason.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** A correlation with its interval and p. */
export type Correlation = Estimate & {
  /** Two-sided; null where there is no estimate. */
  readonly p: number | null;
};

/** How `spearman` gets its interval and its p; every option has a default. */
export type SpearmanOptions = {
  /** "fisher" takes atanh(rho) as normal with variance (1 + rho²/2)/(n − 3). */
  readonly interval?: "bca" | "percentile" | "fisher" | "none";
  readonly confidence?: number;
  readonly resamples?: number;
  /** Random orders for p where n > 8; 0 takes the t approximation instead. */
  readonly permutations?: number;
  readonly seed?: number;
};

/**
 * Do two measurements put things in the same order?
 *
 * Pearson's correlation of the mid-ranks, over the rows that have both values. p counts the orders of y
 * whose |rho| is at least the observed one: all of them for n ≤ 8, else a seeded sample with
 * p = (reached + 1)/(permutations + 1), or the t approximation with n − 2 degrees of freedom if
 * `permutations` is 0. `method` says which. Values known by a bound only have the ranks that can be told
 * (`boundedRanks`), over the rows that have both.
 *
 * @param x, y values of the same rows, any unit; null is missing, `{ below }` or `{ above }` a bound
 * @returns rho from −1 to 1; null with a reason if fewer than three rows have both or one is constant
 * @throws {RangeError} if lengths differ, a value is not finite, or an option is out of range
 * @see Efron & Tibshirani 1993, section 14.3, for BCa; Bonett & Wright 2000, Psychometrika 65, for the
 *   variance behind "fisher"
 *
 * @example Rating against rebound height in cm
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { estimate, p } = statistics.spearman([7, 7, 8, 6, 9, 5, 7], [61.2, 60.1, 63.0, 58.8, 62.4, 60.1, 59.9]);
 * assert.equal(estimate?.toFixed(4), "0.7293");
 * assert.equal(p?.toFixed(4), "0.0667"); // exact, all 5040 orders
 * ```
 */
export function spearman(
  x: readonly (CensoredReading | null)[],
  y: readonly (CensoredReading | null)[],
  {
    interval = "bca",
    confidence = 0.95,
    resamples = 10000,
    permutations = 10000,
    seed = DEFAULT_SEED,
  }: SpearmanOptions = {},
): Correlation {
  option.check("statistics.spearman", arguments[2], {
    interval: option.oneOf("bca", "percentile", "fisher", "none"),
    confidence: option.share,
    resamples: option.resamples,
    permutations: option.whole(0),
    seed: option.seed,
  });
  const pairs = completeBounded(x, y);
  const n = pairs.x.length;
  const resampled = interval === "bca" || interval === "percentile";
  // With so few rows every order is tried, whatever number was asked for.
  const enumerated = n <= MOST_ROWS_ENUMERATED;
  const { cells } = rankCorrelationGrid([pairs.x], [pairs.y], {
    interval: resampled ? interval : "none",
    confidence,
    resamples,
    permutations: enumerated ? 1 : permutations,
    seed,
  });
  const cell = cells[0][0];
  if (cell.estimate === null) {
    return {
      estimate: null,
      estimate_reason: cell.estimate_reason,
      lower: null,
      upper: null,
      confidence,
      method: cell.method,
      n,
      warnings: cell.warnings,
      p: null,
    };
  }
  const fisher = interval === "fisher" ? fisherLimits(cell.estimate, n, confidence) : null;
  return {
    estimate: cell.estimate,
    estimate_reason: null,
    lower: fisher === null ? cell.lower : fisher.lower,
    upper: fisher === null ? cell.upper : fisher.upper,
    confidence,
    method: [
      cell.method,
      ...(fisher === null ? [] : ["Fisher interval with Bonett and Wright's variance"]),
      `p ${cell.p_method ?? "from the t approximation"}`,
    ].join("; "),
    n,
    warnings: [...cell.warnings, ...(fisher?.warnings ?? [])],
    p: cell.p ?? tApproximation(cell.estimate, n - 2),
  };
}

function fisherLimits(rho: number, n: number, confidence: number) {
  if (n < 4 || Math.abs(rho) === 1) {
    const why: Reason = n < 4
      ? { code: "too-few-for-fisher", needed: 4, found: n }
      : { code: "perfect-correlation" };
    return { lower: null, upper: null, warnings: [why] };
  }
  const half = normalQuantile((1 + confidence) / 2) * Math.sqrt((1 + rho * rho / 2) / (n - 3));
  const z = Math.atanh(rho);
  return { lower: Math.tanh(z - half), upper: Math.tanh(z + half), warnings: [] };
}

/** Two-sided p of a correlation whose t = r·√(df/(1 − r²)) has df degrees of freedom. */
export function tApproximation(r: number, freedom: number): number {
  if (Math.abs(r) === 1) return 0;
  return Math.min(1, 2 * tUpper(Math.abs(r) * Math.sqrt(freedom / (1 - r * r)), freedom));
}
