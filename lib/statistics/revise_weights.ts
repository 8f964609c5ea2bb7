import { leftOutLinkedSquares } from "./left_out_linked_squares.ts";
import {
  crossProductsOf,
  fitLinked,
  fixedFit,
  linkedRows,
} from "./linked_simplex_least_squares.ts";
import type { LinkedFit, LinkedRows } from "./linked_simplex_least_squares.ts";
import { reduced, reduction, spreadOut } from "./linked_reduction.ts";
import type { Reason } from "./reason.ts";
import {
  type Draws,
  forResamples,
  leftOutCrossProducts,
  type Limits,
  resampledCrossProducts,
  weightLimits,
} from "./weight_limits.ts";

/** One weight of a revision. */
export type RevisedWeight = {
  readonly old: number;
  readonly revised: number;
  /** Without any pull toward the old weights. */
  readonly best_fit: number;
  /**
   * Limits of the weight that fits best: percentiles over resampled rows of weights of any sign, which have
   * no bias at 0, widened by √(n / (n − columns − 1)) and cut at 0 and the total.
   */
  readonly lower: number | null;
  readonly upper: number | null;
  /** True when the revised weight is the old one. */
  readonly kept: boolean;
};

/** Weights that were fitted and judged on rows that had no part in the fit. */
export type WeightRevision = {
  readonly weights: readonly RevisedWeight[];
  /** Null with a reason when there was nothing to fit. */
  readonly reason: Reason | null;
  /** The pull toward the old weights that was chosen; null when they stay. */
  readonly strength: number | null;
  readonly n: number;
  /** One entry a candidate, in this order. */
  readonly candidates: readonly CandidateFit[];
  /**
   * Resampled revised weights, one list a resample: rows drawn anew, while the pull and which weights are
   * left alone are held, so that they scatter less than the whole procedure does.
   */
  readonly draws: readonly (readonly number[])[];
};

/** What stands to be chosen from. */
export type Candidate =
  | "weights in force"
  | "new weights"
  | "freest fit"
  | "equal weights"
  | "best single column"
  | "the mean";

/** A candidate as it does on rows that it has not seen. */
export type CandidateFit = {
  readonly candidate: Candidate;
  /** Per row, its weighted sum under weights found without it, from the mean; null for the mean. */
  readonly scores: readonly number[] | null;
  /** Per row, y as predicted without it. */
  readonly predicted: readonly number[];
  /** √ of the mean squared error of `predicted`. */
  readonly error: number;
  /** Per row, the weights found without it; null for the mean. */
  readonly weights: readonly (readonly number[])[] | null;
};

const STRENGTHS = [0, 0.01, 0.03, 0.1, 0.3, 1, 3, 10, Infinity];

/**
 * Which weights would serve better than those in use, which are better left alone, and how do they do
 * on rows they have not seen?
 *
 * 1. Rows are resampled for an interval of each weight (see `RevisedWeight`).
 * 2. The weight nearest to its old value, in widths of its interval, is fixed there and the rest resampled
 *    under that condition; and so on until all are fixed. Each step on this path is fitted
 *    (`linkedSimplexLeastSquares`), pulled toward the old weights as hard as gives the smallest error over
 *    rows left out in turn.
 * 3. Of the path, the step with the most weights left alone is taken whose squared errors are not larger
 *    than the best step's by more than one standard error of their paired differences. The last step is the
 *    old weights.
 * 4. Every row is left out in turn and steps 1 to 3 repeated without it (with 200 resamples at most), which
 *    gives its score.
 * 5. The old weights stay all the same, unless the squared errors of step 4 are smaller than theirs by more
 *    than one standard error of the paired differences: those of step 3 were chosen for being small.
 *
 * Fixing at once all weights whose intervals hold the old value was tried and does worse: as the sum is
 * fixed, what the others lose piles up on the few that are left.
 *
 * "freest fit" fixes nothing and takes the pull of smallest error: what a reviser without doubts would do. "best single column" is chosen without the row, too.
 *
 * @param X one row per case, one column per weight
 * @param old the weights in use: at least 0, not all 0
 * @returns the old weights and a reason with fewer than six rows or a constant y
 * @throws {RangeError} if shapes do not match or an option is out of range
 * @see Breiman, Friedman, Olshen & Stone 1984, section 3.4.3, for one standard error (there of the error
 *   itself; of paired differences here, which doubts less); Stone 1974 for the nested validation
 */
