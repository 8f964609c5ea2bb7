import * as option from "../options.ts";
import { checkColumn, noCorrelationReason } from "./complete_pairs.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { bootstrapRankCorrelations, leaveOneOutRankCorrelations } from "./rank_bootstrap.ts";
import { permuteRankCorrelations } from "./rank_permutation.ts";
import { familywiseWithGaps } from "./rank_permutation_with_gaps.ts";
import { rankTable } from "./rank_resampling.ts";
import { doubledCentredRanks } from "./ranks.ts";
import { resampledLimits } from "./resampled_limits.ts";
import type { Reason } from "./reason.ts";
import { DEFAULT_SEED } from "./default_seeds.ts";

/** One Spearman correlation of the grid, with all that is asked of it. */
export type RankCorrelationCell = Estimate & {
  /** Two-sided permutation p of this pair alone. */
  readonly p: number | null;
  readonly p_method: string | null;
  /** Step-down max-statistic p over all columns of the same target. */
  readonly p_familywise: number | null;
  /** rho with each row left out; null for a row that has not both values, or if rho can't be computed. */
  readonly leave_one_out: readonly (number | null)[];
};

/** Every column against every target, and how it was resampled. */
export type RankCorrelationGrid = {
  /** cells[column][target] */
  readonly cells: readonly (readonly RankCorrelationCell[])[];
  readonly resamples: number;
  readonly permutations: number;
  readonly seed: number;
};

/** How `rankCorrelationGrid` resamples; every option has a default. */
export type RankCorrelationGridOptions = {
  readonly interval?: "bca" | "percentile" | "none";
  readonly confidence?: number;
  /** Bootstrap resamples. */
  readonly resamples?: number;
  /** Random orders where n > 8; with at most 8 rows all of them are tried. 0: no p. */
  readonly permutations?: number;
  /**
   * Family-wise p only for targets with a plain p below this: the family-wise one is never smaller, so
   * for the others it would be above it too, and stays null. Default: for all.
   */
  readonly familywiseBelow?: number;
  /** Whether rho with each row left out is wanted; without it the lists are empty. */
  readonly leaveOneOut?: boolean;
  readonly seed?: number;
};

type Column = readonly (number | null)[];

/** Pairs fewer than this get an estimate and a p, but no resampled interval. */
const FEWEST_FOR_INTERVAL = 5;

/**
 * Which of many columns go with which of many targets?
 *
 * Spearman's rho of every column with every target over the rows that have both; BCa or percentile
 * bootstrap interval, permutation p, step-down max-statistic p per target (no column is believed for
 * being the best of many), and rho with each row left out. Pairs over the same rows share resamples and
 * permutations. A pair's estimate, interval and p do not depend on which other columns are asked for.
 *
 * @param columns, targets lists over the same rows (shoes); null is a missing value
 * @returns one cell per column and target; null with a reason where fewer than three rows have both
 *   values or one of them is constant there
 * @throws {RangeError} if lengths differ, a value is not finite, or an option is out of range
 * @see Efron & Tibshirani 1993 (BCa, section 14.3); Westfall & Young 1993 (algorithm 2.8);
 *   Phipson & Smyth 2010 for p = (reached + 1) / (permutations + 1)
 *
 * @example Two columns against one target
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { cells } = statistics.rankCorrelationGrid(
 *   [[51, 54, 52, 57, 58, 55], [30, 31, 29, 33, 30, 32]],
 *   [[5, 7, 6, 8, 9, 6]],
 * );
 * assert.equal(cells[0][0].estimate?.toFixed(3), "0.899");
 * assert.equal(cells[1][0].p?.toFixed(4), "0.5667"); // exact: all 720 orders
 * ```
 */
