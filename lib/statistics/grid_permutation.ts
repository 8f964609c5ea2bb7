import * as option from "../options.ts";
import { randomStream } from "./random_stream.ts";
import { forEachOrder, MOST_ROWS_ENUMERATED, shuffle } from "./rank_permutation.ts";
import { checkColumn } from "./complete_pairs.ts";
import { normalScores } from "./normal_scores.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** One column against one target, judged as one of all of them. */
export type GridCell = {
  /** Correlation of normal scores; null where fewer than three rows have both, or one is constant there. */
  readonly correlation: number | null;
  readonly n: number;
  /** The correlation times √(n − 1 − lost): what is compared over the grid. */
  readonly z: number | null;
  /** Two-sided permutation p of this cell alone. */
  readonly p: number | null;
  /** The same adjusted over the whole grid by the step-down maximum. */
  readonly p_grid: number | null;
  /** |z| that this cell had to reach, among those no stronger than it; null where it did not. */
  readonly critical: number | null;
};

type Column = readonly (number | null)[];

/** One stream for the orders of every set of n rows, whatever columns are asked for. */
const GRID_STREAM = 3;
const BLOCK = 128;

/**
 * Which of many columns go with which of many targets, if the whole grid is one claim?
 *
 * Columns are compared by normal scores, which find more than ranks do at the same freedom from tails.
 * Rows of all targets are shuffled together, so what hangs together among columns, and among targets,
 * stays together; the step-down maximum then runs over all cells. With gaps a cell's correlation is that
 * of the rows which have both in each order.
 *
 * @param columns, targets lists over the same rows; null is a missing value
 * @param permutations random orders where more than 8 rows have a target; else all of them. 0: no p
 * @param lost degrees of freedom that were spent on strata before
 * @param alpha level for which `critical` is worked out; or one a cell, alpha[column][target]
 * @returns cells[column][target]
 * @throws {RangeError} if lists differ in length or a value is not finite
 * @see Westfall & Young 1993, algorithm 2.8; Phipson & Smyth 2010 for (reached + 1) / (permutations + 1);
 *   Chernoff & Savage 1958 for normal scores
 *
 * @example Two columns and two targets over six rows: all 720 orders
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const cells = statistics.gridPermutation(
 *   [[1, 2, 3, 4, 5, 6], [2, 1, 5, 3, 6, 4]],
 *   [[1, 3, 2, 4, 6, 5], [4, 5, 1, 3, 6, 2]],
 * );
 * assert.ok(cells[0][0].p! < cells[0][0].p_grid!);
 * ```
 */
export function gridPermutation(
  columns: readonly (readonly (number | null)[])[],
  targets: readonly (readonly (number | null)[])[],
  { permutations = 10000, lost = 0, alpha = 0.05, seed = DEFAULT_SEED }: {
    readonly permutations?: number;
    readonly lost?: number;
    readonly alpha?: number | readonly (readonly number[])[];
    readonly seed?: number;
  } = {},
): readonly (readonly GridCell[])[] {
  option.check("statistics.gridPermutation", arguments[2], {
    permutations: option.whole(0),
    lost: option.number,
    alpha: option.either(option.share, option.listOf(option.listOf(option.share))),
    seed: option.seed,
  });
  [...columns, ...targets].forEach(checkColumn);
  const short = [...columns, ...targets].find(({ length }) => length !== columns[0]?.length);
  if (short !== undefined && columns.length > 0) {
    throw new RangeError(
      `Columns and targets need the same rows; found lengths ${
        columns[0].length
      } and ${short.length}`,
    );
  }
  const grid = prepare(columns, targets, lost);
  const tally = shuffleGrid(grid, { permutations, seed });
  const adjusted: number[] = [];
  tally.down.forEach((reached, rung) => {
    adjusted[rung] = Math.max(rung === 0 ? 0 : adjusted[rung - 1], tally.p(reached));
  });
  const rungOf = new Map(grid.ladder.map((cell, rung) => [cell, rung]));
  return columns.map((_, j) =>
    targets.map((_, t): GridCell => {
      const cell = j * targets.length + t;
      const rung = rungOf.get(cell);
      const n = grid.counts[cell];
      if (rung === undefined) {
        return { correlation: null, n, z: null, p: null, p_grid: null, critical: null };
      }
      const about = {
        correlation: grid.observed[cell] / Math.sqrt(n - 1),
        n,
        z: grid.observed[cell] * grid.scale[cell],
      };
      if (tally.tried === 0) return { ...about, p: null, p_grid: null, critical: null };
      const level = typeof alpha === "number" ? alpha : alpha[j][t];
      return {
        ...about,
        p: tally.p(tally.alone[rung]),
        p_grid: adjusted[rung],
        critical: adjusted[rung] < level ? tally.critical(rung, level) : null,
      };
    })
  );
}

type Grid = {
  readonly x: readonly Scored[];
  readonly y: readonly Scored[];
  /** Per cell, target by target within a column: correlation times √(n − 1), NaN where there is none. */
  readonly observed: Float64Array;
  readonly counts: Int32Array;
  /** What the lost degrees of freedom leave of it. */
  readonly scale: Float64Array;
  /** Cells that have a correlation, strongest first. */
  readonly ladder: readonly number[];
};