export function reviseWeights(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { old, confidence = 0.95, resamples = 1000, seed = 20260101 }: {
    readonly old: readonly number[];
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  },
): WeightRevision {
  const n = X.length;
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0 and 1, was given ${confidence}`);
  }
  if (!Number.isSafeInteger(resamples) || resamples < 100) {
    throw new RangeError(`resamples is a whole number of at least 100, was given ${resamples}`);
  }
  const reason: Reason | null = n < 6
    ? { code: "too-few", of: "rows", needed: 6, found: n }
    : y.every((value) => value === y[0])
    ? { code: "constant", which: "y" }
    : null;
  if (reason !== null) return unrevised(old, n, reason);

  const rows = linkedRows(X, y, old);
  const options = { resamples, seed };
  const counts = new Float64Array(n).fill(1);
  const whole = revise(rows, counts, resampledCrossProducts(rows, options), confidence);
  const fewer = { ...options, resamples: Math.min(200, resamples) };
  const grams = leftOutCrossProducts(rows, fewer);
  const folds = Array.from({ length: n }, (_, row) => {
    counts[row] = 0;
    const fold = withoutRow(rows, counts, grams.without(row), confidence);
    counts[row] = 1;
    return fold;
  });
  const candidates = judge(rows, folds);
  const stays = !isBetter(y, candidates);
  return {
    weights: old.map((weight, j) => ({
      old: weight,
      revised: stays ? weight : whole.weights[j],
      best_fit: whole.best[j],
      lower: whole.limits[j].lower,
      upper: whole.limits[j].upper,
      kept: stays || whole.weights[j] === weight,
    })),
    reason: null,
    strength: stays || whole.strength === Infinity ? null : whole.strength,
    n,
    candidates,
    draws: stays ? [old.slice()] : drawRevised(rows, whole, options),
  };
}

/** Step 5. */
function isBetter(y: readonly number[], candidates: readonly CandidateFit[]): boolean {
  const squares = (name: Candidate) =>
    candidates.find(({ candidate }) => candidate === name)!.predicted
      .map((predicted, row) => (y[row] - predicted) ** 2);
  return !withinOneError(squares("weights in force"), squares("new weights"));
}

/** Whether squared errors exceed others by no more than one standard error of the paired differences. */
function withinOneError(squares: readonly number[], others: readonly number[]): boolean {
  const total = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0);
  const n = squares.length;
  const differences = squares.map((square, i) => square - others[i]);
  const mean = total(differences) / n;
  const spread = total(differences.map((value) => (value - mean) ** 2));
  return mean <= Math.sqrt(spread / (n * (n - 1)));
}

function unrevised(old: readonly number[], n: number, reason: Reason): WeightRevision {
  return {
    weights: old.map((weight) => ({
      old: weight,
      revised: weight,
      best_fit: weight,
      lower: null,
      upper: null,
      kept: true,
    })),
    reason,
    strength: null,
    n,
    candidates: [],
    draws: [],
  };
}

/** A step on the path: what is still free there, and how it does on rows left out in turn. */
type Step = {
  readonly free: readonly number[];
  readonly strength: number;
  /** Squared errors, one a row with a count. */
  readonly squares: readonly number[];
};

type Revision = {
  readonly weights: Float64Array;
  readonly best: Float64Array;
  readonly limits: readonly Limits[];
  /** Pull and free columns of the step taken. */
  readonly strength: number;
  readonly free: readonly number[];
  /** Pull of the first step, where all are free. */
  readonly freest: number;
};

/** Steps 1 to 3 on the rows with a count and their resamples' cross-products. */
function revise(
  rows: LinkedRows,
  counts: Float64Array,
  grams: readonly Float64Array[],
  confidence: number,
): Revision {
  const best = fitLinked(rows, crossProductsOf(rows, counts), 0).weights;
  const limits = weightLimits(rows, grams, confidence);
  let now: readonly Limits[] = limits;
  let free = limits.map((_, j) => j);
  const path = [tune(rows, counts, free)];
  while (true) {
    const distance = free.map((j, k) => {
      const { lower, upper, middle } = now[k];
      return upper > lower ? Math.abs(rows.toward[j] - middle) / (upper - lower) : 0;
    });
    free = free.toSpliced(distance.indexOf(Math.min(...distance)), 1);
    // One alone can't move, and where only weights of 0 are left there is nothing to divide.
    const change = free.length < 2 ? null : reduction(rows, free);
    if (change === null) break;
    const part = reduced(rows, change);
    path.push(tune(part, counts, free));
    now = weightLimits(part, grams, confidence, change);
  }
  path.push(oldWeights(rows, counts));
  const { free: chosen, strength } = mostLeftAlone(path);
  const change = chosen.length === 0 ? null : reduction(rows, chosen);
  const part = change === null || strength === Infinity ? null : reduced(rows, change);
  const weights = part === null
    ? rows.toward.slice()
    : spreadOut(rows, chosen, fitLinked(part, crossProductsOf(part, counts), strength).weights);
  return { weights, best, limits, strength, free: chosen, freest: path[0].strength };
}

/** The last step of the path that is not worse than the best by more than one standard error. */
function mostLeftAlone(path: readonly Step[]): Step {
  const sums = path.map(({ squares }) => squares.reduce((sum, value) => sum + value, 0));
  const best = path[sums.indexOf(Math.min(...sums))];
  return path.findLast(({ squares }) => withinOneError(squares, best.squares))!;
}

/** Leave-one-out over the strengths: the one with the smallest error. */
function tune(rows: LinkedRows, counts: Float64Array, free: readonly number[]): Step {
  const squares = leftOutLinkedSquares(rows, counts, STRENGTHS);
  const sums = squares.map((own) => own.reduce((sum, value) => sum + value, 0));
  const best = sums.indexOf(Math.min(...sums));
  return { free, strength: STRENGTHS[best], squares: squares[best] };
}

function oldWeights(rows: LinkedRows, counts: Float64Array): Step {
  return {
    free: [],
    strength: Infinity,
    squares: leftOutLinkedSquares(rows, counts, [Infinity])[0],
  };
}

function errorAt({ flat, size }: LinkedRows, fit: LinkedFit, row: number): number {
  return flat[row * size + size - 1] - fit.intercept -
    fit.slope * scoreAt(flat, size, fit.weights, row);
}

function scoreAt(flat: Float64Array, size: number, weights: Float64Array, row: number): number {
  let score = 0;
  for (let j = 0; j < weights.length; j++) score += weights[j] * flat[row * size + 1 + j];
  return score;
}

type Fold = Record<Exclude<Candidate, "the mean">, LinkedFit> & { readonly mean: number };

/** Every candidate, found on the rows with a count. */
function withoutRow(
  rows: LinkedRows,
  counts: Float64Array,
  grams: readonly Float64Array[],
  confidence: number,
): Fold {
  const { size, toward, total } = rows;
  const gram = crossProductsOf(rows, counts);
  const p = size - 2;
  const fixed = (weights: Float64Array) => fixedFit(weights, size, gram);
  const revised = revise(rows, counts, grams, confidence);
  const single = Array.from({ length: p }, (_, j) => {
    const weights = new Float64Array(p);
    weights[j] = total;
    return fixed(weights);
  });
  // What a column explains by itself: slope² × its spread about the mean.
  const explained = single.map(({ slope }, j) => {
    const at = (1 + j) * size;
    return slope * slope * (gram[at + 1 + j] - gram[at] ** 2 / gram[0]);
  });
  return {
    "weights in force": fixed(toward),
    "new weights": fixed(revised.weights),
    "freest fit": fitLinked(rows, gram, revised.freest),
    "equal weights": fixed(new Float64Array(p).fill(total / p)),
    "best single column": single[explained.indexOf(Math.max(...explained))],
    mean: gram[size - 1] / gram[0],
  };
}

function judge(rows: LinkedRows, folds: readonly Fold[]): CandidateFit[] {
  const { flat, size } = rows;
  const names = [
    "weights in force",
    "new weights",
    "freest fit",
    "equal weights",
    "best single column",
  ] as const;
  const y = folds.map((_, row) => flat[row * size + size - 1]);
  const rootMeanSquare = (predicted: readonly number[]) =>
    Math.sqrt(predicted.reduce((sum, value, i) => sum + (y[i] - value) ** 2, 0) / y.length);
  const means = folds.map(({ mean }) => mean);
  return [
    ...names.map((candidate): CandidateFit => {
      const predicted = folds.map((fold, row) => y[row] - errorAt(rows, fold[candidate], row));
      return {
        candidate,
        scores: folds.map((fold, row) => scoreAt(flat, size, fold[candidate].weights, row)),
        predicted,
        error: rootMeanSquare(predicted),
        weights: folds.map((fold) => Array.from(fold[candidate].weights)),
      };
    }),
    {
      candidate: "the mean",
      scores: null,
      predicted: means,
      error: rootMeanSquare(means),
      weights: null,
    },
  ];
}

/** How the revised weights would scatter over other samples of rows. */
function drawRevised(
  rows: LinkedRows,
  { free, strength, weights }: Revision,
  options: Draws,
): number[][] {
  const change = strength === Infinity ? null : reduction(rows, free);
  if (change === null) return [Array.from(weights)];
  const part = reduced(rows, change);
  const draws: number[][] = [];
  forResamples(rows.n, options, (again) => {
    const fit = fitLinked(part, crossProductsOf(part, again), strength);
    draws.push(Array.from(spreadOut(rows, free, fit.weights)));
  });
  return draws;
}