export function rankCorrelationGrid(
  columns: readonly (readonly (number | null)[])[],
  targets: readonly (readonly (number | null)[])[],
  {
    interval = "bca",
    confidence = 0.95,
    resamples = 10000,
    permutations = 10000,
    familywiseBelow = Infinity,
    leaveOneOut = true,
    seed = DEFAULT_SEED,
  }: RankCorrelationGridOptions = {},
): RankCorrelationGrid {
  option.check("statistics.rankCorrelationGrid", arguments[2], {
    interval: option.oneOf("bca", "percentile", "none"),
    confidence: option.share,
    resamples: option.resamples,
    permutations: option.whole(0),
    familywiseBelow: option.number,
    leaveOneOut: option.flag,
    seed: option.seed,
  });
  checkCall(columns, targets);
  const method = interval === "none"
    ? "Spearman's rho"
    : `Spearman's rho, ${
      interval === "bca" ? "BCa" : "percentile"
    } bootstrap, ${resamples} resamples`;
  const cells: RankCorrelationCell[][] = columns.map(() => []);
  const groups = groupByRows(columns, targets);

  for (const { rows, pairs } of groups) {
    const usable = pairs.filter(({ column, target }) => {
      const reason = noCorrelationReason(
        valuesAt(columns[column], rows),
        valuesAt(targets[target], rows),
      );
      if (reason === null) return true;
      const about = { confidence, method, n: rows.length };
      cells[column][target] = {
        ...noEstimate(reason, about),
        p: null,
        p_method: null,
        p_familywise: null,
        leave_one_out: leaveOneOut ? columns[column].map(() => null) : [],
      };
      return false;
    });
    if (usable.length === 0) continue;
    const columnIds = [...new Set(usable.map((pair) => pair.column))].sort((a, b) => a - b);
    const targetIds = [...new Set(usable.map((pair) => pair.target))].sort((a, b) => a - b);
    const shared = groupCorrelations(
      columnIds.map((id) => valuesAt(columns[id], rows)),
      targetIds.map((id) => valuesAt(targets[id], rows)),
      { interval, resamples, permutations, leaveOneOut, seed },
    );
    for (const { column, target } of usable) {
      const pair = columnIds.indexOf(column) * targetIds.length + targetIds.indexOf(target);
      cells[column][target] = cellOf(shared, pair, {
        rows,
        rowCount: leaveOneOut ? columns[column].length : 0,
        interval,
        method,
        confidence,
      });
    }
    // Step-down p straight from this group where it holds all there is of a target.
    for (const target of targetIds) {
      const mine = usable.filter((pair) => pair.target === target);
      const elsewhere = groups.some((other) =>
        other.rows !== rows &&
        other.pairs.some((pair) =>
          pair.target === target && isUsable(columns, targets, other.rows, pair)
        )
      );
      if (elsewhere || mine.length !== columnIds.length || shared.permutation === null) continue;
      setFamilywise(cells, target, columnIds, targetIds.length, targetIds.indexOf(target), shared);
    }
  }
  if (permutations > 0) {
    const asked = targets.map((_, target) =>
      familywiseBelow === Infinity ||
      cells.some((row) => row[target].p !== null && row[target].p < familywiseBelow)
    );
    fillFamilywiseWithGaps(cells, columns, targets, { asked, permutations, seed });
  }
  return { cells, resamples, permutations, seed };
}

function checkCall(columns: readonly Column[], targets: readonly Column[]): void {
  const all = [...columns, ...targets];
  const odd = all.find((column) => column.length !== all[0].length);
  if (odd !== undefined) {
    throw new RangeError(
      `Columns and targets need the same rows; found lengths ${all[0].length} and ${odd.length}`,
    );
  }
  if (all.length > 0 && all[0].length > 65535) {
    throw new RangeError(`At most 65535 rows can be resampled, was given ${all[0].length}`);
  }
  all.forEach(checkColumn);
}

type Pair = { readonly column: number; readonly target: number };
type Group = { readonly rows: readonly number[]; readonly pairs: readonly Pair[] };

