import * as option from "../options.ts";
import { checkReadings } from "./checks.ts";
import { chiSquaredUpper } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { AGREEMENT_SEED } from "./default_seeds.ts";

/** Concordance of several rankings. */
export type KendallW = Estimate & {
  /** Friedman's statistic, raters · (things − 1) · W, with its large-sample p. */
  readonly chiSquared: number | null;
  readonly df: number | null;
  readonly p: number | null;
  /** Share of permuted ratings at least as concordant, the observed ones counted in. */
  readonly pPermutation: number | null;
  /** Mean Spearman correlation between two raters. */
  readonly meanRankCorrelation: number | null;
  readonly things: number;
  readonly raters: number;
};

/**
 * Do several raters put the same things in the same order?
 *
 * 1 when all rank alike, 0 when mean ranks are all equal; corrected for ties. Only things rated by every
 * rater count. Limits: percentiles over redrawn things.
 *
 * @param ratings one row a thing, one column a rater; null where a rater gave nothing
 * @throws {RangeError} if rows differ in length or a rating is not finite
 * @see Kendall & Babington Smith 1939; Conover 1999 (ties)
 */
export function kendallW(
  ratings: readonly (readonly (number | null)[])[],
  { confidence = 0.95, resamples = 2000, permutations = 9999, seed = AGREEMENT_SEED }: {
    readonly confidence?: number;
    readonly resamples?: number;
    readonly permutations?: number;
    readonly seed?: number;
  } = {},
): KendallW {
  option.check("statistics.kendallW", arguments[1], {
    confidence: option.share,
    resamples: option.resamples,
    permutations: option.whole(0),
    seed: option.seed,
  });
  checkReadings(ratings.flat(), "rank ratings");
  const raters = ratings[0]?.length ?? 0;
  const odd = ratings.findIndex((row) => row.length !== raters);
  if (odd >= 0) {
    throw new RangeError(`Row ${odd + 1} has ${ratings[odd].length} ratings, expected ${raters}`);
  }
  const complete = ratings.filter((row) => row.every((x) => x !== null)) as number[][];
  const things = complete.length;
  const warnings = whatIsLeftOut(ratings, complete);
  const about = {
    confidence,
    n: things * raters,
    method: `tie-corrected W, limits from ${resamples} resamples of things (percentiles)`,
    warnings,
  };
  const nothing = (reason: Reason): KendallW => ({
    ...noEstimate(reason, about),
    chiSquared: null,
    df: null,
    p: null,
    pPermutation: null,
    meanRankCorrelation: null,
    things,
    raters,
  });
  if (raters < 2) return nothing({ code: "too-few", of: "raters", needed: 2, found: raters });
  if (things < 2) {
    return nothing({ code: "too-few", of: "complete rows", needed: 2, found: things });
  }
  const columns = Array.from({ length: raters }, (_, j) => complete.map((row) => row[j]));
  const ranked = columns.map(doubledRanks);
  const w = concordance(ranked, things);
  if (w === null) return nothing({ code: "constant", which: "ratings of every rater" });

  const chiSquared = raters * (things - 1) * w;
  const [lower, upper] = redrawnLimits(columns, { things, confidence, resamples, seed });
  return {
    estimate: w,
    estimate_reason: null,
    lower,
    upper,
    ...about,
    chiSquared,
    df: things - 1,
    p: chiSquaredUpper(chiSquared, things - 1),
    pPermutation: permutations > 0 ? permuted(ranked, { things, permutations, seed }) : null,
    meanRankCorrelation: (raters * w - 1) / (raters - 1),
    things,
    raters,
  };
}

/** Things that not every rater rated, and raters who put none before another. */
function whatIsLeftOut(
  ratings: readonly (readonly (number | null)[])[],
  complete: readonly (readonly number[])[],
): Reason[] {
  const raters = complete[0]?.length ?? 0;
  const level = (complete[0] ?? [])
    .filter((first, j) => complete.every((row) => row[j] === first)).length;
  const left = ratings.length - complete.length;
  return [
    ...(left > 0
      ? [{
        code: "left-out",
        of: "things",
        because: "not-rated-by-all",
        left,
        all: ratings.length,
      }]
      : []),
    // Nobody's ratings vary: that is the reason then, and no warning.
    ...(level > 0 && level < raters
      ? [{ code: "raters-without-order", raters: level, of: raters }]
      : []),
  ];
}

