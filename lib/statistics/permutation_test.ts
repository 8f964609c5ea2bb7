import * as option from "../options.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** How surprising a difference is if labels mean nothing. */
export type PermutationTest = {
  /** Difference of the means, first minus second, or what `statistic` gave. */
  readonly statistic: number | null;
  readonly statistic_reason: Reason | null;
  readonly p: number | null;
  /** Relabellings whose statistic is at least as extreme, and how many were tried. */
  readonly reached: number;
  readonly tried: number;
  readonly method: string;
  readonly n: number;
};

/** Up to this many relabellings all are tried. */
const MOST_ENUMERATED = 50000;

/**
 * Could the difference between two sets of readings be chance?
 *
 * "two groups": values change groups at random, group sizes kept. "paired": the two values of a pair
 * change places. All relabellings are tried where they number at most 50,000, which makes p exact; else
 * a seeded sample of them, p = (reached + 1)/(tried + 1). Relabellings that equal the observed
 * statistic but for rounding count as reaching it.
 *
 * @param first, second readings in one unit; for "paired" of equal length, pair by pair
 * @param design which exchange the study's randomisation allows
 * @param statistic defaults to the difference of means
 * @returns p and its counts; null with a reason if a group is empty
 * @throws {RangeError} if a reading is not finite or pairs do not match
 * @see Efron & Tibshirani 1993, chapter 15; Phipson & Smyth 2010 for the + 1
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { p } = statistics.permutationTest([3, 4, 5], [1, 2], { design: "two groups" });
 * assert.equal(p, 0.2); // 2 of 10 splits
 * ```
 */
export function permutationTest(
  first: readonly number[],
  second: readonly number[],
  {
    design,
    alternative = "two-sided",
    statistic = meanDifference,
    permutations = 10000,
    seed = DEFAULT_SEED,
  }: {
    readonly design: "two groups" | "paired";
    readonly alternative?: "two-sided" | "greater" | "less";
    readonly statistic?: (first: readonly number[], second: readonly number[]) => number;
    readonly permutations?: number;
    readonly seed?: number;
  },
): PermutationTest {
  option.check("statistics.permutationTest", arguments[2], {
    design: option.needed(option.oneOf("two groups", "paired")),
    alternative: option.oneOf("two-sided", "greater", "less"),
    statistic: option.call,
    permutations: option.whole(0),
    seed: option.seed,
  });
  const odd = [...first, ...second].find((value) => !Number.isFinite(value));
  if (odd !== undefined) throw new RangeError(`Cannot permute readings: ${odd} is not finite`);
  if (design === "paired" && first.length !== second.length) {
    throw new RangeError(
      `Pairs need equal lengths, was given ${first.length} and ${second.length} readings`,
    );
  }
  const n = design === "paired" ? first.length : first.length + second.length;
  const nothing = { p: null, reached: 0, tried: 0, n };
  if (first.length === 0 || second.length === 0) {
    return {
      statistic: null,
      statistic_reason: { code: "too-few", of: "readings", needed: 1, found: 0 },
      method: `permutation test, ${design}`,
      ...nothing,
    };
  }
  const observed = statistic(first, second);
  if (!Number.isFinite(observed)) {
    return {
      statistic: null,
      statistic_reason: { code: "not-computable" },
      method: `permutation test, ${design}`,
      ...nothing,
    };
  }
  const scale = Math.max(...[...first, ...second].map(Math.abs), Math.abs(observed));
  const slack = 1e-12 * scale;
  const isReached = (value: number) =>
    alternative === "two-sided"
      ? Math.abs(value) >= Math.abs(observed) - slack
      : alternative === "greater"
      ? value >= observed - slack
      : value <= observed + slack;
  let reached = 0;
  let tried = 0;
  const tryOne = (a: readonly number[], b: readonly number[]) => {
    tried++;
    if (isReached(statistic(a, b))) reached++;
  };
  const count = design === "paired" ? 2 ** n : choose(n, first.length);
  const complete = count <= MOST_ENUMERATED;
  const relabel = design === "paired" ? flipPairs : splitGroups;
  relabel(first, second, complete ? null : { permutations, seed }, tryOne);
  return {
    statistic: observed,
    statistic_reason: null,
    p: complete ? reached / tried : (reached + 1) / (tried + 1),
    reached,
    tried,
    method: `permutation test, ${design}, ${alternative}, ${
      complete ? `exact, all ${tried} relabellings` : `${tried} relabellings`
    }`,
    n,
  };
}

function meanDifference(first: readonly number[], second: readonly number[]): number {
  return mean(first) - mean(second);
}

function mean(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}

function choose(n: number, k: number): number {
  let ways = 1;
  for (let i = 1; i <= Math.min(k, n - k); i++) ways = ways * (n - i + 1) / i;
  return Math.round(ways);
}

type Sampling = { readonly permutations: number; readonly seed: number } | null;
type Visit = (first: readonly number[], second: readonly number[]) => void;

function flipPairs(
  first: readonly number[],
  second: readonly number[],
  sampling: Sampling,
  visit: Visit,
): void {
  const n = first.length;
  const a = first.slice();
  const b = second.slice();
  const set = (flipped: (i: number) => boolean) => {
    for (let i = 0; i < n; i++) {
      const swap = flipped(i);
      a[i] = swap ? second[i] : first[i];
      b[i] = swap ? first[i] : second[i];
    }
    visit(a, b);
  };
  if (sampling === null) {
    for (let mask = 0; mask < 2 ** n; mask++) set((i) => (mask >> i & 1) === 1);
    return;
  }
  const stream = randomStream(sampling.seed, 5, n);
  const uniforms = new Float64Array(n);
  for (let k = 0; k < sampling.permutations; k++) {
    stream.fillUniform(uniforms);
    set((i) => uniforms[i] < 0.5);
  }
}

function splitGroups(
  first: readonly number[],
  second: readonly number[],
  sampling: Sampling,
  visit: Visit,
): void {
  const pool = [...first, ...second];
  const size = first.length;
  if (sampling === null) {
    const chosen = Array.from({ length: size }, (_, i) => i);
    while (true) {
      const isChosen = new Set(chosen);
      visit(chosen.map((i) => pool[i]), pool.filter((_, i) => !isChosen.has(i)));
      let last = size - 1;
      while (last >= 0 && chosen[last] === pool.length - size + last) last--;
      if (last < 0) return;
      chosen[last]++;
      for (let i = last + 1; i < size; i++) chosen[i] = chosen[i - 1] + 1;
    }
  }
  const stream = randomStream(sampling.seed, 6, pool.length);
  for (let k = 0; k < sampling.permutations; k++) {
    stream.shuffle(pool);
    visit(pool.slice(0, size), pool.slice(size));
  }
}