function groupByRows(columns: readonly Column[], targets: readonly Column[]): Group[] {
  const groups = new Map<string, { rows: number[]; pairs: Pair[] }>();
  const keys = new Map<string, { rows: number[]; pairs: Pair[] }>();
  const gaps = (column: Column) =>
    column.flatMap((value, row) => value === null ? [row] : []).join();
  const columnGaps = columns.map(gaps);
  const targetGaps = targets.map(gaps);
  columns.forEach((x, column) =>
    targets.forEach((y, target) => {
      const key = `${columnGaps[column]}|${targetGaps[target]}`;
      let group = keys.get(key);
      if (group === undefined) {
        const rows = x.flatMap((value, row) => value !== null && y[row] !== null ? [row] : []);
        const rowKey = rows.join();
        group = groups.get(rowKey) ?? { rows, pairs: [] };
        groups.set(rowKey, group);
        keys.set(key, group);
      }
      group.pairs.push({ column, target });
    })
  );
  return [...groups.values()];
}

function valuesAt(column: Column, rows: readonly number[]): number[] {
  return rows.map((row) => column[row] as number);
}

function isUsable(
  columns: readonly Column[],
  targets: readonly Column[],
  rows: readonly number[],
  { column, target }: Pair,
): boolean {
  return noCorrelationReason(valuesAt(columns[column], rows), valuesAt(targets[target], rows)) ===
    null;
}

type Shared = {
  readonly observed: Float64Array;
  readonly bootstrap: ReturnType<typeof bootstrapRankCorrelations> | null;
  readonly jackknife: ReturnType<typeof leaveOneOutRankCorrelations> | null;
  readonly permutation: ReturnType<typeof permuteRankCorrelations> | null;
};

function groupCorrelations(
  columns: readonly (readonly number[])[],
  targets: readonly (readonly number[])[],
  { interval, resamples, permutations, leaveOneOut, seed }: {
    readonly interval: "bca" | "percentile" | "none";
    readonly resamples: number;
    readonly permutations: number;
    readonly leaveOneOut: boolean;
    readonly seed: number;
  },
): Shared {
  const n = columns[0].length;
  const table = rankTable(columns, targets, n);
  const wanted = interval !== "none" && resamples > 0 && n >= FEWEST_FOR_INTERVAL;
  return {
    observed: observedCorrelations(columns, targets),
    bootstrap: wanted ? bootstrapRankCorrelations(table, { resamples, seed }) : null,
    jackknife: leaveOneOut || (wanted && interval === "bca")
      ? leaveOneOutRankCorrelations(table)
      : null,
    permutation: permutations > 0 ? permuteRankCorrelations(table, { permutations, seed }) : null,
  };
}

function observedCorrelations(
  columns: readonly (readonly number[])[],
  targets: readonly (readonly number[])[],
): Float64Array {
  const x = columns.map(centredRanks);
  const y = targets.map(centredRanks);
  return Float64Array.from(x.flatMap((left) =>
    y.map((right) => {
      let sum = 0;
      for (let i = 0; i < left.ranks.length; i++) sum += left.ranks[i] * right.ranks[i];
      return sum / Math.sqrt(left.squares * right.squares);
    })
  ));
}

function centredRanks(column: readonly number[]): { ranks: Int32Array; squares: number } {
  const ranks = doubledCentredRanks(column);
  return { ranks, squares: ranks.reduce((sum, rank) => sum + rank * rank, 0) };
}

