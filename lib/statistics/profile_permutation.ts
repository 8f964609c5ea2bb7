import { maxStatisticAdjust } from "./max_statistic_adjust.ts";
import { normalScores } from "./normal_scores.ts";
import { randomStream } from "./random_stream.ts";
import { forEachOrder, MOST_ROWS_ENUMERATED, shuffle } from "./rank_permutation.ts";

type Column = readonly (number | null)[];

/** A column, and several others that may each go with it in their own way: what one rater each gave the rows. */
export type ProfilePair = { readonly column: Column; readonly profile: readonly Column[] };

/** One pair, judged as one of all of them. */
export type JudgedProfile = {
  /** How far the profile goes with the column, in standard deviations of chance. */
  readonly strength: number;
  readonly p: number;
  /** Adjusted over all pairs by the step-down maximum. */
  readonly p_grid: number;
};

const PROFILE_STREAM = 5;
const BLOCK = 128;

/**
 * Do raters part over a column: does what each gives a row go with it, each in a direction of their own?
 *
 * Per rater the correlation of normal scores, squared and times the rows less one, summed over raters.
 * Chance deals whole rows: what all raters gave a row of any pair moves together, so that whatever else
 * they part over stays as it is; only its tie to the columns is cut.
 *
 * @param pairs lists over the same rows; null is a missing value
 * @param permutations random orders where there are more than 8 rows; else all of them
 * @see Westfall & Young 1993, algorithm 2.8; Proceedings of the National Academy of Sciences 17:684 (1931)
 *   for the cube root that puts sums of squares over different numbers of raters on one footing
 */
export function profilePermutation(
  pairs: readonly ProfilePair[],
  { permutations, seed }: { readonly permutations: number; readonly seed: number },
): JudgedProfile[] {
  if (pairs.length === 0) return [];
  const rows = pairs[0].column.length;
  const scored = pairs.map(scoredPair);
  const order = Int32Array.from({ length: rows }, (_, row) => row);
  const strengths = () => Float64Array.from(scored, (pair) => strength(pair, order));
  const observed = strengths();
  const complete = rows <= MOST_ROWS_ENUMERATED;
  const relabelled: Float64Array[] = [];
  if (complete) forEachOrder(order, () => relabelled.push(strengths()));
  else {
    const stream = randomStream(seed, PROFILE_STREAM, rows);
    const block = new Float64Array(BLOCK * (rows - 1));
    while (relabelled.length < permutations) {
      stream.fillUniform(block);
      for (let b = 0; b < BLOCK && relabelled.length < permutations; b++) {
        shuffle(order, block, b * (rows - 1));
        relabelled.push(strengths());
      }
    }
  }
  const { p, p_step_down } = maxStatisticAdjust([...observed], relabelled, { complete });
  return pairs.map((_, i) => ({ strength: observed[i], p: p[i], p_grid: p_step_down[i] }));
}

type Rater = { readonly rows: Int32Array; readonly scores: Float64Array };

function raterOf(column: Column): Rater {
  const rows = column.flatMap((value, row) => value === null ? [] : [row]);
  return {
    rows: Int32Array.from(rows),
    scores: Float64Array.from(normalScores(rows.map((row) => column[row]!))),
  };
}

type Scored = {
  /** Normal scores, NaN where missing. */
  readonly column: Float64Array;
  readonly gaps: boolean;
  readonly raters: readonly Rater[];
  /** Room for the column in another order. */
  readonly dealt: Float64Array;
};

function scoredPair({ column, profile }: ProfilePair): Scored {
  const { rows, scores } = raterOf(column);
  const all = new Float64Array(column.length).fill(NaN);
  rows.forEach((row, i) => all[row] = scores[i]);
  return {
    column: all,
    gaps: rows.length < column.length,
    raters: profile.map(raterOf).filter((rater) => rater.rows.length > 2),
    dealt: new Float64Array(column.length),
  };
}

/** With the column's rows in this order. */
function strength({ column, gaps, raters, dealt }: Scored, order: Int32Array): number {
  const k = raters.length;
  if (k === 0) return 0;
  for (let row = 0; row < dealt.length; row++) dealt[row] = column[order[row]];
  let total = 0;
  for (const rater of raters) {
    total += gaps ? overOverlap(dealt, rater) : overRows(dealt, rater);
  }
  const spread = 2 / (9 * k);
  return (Math.cbrt(total / k) - (1 - spread)) / Math.sqrt(spread);
}

/** The squared correlation over the rater's rows, times these less one; 1, as chance has it, where there is none. */
function overRows(column: Float64Array, { rows, scores }: Rater): number {
  let sx = 0, sxx = 0, sxy = 0, sy = 0, syy = 0;
  for (let i = 0; i < rows.length; i++) {
    const x = column[rows[i]], y = scores[i];
    sx += x;
    sxx += x * x;
    sxy += x * y;
    sy += y;
    syy += y * y;
  }
  return squared(rows.length, sx, sxx, sxy, sy, syy);
}

/** The same over those of them where the column has a value. */
function overOverlap(column: Float64Array, { rows, scores }: Rater): number {
  let m = 0, sx = 0, sxx = 0, sxy = 0, sy = 0, syy = 0;
  for (let i = 0; i < rows.length; i++) {
    const x = column[rows[i]], y = scores[i];
    if (x !== x) continue;
    m++;
    sx += x;
    sxx += x * x;
    sxy += x * y;
    sy += y;
    syy += y * y;
  }
  return squared(m, sx, sxx, sxy, sy, syy);
}

function squared(m: number, sx: number, sxx: number, sxy: number, sy: number, syy: number): number {
  if (m < 3) return 1;
  const vx = sxx - sx * sx / m, vy = syy - sy * sy / m;
  if (vx < 1e-12 || vy < 1e-12) return 1;
  const xy = sxy - sx * sy / m;
  return (m - 1) * xy * xy / (vx * vy);
}