function prepare(columns: readonly Column[], targets: readonly Column[], lost: number): Grid {
  const rows = (columns[0] ?? []).map((_, row) => row)
    .filter((row) => targets.some((target) => target[row] !== null));
  const x = columns.map((column) => scoredColumn(column, rows));
  const y = targets.map((target) => scoredColumn(target, rows));
  const observed = new Float64Array(x.length * y.length);
  const counts = new Int32Array(observed.length);
  correlateAll(x, y, Int32Array.from(rows.keys()), workspace(y), observed, counts);
  const scale = Float64Array.from(
    counts,
    (n) => Math.sqrt(Math.max(0, n - 1 - lost) / Math.max(1, n - 1)),
  );
  const size = (cell: number) => Math.abs(observed[cell]) * scale[cell];
  const ladder = [...observed.keys()].filter((cell) => !Number.isNaN(observed[cell]))
    .sort((a, b) => size(b) - size(a) || a - b);
  return { x, y, observed, counts, scale, ladder };
}

type Tally = {
  /** Per rung of the ladder: orders in which the cell, or any cell no stronger, reaches what it showed. */
  readonly alone: Int32Array;
  readonly down: Int32Array;
  readonly tried: number;
  readonly p: (reached: number) => number;
  readonly critical: (rung: number, alpha: number) => number;
};

/** Sums that are equal on paper may differ in their last digits here; a reach so close counts. */
const SLACK = 1e-9;

function shuffleGrid(
  { x, y, observed, scale, ladder }: Grid,
  { permutations, seed }: { readonly permutations: number; readonly seed: number },
): Tally {
  const n = y[0]?.scores.length ?? 0;
  const rungs = ladder.length;
  const steps = Int32Array.from(ladder);
  const reach = Float64Array.from(ladder, (cell) => Math.abs(observed[cell]) * scale[cell] - SLACK);
  const alone = new Int32Array(rungs);
  const down = new Int32Array(rungs);
  const complete = n <= MOST_ROWS_ENUMERATED && permutations > 0;
  const maxima = new Float32Array(rungs * (complete ? factorial(n) : permutations));
  const drawn = new Float64Array(observed.length);
  const order = Int32Array.from({ length: n }, (_, row) => row);
  const work = workspace(y);
  let tried = 0;
  const tryOrder = () => {
    correlateAll(x, y, order, work, drawn, null);
    stepDown(drawn, steps, reach, alone, down, maxima, tried * rungs);
    tried++;
  };
  if (complete) forEachOrder(order, tryOrder);
  else if (rungs > 0) {
    const stream = randomStream(seed, GRID_STREAM, n);
    const block = new Float64Array(BLOCK * (n - 1));
    while (tried < permutations) {
      stream.fillUniform(block);
      for (let b = 0; b < BLOCK && tried < permutations; b++) {
        shuffle(order, block, b * (n - 1));
        tryOrder();
      }
    }
  }
  return {
    alone,
    down,
    tried,
    p: (reached) => complete ? reached / tried : (reached + 1) / (tried + 1),
    critical: (rung, alpha) => {
      const sorted = Float32Array.from({ length: tried }, (_, b) => maxima[b * rungs + rung])
        .sort();
      return sorted[Math.min(tried - 1, Math.ceil((1 - alpha) * (tried + 1)) - 1)];
    },
  };
}

/** Counts, from the weakest cell up, who reaches what was seen, and keeps the largest so far. */
function stepDown(
  drawn: Float64Array,
  ladder: Int32Array,
  reach: Float64Array,
  alone: Int32Array,
  down: Int32Array,
  maxima: Float32Array,
  at: number,
): void {
  let running = 0;
  for (let rung = ladder.length - 1; rung >= 0; rung--) {
    const size = Math.abs(drawn[ladder[rung]]);
    if (size >= reach[rung]) alone[rung]++;
    if (size > running) running = size; // NaN never is
    if (running >= reach[rung]) down[rung]++;
    maxima[at + rung] = running;
  }
}

function factorial(n: number): number {
  return n <= 1 ? 1 : n * factorial(n - 1);
}

type Scored = {
  /** Normal scores of length 1 over the rows present, 0 elsewhere. */
  readonly scores: Float64Array;
  /** 1 where there is a value, 0 elsewhere. */
  readonly present: Float64Array;
  readonly count: number;
  readonly constant: boolean;
  /** Sums of the scores and of their squares, row by row. */
  readonly sum: number;
  readonly squares: number;
};

function scoredColumn(column: Column, rows: readonly number[]): Scored {
  const own = rows.flatMap((row, i) => column[row] === null ? [] : [i]);
  const values = own.map((i) => column[rows[i]]!);
  const uncentred = normalScores(values);
  // Ties pull the mean of normal scores off 0.
  const mean = uncentred.reduce((sum, score) => sum + score, 0) / values.length;
  const normal = uncentred.map((score) => score - mean);
  const constant = values.every((value) => value === values[0]);
  const length = Math.sqrt(normal.reduce((sum, score) => sum + score * score, 0));
  const scores = new Float64Array(rows.length);
  const present = new Float64Array(rows.length);
  own.forEach((i, place) => {
    scores[i] = constant ? 0 : normal[place] / length;
    present[i] = 1;
  });
  let [sum, squares] = [0, 0];
  for (const score of scores) {
    sum += score;
    squares += score * score;
  }
  return { scores, present, count: own.length, constant, sum, squares };
}

