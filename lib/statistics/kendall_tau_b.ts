import * as option from "../options.ts";
import { boundedRanks, rankable, surelyLarger } from "./bounded_ranks.ts";
import type { CensoredReading } from "./censored_normal.ts";
import { completePairs, noCorrelationReason } from "./complete_pairs.ts";
import { normalUpper } from "./distributions.ts";
import { noEstimate } from "./estimate.ts";
import { randomStream } from "./random_stream.ts";
import { forEachOrder, MOST_ROWS_ENUMERATED, shuffle } from "./rank_permutation.ts";
import { countDrawsInto } from "./count_draws.ts";
import { resampledLimits } from "./resampled_limits.ts";
import type { Correlation } from "./spearman.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** Kendall's tau-b with the counts it is made of. */
export type KendallTauB = Correlation & {
  /** Pairs of rows in the same order, in opposite order, tied in x only or both, and in y only or both. */
  readonly concordant: number;
  readonly discordant: number;
  readonly tied_x: number;
  readonly tied_y: number;
};

/** Without ties the distribution of the score is exact up to this many rows. */
const MOST_ROWS_EXACT = 50;

/**
 * Of two things, how much more often do both measurements order them alike than not?
 *
 * tau-b = (concordant − discordant) / √((pairs − tied in x)(pairs − tied in y)), over the rows that have
 * both values; two bounds that can't be ordered count as tied. The two-sided p is exact without ties up to n = 50, and by trying every order up to
 * n = 8 with ties; else from seeded permutations, or normal with the tie-corrected variance and no
 * continuity correction if `permutations` is 0. `method` says which.
 *
 * @param x, y values of the same rows, any unit; null is missing, `{ below }` or `{ above }` a bound
 * @returns tau-b from −1 to 1; null with a reason if fewer than three rows have both or one is constant
 * @throws {RangeError} if lengths differ or a value is not finite
 * @see Kendall 1970, Rank Correlation Methods; Daniels 1944, Biometrika 33:129 (variance of any score)
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.kendallTauB([1, 2, 3, 4], [1, 3, 2, 4]).estimate?.toFixed(4), "0.6667");
 * ```
 */
export function kendallTauB(
  x: readonly (CensoredReading | null)[],
  y: readonly (CensoredReading | null)[],
  {
    interval = "bca",
    confidence = 0.95,
    resamples = 10000,
    permutations = 10000,
    seed = DEFAULT_SEED,
  }: {
    readonly interval?: "bca" | "percentile" | "none";
    readonly confidence?: number;
    readonly resamples?: number;
    readonly permutations?: number;
    readonly seed?: number;
  } = {},
): KendallTauB {
  option.check("statistics.kendallTauB", arguments[2], {
    interval: option.oneOf("bca", "percentile", "none"),
    confidence: option.share,
    resamples: option.resamples,
    permutations: option.whole(0),
    seed: option.seed,
  });
  const pairs = pairsOf(x, y);
  const n = pairs.x.length;
  const signsX = signs(pairs.x);
  const signsY = signs(pairs.y);
  const whole = score(signsX, signsY, n);
  const counts = {
    concordant: whole.concordant,
    discordant: whole.discordant,
    tied_x: whole.pairs - whole.untiedX,
    tied_y: whole.pairs - whole.untiedY,
  };
  const named = interval === "none"
    ? ""
    : `, ${interval === "bca" ? "BCa" : "percentile"} bootstrap, ${resamples} resamples`;
  const reason = noCorrelationReason(boundedRanks(pairs.x), boundedRanks(pairs.y));
  if (reason !== null) {
    const about = { confidence, method: `Kendall's tau-b${named}`, n };
    return { ...noEstimate(reason, about), p: null, ...counts };
  }
  const estimate = (whole.concordant - whole.discordant) /
    Math.sqrt(whole.untiedX) / Math.sqrt(whole.untiedY);
  const { p, how } = twoSidedP(n, signsX, signsY, counts, { permutations, seed });
  const limits = interval === "none"
    ? { lower: null, upper: null, warnings: [] }
    : bootstrapLimits(signsX, signsY, n, { estimate, interval, confidence, resamples, seed });
  return {
    estimate: Math.min(1, Math.max(-1, estimate)),
    estimate_reason: null,
    lower: limits.lower,
    upper: limits.upper,
    confidence,
    method: `Kendall's tau-b${named}; p ${how}`,
    n,
    warnings: limits.warnings,
    p,
    ...counts,
  };
}

/** Rows that have both. */
function pairsOf(
  x: readonly (CensoredReading | null)[],
  y: readonly (CensoredReading | null)[],
): { readonly x: readonly CensoredReading[]; readonly y: readonly CensoredReading[] } {
  const { rows } = completePairs(rankable(x), rankable(y));
  return { x: rows.map((row) => x[row]!), y: rows.map((row) => y[row]!) };
}

/** Sign of the difference of every two rows, n × n; 0 where nobody can say. */
function signs(values: readonly CensoredReading[]): Int8Array {
  const n = values.length;
  const into = new Int8Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) into[i * n + j] = surelyLarger(values[i], values[j]);
  }
  return into;
}

function score(signsX: Int8Array, signsY: Int8Array, n: number) {
  let concordant = 0, discordant = 0, untiedX = 0, untiedY = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const a = signsX[i * n + j];
      const b = signsY[i * n + j];
      untiedX += a * a;
      untiedY += b * b;
      if (a * b > 0) concordant++;
      if (a * b < 0) discordant++;
    }
  }
  return { pairs: n * (n - 1) / 2, concordant, discordant, untiedX, untiedY };
}

