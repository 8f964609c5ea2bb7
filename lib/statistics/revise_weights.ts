import {
  addRow,
  addRows,
  fitLinked,
  fixedFit,
  linkedRows,
} from "./linked_simplex_least_squares.ts";
import type { LinkedFit, LinkedRows } from "./linked_simplex_least_squares.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import { sweep } from "./swept_matrix.ts";

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
  readonly reason: string | null;
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
  const reason = n < 6
    ? `${n === 1 ? "1 row is" : `${n} rows are`} too few to weigh anew; 6 are needed`
    : y.every((value) => value === y[0])
    ? "the outcome has one value only"
    : null;
  if (reason !== null) return unrevised(old, n, reason);

  const rows = linkedRows(X, y, old);
  const options = { confidence, resamples, seed };
  const counts = new Float64Array(n).fill(1);
  const whole = revise(rows, counts, options);
  const folds = Array.from({ length: n }, (_, row) => {
    counts[row] = 0;
    const fold = withoutRow(rows, counts, { ...options, resamples: Math.min(200, resamples) });
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

function unrevised(old: readonly number[], n: number, reason: string): WeightRevision {
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

type Limits = { readonly lower: number; readonly upper: number; readonly middle: number };

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

type Options = { readonly confidence: number; readonly resamples: number; readonly seed: number };

/** Steps 1 to 3 on the rows with a count. */
function revise(rows: LinkedRows, counts: Float64Array, options: Options): Revision {
  const gram = gramOf(rows, counts);
  const best = fitLinked(rows, gram, 0).weights;
  const grams = resampledGrams(rows, counts, options);
  const limits = limitsOf(rows, grams, options.confidence);
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
    now = limitsOf(part, grams.map((one) => reducedGram(one, change)), options.confidence);
  }
  path.push(oldWeights(rows, counts));
  const { free: chosen, strength } = mostLeftAlone(path);
  const change = chosen.length === 0 ? null : reduction(rows, chosen);
  const weights = change === null || strength === Infinity ? rows.toward.slice() : spreadOut(
    rows,
    chosen,
    fitLinked(reduced(rows, change), reducedGram(gram, change), strength).weights,
  );
  return { weights, best, limits, strength, free: chosen, freest: path[0].strength };
}

/** The last step of the path that is not worse than the best by more than one standard error. */
function mostLeftAlone(path: readonly Step[]): Step {
  const sums = path.map(({ squares }) => squares.reduce((sum, value) => sum + value, 0));
  const best = path[sums.indexOf(Math.min(...sums))];
  return path.findLast(({ squares }) => withinOneError(squares, best.squares))!;
}

function gramOf(rows: LinkedRows, counts: ArrayLike<number>): Float64Array {
  const gram = new Float64Array(rows.size * rows.size);
  addRows(rows, counts, gram);
  return gram;
}

function resampledGrams(
  rows: LinkedRows,
  counts: Float64Array,
  { resamples, seed }: Options,
): Float64Array[] {
  const grams: Float64Array[] = [];
  forResamples(counts, { resamples, seed }, (again) => grams.push(gramOf(rows, again)));
  return grams;
}

/** Limits of each weight from resamples in which it may have any sign. */
function limitsOf(
  rows: LinkedRows,
  grams: readonly Float64Array[],
  confidence: number,
): Limits[] {
  const { size, total, n } = rows;
  const p = size - 2;
  const drawn = grams.map((gram) => signedWeights(gram, size, total));
  const tail = (1 - confidence) / 2;
  const widen = Math.sqrt(n / Math.max(1, n - p - 1));
  const cut = (value: number) => Math.min(total, Math.max(0, value));
  return Array.from({ length: p }, (_, j) => {
    const usable = drawn.flatMap((weights) => weights === null ? [] : weights[j])
      .filter((weight) => weight === weight);
    // Where too many resamples have no relation at all, any division of the total is possible.
    if (usable.length < (1 - tail) * grams.length) {
      return { lower: 0, upper: total, middle: rows.toward[j] };
    }
    const sorted = orderStatistics(Float64Array.from(usable));
    const middle = sorted.quantile(0.5);
    const limit = (share: number) => cut(middle + (sorted.quantile(share) - middle) * widen);
    return { lower: limit(tail), upper: limit(1 - tail), middle: cut(middle) };
  });
}

/** Least squares without a sign, as shares of the total; null where they sum to nothing. */
function signedWeights(gram: Float64Array, size: number, total: number): Float64Array | null {
  const matrix = gram.slice();
  const p = size - 2;
  const swept = new Uint8Array(size);
  for (let j = 0; j <= p; j++) {
    if (!(matrix[j * size + j] > 1e-10 * gram[j * size + j])) continue;
    sweep(matrix, size, j, 1);
    swept[j] = 1;
  }
  let sum = 0;
  for (let j = 1; j <= p; j++) if (swept[j] === 1) sum += matrix[j * size + size - 1];
  if (!(sum > 0)) return null;
  return Float64Array.from(
    { length: p },
    (_, j) => swept[1 + j] === 1 ? matrix[(1 + j) * size + size - 1] / sum * total : NaN,
  );
}

function forResamples(
  counts: Float64Array,
  { resamples, seed }: Pick<Options, "resamples" | "seed">,
  use: (again: Float64Array, resample: number) => void,
): void {
  const present = [...counts.keys()].filter((row) => counts[row] > 0);
  const draws = new Uint32Array(present.length);
  const again = new Float64Array(counts.length);
  const stream = randomStream(seed, 11, present.length);
  for (let b = 0; b < resamples; b++) {
    stream.fillIntegers(draws, present.length);
    again.fill(0);
    for (let i = 0; i < draws.length; i++) again[present[draws[i]]]++;
    use(again, b);
  }
}

/** Which columns of the smaller problem are made from which of the larger: a matrix, row by row. */
type Reduction = {
  readonly matrix: Float64Array;
  readonly small: number;
  readonly free: readonly number[];
};

/**
 * The problem that is left when all columns but the free ones keep their weights.
 *
 * A kept part K goes into every free column as K / (weight of the free ones), which their fixed sum
 * turns into K itself.
 */
function reduction({ size, toward }: LinkedRows, free: readonly number[]): Reduction | null {
  const total = free.reduce((sum, j) => sum + toward[j], 0);
  if (!(total > 0)) return null;
  const small = free.length + 2;
  const matrix = new Float64Array(size * small);
  matrix[0] = 1;
  matrix[size * small - 1] = 1;
  for (let j = 0; j < toward.length; j++) {
    const own = free.indexOf(j);
    for (let k = 0; k < free.length; k++) {
      matrix[(1 + j) * small + 1 + k] = own < 0 ? toward[j] / total : own === k ? 1 : 0;
    }
  }
  return { matrix, small, free };
}

function reduced(rows: LinkedRows, { matrix, small, free }: Reduction): LinkedRows {
  const toward = Float64Array.from(free, (j) => rows.toward[j]);
  return {
    ...rows,
    size: small,
    flat: product(rows.flat, matrix, rows.n, rows.size, small),
    toward,
    total: toward.reduce((sum, weight) => sum + weight, 0),
  };
}

/** The cross-products of the smaller problem's columns, from those of the larger one's. */
function reducedGram(gram: Float64Array, { matrix, small }: Reduction): Float64Array {
  const size = matrix.length / small;
  const right = product(gram, matrix, size, size, small);
  const into = new Float64Array(small * small);
  for (let i = 0; i < size; i++) {
    for (let a = 0; a < small; a++) {
      const factor = matrix[i * small + a];
      if (factor === 0) continue;
      for (let b = 0; b < small; b++) into[a * small + b] += factor * right[i * small + b];
    }
  }
  return into;
}

function product(
  left: Float64Array,
  right: Float64Array,
  rows: number,
  inner: number,
  columns: number,
): Float64Array {
  const into = new Float64Array(rows * columns);
  for (let i = 0; i < rows; i++) {
    for (let k = 0; k < inner; k++) {
      const factor = left[i * inner + k];
      if (factor === 0) continue;
      for (let j = 0; j < columns; j++) into[i * columns + j] += factor * right[k * columns + j];
    }
  }
  return into;
}

function spreadOut(
  rows: LinkedRows,
  free: readonly number[],
  weights: Float64Array,
): Float64Array {
  const all = rows.toward.slice();
  free.forEach((j, k) => all[j] = weights[k]);
  return all;
}

/** Leave-one-out over the strengths: the one with the smallest error. */
function tune(rows: LinkedRows, counts: Float64Array, free: readonly number[]): Step {
  const squares = leftOutSquares(rows, counts, STRENGTHS);
  const sums = squares.map((own) => own.reduce((sum, value) => sum + value, 0));
  const best = sums.indexOf(Math.min(...sums));
  return { free, strength: STRENGTHS[best], squares: squares[best] };
}

function oldWeights(rows: LinkedRows, counts: Float64Array): Step {
  return { free: [], strength: Infinity, squares: leftOutSquares(rows, counts, [Infinity])[0] };
}

function leftOutSquares(
  rows: LinkedRows,
  counts: Float64Array,
  strengths: readonly number[],
): number[][] {
  const gram = gramOf(rows, counts);
  const squares = strengths.map((): number[] => []);
  for (const row of counts.keys()) {
    if (counts[row] === 0) continue;
    addRow(rows.flat, rows.size, row, -1, gram);
    strengths.forEach((strength, s) => {
      squares[s].push(errorAt(rows, fitLinked(rows, gram, strength), row) ** 2);
    });
    addRow(rows.flat, rows.size, row, 1, gram);
  }
  return squares;
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
function withoutRow(rows: LinkedRows, counts: Float64Array, options: Options): Fold {
  const { size, toward, total } = rows;
  const gram = gramOf(rows, counts);
  const p = size - 2;
  const fixed = (weights: Float64Array) => fixedFit(weights, size, gram);
  const revised = revise(rows, counts, options);
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
  { resamples, seed }: Options,
): number[][] {
  const change = strength === Infinity ? null : reduction(rows, free);
  if (change === null) return [Array.from(weights)];
  const part = reduced(rows, change);
  const draws: number[][] = [];
  forResamples(new Float64Array(rows.n).fill(1), { resamples, seed }, (again) => {
    const fit = fitLinked(part, gramOf(part, again), strength);
    draws.push(Array.from(spreadOut(rows, free, fit.weights)));
  });
  return draws;
}