type Shuffled = { readonly scores: Float64Array; readonly present: Float64Array };

function workspace(y: readonly Scored[]): readonly Shuffled[] {
  return y.map(({ scores }) => ({
    scores: new Float64Array(scores.length),
    present: new Float64Array(scores.length).fill(1),
  }));
}

/** All correlations times √(n − 1) with the targets' rows in this order; NaN where there is none. */
function correlateAll(
  x: readonly Scored[],
  y: readonly Scored[],
  order: Int32Array,
  shuffled: readonly Shuffled[],
  into: Float64Array,
  counts: Int32Array | null,
): void {
  const n = order.length;
  const root = Math.sqrt(n - 1);
  for (let t = 0; t < y.length; t++) {
    const target = y[t];
    const { scores, present } = shuffled[t];
    const whole = target.count === n;
    putInOrder(target.scores, order, scores);
    if (!whole) putInOrder(target.present, order, present);
    const full = (j: number) => whole && j < x.length && x[j].count === n;
    for (let j = 0; j < x.length;) {
      const cell = j * y.length + t;
      if (full(j) && full(j + 1) && full(j + 2) && full(j + 3)) {
        fourProducts(x, j, scores, into, cell, y.length);
        j += 4;
      } else {
        into[cell] = full(j)
          ? product(x[j].scores, scores)
          : whole
          ? overColumn(x[j], scores)
          : overBoth(x[j], scores, present);
        j++;
      }
    }
    for (let j = 0; j < x.length; j++) {
      const cell = j * y.length + t;
      if (counts !== null) counts[cell] = overlap(x[j].present, present);
      if (!full(j)) continue;
      into[cell] = n < 3 || x[j].constant || target.constant ? NaN : into[cell] * root;
    }
  }
}

function putInOrder(from: Float64Array, order: Int32Array, into: Float64Array): void {
  for (let i = 0; i < into.length; i++) into[i] = from[order[i]];
}

function overlap(one: Float64Array, other: Float64Array): number {
  let count = 0;
  for (let i = 0; i < one.length; i++) count += one[i] * other[i];
  return count;
}

function product(known: Float64Array, scores: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < scores.length; i++) sum += known[i] * scores[i];
  return sum;
}

/** The products of four columns in one pass, which a processor does in little more than the time of one. */
function fourProducts(
  x: readonly Scored[],
  j: number,
  scores: Float64Array,
  into: Float64Array,
  cell: number,
  stride: number,
): void {
  const a = x[j].scores, b = x[j + 1].scores, c = x[j + 2].scores, d = x[j + 3].scores;
  let sa = 0, sb = 0, sc = 0, sd = 0;
  for (let i = 0; i < scores.length; i++) {
    const score = scores[i];
    sa += a[i] * score;
    sb += b[i] * score;
    sc += c[i] * score;
    sd += d[i] * score;
  }
  into[cell] = sa;
  into[cell + stride] = sb;
  into[cell + 2 * stride] = sc;
  into[cell + 3 * stride] = sd;
}

// Scores are 0 where there is no value, so sums over the rows that have both need no question a row,
// which at a gap that moves with every order would be guessed wrong.

/** A column with gaps against a target that has every row. */
function overColumn(
  { scores: column, present, count, sum, squares }: Scored,
  scores: Float64Array,
): number {
  let sy = 0, syy = 0, sxy = 0;
  for (let i = 0; i < scores.length; i++) {
    const score = scores[i];
    const own = score * present[i];
    sy += own;
    syy += own * own;
    sxy += column[i] * score;
  }
  return correlationOf(count, sum, sy, squares, syy, sxy);
}

/** Any column against a target with gaps. */
function overBoth(
  { scores: column, present: has }: Scored,
  scores: Float64Array,
  present: Float64Array,
): number {
  let m = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
  for (let i = 0; i < scores.length; i++) {
    const a = column[i] * present[i], b = scores[i] * has[i];
    m += has[i] * present[i];
    sx += a;
    sy += b;
    sxx += a * a;
    syy += b * b;
    sxy += a * b;
  }
  return correlationOf(m, sx, sy, sxx, syy, sxy);
}

/** From sums over m rows, times √(m − 1). */
function correlationOf(
  m: number,
  sx: number,
  sy: number,
  sxx: number,
  syy: number,
  sxy: number,
): number {
  if (m < 3) return NaN;
  const vx = sxx - sx * sx / m;
  const vy = syy - sy * sy / m;
  if (vx < 1e-12 || vy < 1e-12) return NaN;
  return (sxy - sx * sy / m) / Math.sqrt(vx * vy) * Math.sqrt(m - 1);
}