function cellOf(
  { observed, bootstrap, jackknife, permutation }: Shared,
  pair: number,
  { rows, rowCount, interval, method, confidence }: {
    readonly rows: readonly number[];
    readonly rowCount: number;
    readonly interval: "bca" | "percentile" | "none";
    readonly method: string;
    readonly confidence: number;
  },
): RankCorrelationCell {
  const n = rows.length;
  const estimate = Math.min(1, Math.max(-1, observed[pair]));
  const left = jackknife?.values.subarray(pair * n, (pair + 1) * n) ?? new Float64Array();
  const leaveOneOut = new Array<number | null>(rowCount).fill(null);
  if (rowCount > 0) {
    rows.forEach((row, i) => {
      leaveOneOut[row] = Number.isNaN(left[i]) ? null : left[i];
    });
  }
  const limits = bootstrap !== null && interval !== "none"
    ? resampledLimits(
      bootstrap.values.subarray(pair * bootstrap.resamples, (pair + 1) * bootstrap.resamples),
      { estimate, jackknife: left, method: interval, confidence },
    )
    : { lower: null, upper: null, warnings: tooFewWarning(interval, n) };
  return {
    estimate,
    estimate_reason: null,
    lower: snapToOne(limits.lower),
    upper: snapToOne(limits.upper),
    confidence,
    method,
    n,
    warnings: limits.warnings,
    ...plainP(permutation, pair),
    p_familywise: null,
    leave_one_out: leaveOneOut,
  };
}

/** A correlation of 1 that rounding has moved by a last digit is 1. */
function snapToOne(rho: number | null): number | null {
  return rho !== null && Math.abs(rho) > 1 - 1e-14 ? Math.sign(rho) : rho;
}

function tooFewWarning(interval: string, n: number): Reason[] {
  if (interval === "none" || n >= FEWEST_FOR_INTERVAL) return [];
  return [{ code: "too-few-to-resample", needed: FEWEST_FOR_INTERVAL, found: n }];
}

function plainP(
  permutation: Shared["permutation"],
  pair: number,
): { p: number | null; p_method: string | null } {
  if (permutation === null) return { p: null, p_method: null };
  const { reached, permutations, complete } = permutation;
  return complete
    ? { p: reached[pair] / permutations, p_method: `exact, all ${permutations} orders` }
    : { p: (reached[pair] + 1) / (permutations + 1), p_method: `${permutations} permutations` };
}

function setFamilywise(
  cells: RankCorrelationCell[][],
  target: number,
  columnIds: readonly number[],
  targetCount: number,
  targetPlace: number,
  { observed, permutation }: Shared,
): void {
  const { reachedStepDown, permutations, complete } = permutation!;
  const at = (place: number) => place * targetCount + targetPlace;
  const ladder = columnIds.map((_, place) => place)
    .sort((a, b) => Math.abs(observed[at(b)]) - Math.abs(observed[at(a)]) || a - b);
  let highest = 0;
  for (const place of ladder) {
    const reached = reachedStepDown[at(place)];
    highest = Math.max(
      highest,
      complete ? reached / permutations : (reached + 1) / (permutations + 1),
    );
    const column = columnIds[place];
    cells[column][target] = { ...cells[column][target], p_familywise: highest };
  }
}

/** Targets whose columns do not all have the same rows: the target is shuffled over its own rows. */
function fillFamilywiseWithGaps(
  cells: RankCorrelationCell[][],
  columns: readonly Column[],
  targets: readonly Column[],
  { asked, ...options }: {
    readonly asked: readonly boolean[];
    readonly permutations: number;
    readonly seed: number;
  },
): void {
  targets.forEach((y, target) => {
    if (!asked[target]) return;
    const open = columns.map((_, column) => column).filter((column) =>
      cells[column][target].estimate !== null && cells[column][target].p_familywise === null
    );
    if (open.length === 0) return;
    const own = y.flatMap((value, row) => value === null ? [] : [row]);
    const place = new Map(own.map((row, i) => [row, i]));
    const p = familywiseWithGaps(
      valuesAt(y, own),
      open.map((column) => {
        const rows = own.filter((row) => columns[column][row] !== null);
        return {
          rows: rows.map((row) => place.get(row)!),
          values: valuesAt(columns[column], rows),
        };
      }),
      options,
    );
    open.forEach((column, i) => {
      const cell = cells[column][target];
      // The pair's own p comes from other shuffles; a family-wise p below it would be Monte Carlo noise.
      cells[column][target] = { ...cell, p_familywise: Math.max(p[i], cell.p ?? 0) };
    });
  });
}