function twoSidedP(
  n: number,
  signsX: Int8Array,
  signsY: Int8Array,
  { concordant, discordant, tied_x, tied_y }: Omit<KendallTauB, keyof Correlation>,
  { permutations, seed }: { readonly permutations: number; readonly seed: number },
): { p: number; how: string } {
  const observed = Math.abs(concordant - discordant);
  if (tied_x === 0 && tied_y === 0 && n <= MOST_ROWS_EXACT) {
    return { p: exactWithoutTies(observed, n), how: "exact" };
  }
  const perm = Int32Array.from({ length: n }, (_, row) => row);
  let reached = 0;
  let tried = 0;
  const tryOrder = () => {
    tried++;
    if (Math.abs(permutedScore(signsX, signsY, perm)) >= observed) reached++;
  };
  if (n <= MOST_ROWS_ENUMERATED) {
    forEachOrder(perm, tryOrder);
    return { p: reached / tried, how: `exact, all ${tried} orders` };
  }
  if (permutations === 0) {
    const variance = scoreVariance(signsX, signsY, n);
    return {
      p: Math.min(1, 2 * normalUpper(observed / Math.sqrt(variance))),
      how: "from the normal distribution with tie correction",
    };
  }
  const stream = randomStream(seed, 4, n);
  const uniforms = new Float64Array(n - 1);
  for (let b = 0; b < permutations; b++) {
    shuffle(perm, stream.fillUniform(uniforms), 0);
    tryOrder();
  }
  return { p: (reached + 1) / (tried + 1), how: `from ${tried} permutations` };
}

function permutedScore(signsX: Int8Array, signsY: Int8Array, perm: Int32Array): number {
  const n = perm.length;
  let sum = 0;
  for (let i = 1; i < n; i++) {
    const row = i * n;
    const from = perm[i] * n;
    for (let j = 0; j < i; j++) sum += signsX[row + j] * signsY[from + perm[j]];
  }
  return sum;
}

/** P(|score| ≥ observed) over all orders, from the distribution of the number of inversions. */
function exactWithoutTies(observed: number, n: number): number {
  const most = n * (n - 1) / 2;
  let chance = new Float64Array(most + 1);
  chance[0] = 1;
  for (let size = 2; size <= n; size++) {
    // The size-th row adds 0 … size − 1 inversions, each equally likely.
    const next = new Float64Array(most + 1);
    for (let k = 0; k <= most; k++) {
      let sum = 0;
      for (let added = Math.min(size - 1, k); added >= 0; added--) sum += chance[k - added];
      next[k] = sum / size;
    }
    chance = next;
  }
  let p = 0;
  for (let k = 0; k <= most; k++) if (Math.abs(most - 2 * k) >= observed) p += chance[k];
  return Math.min(1, p);
}

/** Of the score over all orders of y, ties and pairs that can't be ordered included. */
function scoreVariance(signsX: Int8Array, signsY: Int8Array, n: number): number {
  const sums = (signs: Int8Array) => {
    let [squares, rows] = [0, 0];
    for (let i = 0; i < n; i++) {
      let own = 0;
      for (let j = 0; j < n; j++) {
        own += signs[i * n + j];
        squares += Math.abs(signs[i * n + j]);
      }
      rows += own * own;
    }
    return { squares, rows };
  };
  const [x, y] = [sums(signsX), sums(signsY)];
  // Of the sum over ordered pairs, which counts every pair twice.
  const whole = 4 * (x.rows - x.squares) * (y.rows - y.squares) / (n * (n - 1) * (n - 2)) +
    2 * x.squares * y.squares / (n * (n - 1));
  return whole / 4;
}

function bootstrapLimits(
  signsX: Int8Array,
  signsY: Int8Array,
  n: number,
  { estimate, interval, confidence, resamples, seed }: {
    readonly estimate: number;
    readonly interval: "bca" | "percentile";
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
) {
  if (n < 5) {
    return {
      lower: null,
      upper: null,
      warnings: [{ code: "too-few-to-resample", needed: 5, found: n }],
    };
  }
  const values = new Float64Array(resamples);
  const stream = randomStream(seed, 1, n);
  const draws = new Uint16Array(n);
  const counts = new Int32Array(n);
  for (let b = 0; b < resamples; b++) {
    countDrawsInto(stream.fillIntegers(draws, n), counts);
    values[b] = weightedTau(signsX, signsY, counts);
  }
  const jackknife = new Float64Array(n);
  for (let left = 0; left < n; left++) {
    counts.fill(1);
    counts[left] = 0;
    jackknife[left] = weightedTau(signsX, signsY, counts);
  }
  return resampledLimits(values, { estimate, jackknife, method: interval, confidence });
}

/** tau-b of a resample given as counts per row; NaN if a column is constant in it. */
function weightedTau(signsX: Int8Array, signsY: Int8Array, counts: Int32Array): number {
  const n = counts.length;
  let sum = 0, untiedX = 0, untiedY = 0;
  for (let i = 1; i < n; i++) {
    if (counts[i] === 0) continue;
    const row = i * n;
    let score = 0, ux = 0, uy = 0;
    for (let j = 0; j < i; j++) {
      const a = signsX[row + j];
      const b = signsY[row + j];
      score += counts[j] * a * b;
      ux += counts[j] * a * a;
      uy += counts[j] * b * b;
    }
    sum += counts[i] * score;
    untiedX += counts[i] * ux;
    untiedY += counts[i] * uy;
  }
  return sum / Math.sqrt(untiedX) / Math.sqrt(untiedY);
}
