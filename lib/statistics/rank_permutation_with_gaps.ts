import { randomStream } from "./random_stream.ts";
import {
  forEachOrder,
  MOST_ROWS_ENUMERATED,
  PERMUTATION_STREAM,
  shuffle,
} from "./rank_permutation.ts";
import {
  emptyResample,
  rankResample,
  type RankTable,
  rankTable,
  type Resample,
} from "./rank_resampling.ts";
import { doubledCentredRanks } from "./ranks.ts";

/** One target, and columns of which each may lack some of the target's rows. */
type ColumnWithGaps = {
  /** Places in the target's list of rows where this column has a value, ascending. */
  readonly rows: readonly number[];
  /** Its values there. */
  readonly values: readonly number[];
};

/**
 * What is the family-wise p of each column when columns have gaps?
 *
 * The target is shuffled over all its rows; every column then sees the values that fall on its own
 * rows, ranked anew among themselves. Columns of different length are put on one footing by
 * |rho|·√(n − 1), whose spread is 1 without an association; with equal lengths that orders as |rho| does.
 *
 * @param target the target's values, none missing
 * @param columns none constant on its rows, none with a constant target there
 * @returns per column the step-down p, monotone from the strongest on
 * @see Westfall & Young 1993, Resampling-Based Multiple Testing, algorithm 2.8
 */
export function familywiseWithGaps(
  target: readonly number[],
  columns: readonly ColumnWithGaps[],
  { permutations, seed }: { readonly permutations: number; readonly seed: number },
): number[] {
  const n = target.length;
  const sets = shareRows(columns);
  const table = rankTable([], [target], n);
  const perm = Int32Array.from({ length: n }, (_, row) => row);
  const resample = emptyResample(table);
  resample.counts.fill(1);
  const strength = new Float64Array(columns.length);
  strengths(table, sets, perm, resample, strength);
  const observed = strength.slice();
  const ladder = columns.map((_, j) => j).sort((a, b) => observed[b] - observed[a] || a - b);
  const reached = new Float64Array(columns.length);
  let tried = 0;
  const tryOrder = () => {
    strengths(table, sets, perm, resample, strength);
    let largest = 0;
    for (let rung = ladder.length - 1; rung >= 0; rung--) {
      const j = ladder[rung];
      largest = Math.max(largest, strength[j]);
      if (largest >= observed[j] * (1 - 1e-12)) reached[j]++;
    }
    tried++;
  };
  const complete = n <= MOST_ROWS_ENUMERATED;
  if (complete) forEachOrder(perm, tryOrder);
  else {
    const stream = randomStream(seed, PERMUTATION_STREAM, n);
    const block = new Float64Array(128 * (n - 1));
    while (tried < permutations) {
      stream.fillUniform(block);
      for (let b = 0; b < 128 && tried < permutations; b++) {
        shuffle(perm, block, b * (n - 1));
        tryOrder();
      }
    }
  }
  const p = new Array<number>(columns.length);
  let highest = 0;
  for (const j of ladder) {
    highest = Math.max(highest, complete ? reached[j] / tried : (reached[j] + 1) / (tried + 1));
    p[j] = highest;
  }
  return p;
}

/** Columns that have the same rows, ranked once. */
type SharedRows = {
  readonly rows: Int32Array;
  readonly columns: readonly {
    readonly index: number;
    readonly ranks: Int32Array;
    readonly scale: number;
  }[];
};

function shareRows(columns: readonly ColumnWithGaps[]): SharedRows[] {
  const byRows = new Map<string, { rows: Int32Array; columns: SharedRows["columns"][number][] }>();
  columns.forEach(({ rows, values }, index) => {
    const key = rows.join();
    const set = byRows.get(key) ?? { rows: Int32Array.from(rows), columns: [] };
    byRows.set(key, set);
    const m = rows.length;
    const ranks = doubledCentredRanks(values);
    const squares = ranks.reduce((sum, rank) => sum + rank * rank, 0);
    set.columns.push({ index, ranks, scale: Math.sqrt((m - 1) / squares) });
  });
  return [...byRows.values()];
}

/** |rho|·√(n − 1) of every column with the target in the order `perm`. */
function strengths(
  target: RankTable,
  sets: readonly SharedRows[],
  perm: Int32Array,
  resample: Resample,
  into: Float64Array,
): void {
  for (const { rows, columns } of sets) {
    const m = rows.length;
    for (let i = 0; i < m; i++) resample.drawn[i] = perm[rows[i]];
    rankResample(target, resample, m, m);
    const squares = resample.squares[0];
    for (const { index, ranks, scale } of columns) {
      let sum = 0;
      for (let i = 0; i < m; i++) sum += ranks[i] * resample.ranks[i];
      // A target that is constant on these rows after the shuffle shows no association.
      into[index] = squares > 0 ? Math.abs(sum) * scale / Math.sqrt(squares) : 0;
    }
  }
}