/** Share of shuffled ratings at least as concordant, the observed ones counted in. */
function permuted(
  ranked: readonly Int32Array[],
  { things, permutations, seed }: {
    readonly things: number;
    readonly permutations: number;
    readonly seed: number;
  },
): number {
  const random = randomStream(seed, 0);
  // Ties stay what they are under permutation, so the sum of squared rank totals orders the same way.
  const observed = squaredTotals(ranked, things);
  let asFar = 1;
  const shuffled = ranked.map((column) => Int32Array.from(column));
  for (let b = 0; b < permutations; b++) {
    for (const column of shuffled) random.shuffle(column);
    if (squaredTotals(shuffled, things) >= observed) asFar++;
  }
  return asFar / (permutations + 1);
}

/** Percentiles of W over redrawn things; null where too few redraws have one. */
function redrawnLimits(
  columns: readonly (readonly number[])[],
  { things, confidence, resamples, seed }: {
    readonly things: number;
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): readonly [number, number] | readonly [null, null] {
  const draws = new Float64Array(Math.max(0, resamples));
  let used = 0;
  const redraw = randomStream(seed, 1);
  const drawn = new Int32Array(things);
  const times = new Int32Array(things);
  const levels = columns.map(levelsOf);
  const totals = new Float64Array(things);
  for (let b = 0; b < resamples && things > 2; b++) {
    redraw.fillIntegers(drawn, things);
    times.fill(0);
    for (let i = 0; i < things; i++) times[drawn[i]]++;
    const again = concordanceOfDrawn(levels, times, totals);
    if (again !== null) draws[used++] = again;
  }
  if (used < 0.5 * resamples || used < 20) return [null, null];
  const order = orderStatistics(draws.subarray(0, used));
  return [order.quantile((1 - confidence) / 2), order.quantile((1 + confidence) / 2)];
}

/** Which of its different values each thing has in a column, counted from the lowest. */
type Levels = { readonly of: Int32Array; readonly counts: Int32Array };

function levelsOf(column: readonly number[]): Levels {
  const distinct = [...new Set(column)].sort((a, b) => a - b);
  const place = new Map(distinct.map((value, level) => [value, level]));
  return {
    of: Int32Array.from(column, (value) => place.get(value)!),
    counts: new Int32Array(distinct.length),
  };
}

/**
 * W of things that were each drawn so many times. A value's mid-rank follows from how many drawn ones lie
 * below it, so that nothing is sorted again; sums are of whole numbers, and so exact.
 */
function concordanceOfDrawn(
  columns: readonly Levels[],
  times: Int32Array,
  totals: Float64Array,
): number | null {
  totals.fill(0);
  let most = 0;
  for (const column of columns) most += addRanks(column, times, totals);
  let squares = 0;
  for (let i = 0; i < times.length; i++) squares += times[i] * totals[i] * totals[i];
  return most === 0 ? null : squares / (columns.length * most);
}

/** Adds a column's doubled centred mid-ranks among the drawn to the totals; the sum of their squares. */
function addRanks({ of, counts }: Levels, times: Int32Array, totals: Float64Array): number {
  const n = times.length;
  counts.fill(0);
  for (let i = 0; i < n; i++) counts[of[i]] += times[i];
  let squares = 0;
  let below = 0;
  for (let level = 0; level < counts.length; level++) {
    const own = counts[level];
    const rank = 2 * below + own - n;
    squares += own * rank * rank;
    below += own;
    counts[level] = rank;
  }
  for (let i = 0; i < n; i++) totals[i] += counts[of[i]];
  return squares;
}

/** Twice the mid-ranks, less their mean: whole numbers that sum to 0. */
function doubledRanks(values: readonly number[]): Int32Array {
  const order = values.map((_, i) => i).sort((a, b) => values[a] - values[b]);
  const out = new Int32Array(values.length);
  for (let i = 0; i < order.length;) {
    let j = i;
    while (j + 1 < order.length && values[order[j + 1]] === values[order[i]]) j++;
    for (let k = i; k <= j; k++) out[order[k]] = i + j + 2 - (values.length + 1);
    i = j + 1;
  }
  return out;
}

function squaredTotals(ranked: readonly Int32Array[], things: number): number {
  let total = 0;
  for (let i = 0; i < things; i++) {
    let sum = 0;
    for (let j = 0; j < ranked.length; j++) sum += ranked[j][i];
    total += sum * sum;
  }
  return total;
}

/** W: squared rank totals over what they would be if all raters ranked as each does. */
function concordance(ranked: readonly Int32Array[], things: number): number | null {
  let most = 0;
  for (const column of ranked) for (const rank of column) most += rank * rank;
  return most === 0 ? null : squaredTotals(ranked, things) / (ranked.length * most);
}
