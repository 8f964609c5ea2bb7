import type { Shoe } from "../../records/types.ts";
import { correlationInflation } from "../../statistics/correlation_inflation.ts";
import { type NestedGroups, nestedShares } from "../../statistics/nested_shares.ts";
import { normalScores } from "../../statistics/normal_scores.ts";
import { tieNearEqual } from "../../statistics/tie_near_equal.ts";
import { whitenNested } from "../../statistics/whiten_nested.ts";
import { shoeLine, shoeTree } from "./shoe_tree.ts";

type Column = readonly (number | null)[];

/** Which shoes resemble each other for reasons of their own: one entry a shoe in every list. */
export type ShoeKin = {
  readonly groups: NestedGroups;
  readonly makers: readonly string[];
  readonly lines: readonly string[];
  /** The court each shoe is compared within; one name for all where courts can't be told apart. */
  readonly strata: readonly string[];
  /** Courts that are compared within; 1 where shoes aren't told apart by court. */
  readonly courts: number;
};

/** A court with fewer rated shoes is compared together with the other rare ones. */
const FEWEST_PER_COURT = 3;
/** Courts are told apart where so many shoes stand behind each on average. */
const SHOES_PER_COURT = 5;
/** Likeness is not looked for among fewer shoes than this. */
const FEWEST_ALIKE = 8;

/**
 * What makes these shoes no independent cases?
 *
 * Editions of a line, lines of a maker, and the court a shoe is sold for. Courts are strata: shoes are
 * compared within theirs, unless there are too few of them.
 *
 * @param shoes in the order of the table
 * @param rated whether the shoe has a panel value on any impression
 */
export function shoeKin(shoes: readonly Shoe[], rated: readonly boolean[]): ShoeKin {
  const { outer, inner } = shoeTree({ shoes });
  const counts = new Map<string, number>();
  shoes.forEach(({ surface }, row) => {
    if (rated[row]) counts.set(surface ?? "", (counts.get(surface ?? "") ?? 0) + 1);
  });
  const own = shoes.map(({ surface }) =>
    (counts.get(surface ?? "") ?? 0) >= FEWEST_PER_COURT ? surface ?? "" : "rare courts"
  );
  const courts = new Set(own.filter((_, row) => rated[row])).size;
  const told = rated.filter(Boolean).length >= SHOES_PER_COURT * courts;
  return {
    groups: { outer, inner },
    makers: shoes.map(({ maker }) => maker),
    lines: shoes.map(shoeLine),
    // A shoe nobody rated has no say in what the rated ones of its court have on average.
    strata: own.map((court, row) => !rated[row] ? "not rated" : told ? court : "all courts"),
    courts: told ? Math.max(1, courts) : 1,
  };
}

/** Values less what their court's shoes have on average; as they are where courts aren't told apart. */
export function withinCourts(values: Column, { strata, courts }: ShoeKin): Column {
  if (courts === 1) return values;
  const sums = new Map<string, { sum: number; count: number }>();
  values.forEach((value, row) => {
    if (value === null) return;
    const one = sums.get(strata[row]) ?? { sum: 0, count: 0 };
    sums.set(strata[row], { sum: one.sum + value, count: one.count + 1 });
  });
  return tieNearEqual(values.map((value, row) => {
    if (value === null) return null;
    const { sum, count } = sums.get(strata[row])!;
    return value - sum / count;
  }));
}

/** How much of the variance of these values lies between courts; 0 where courts aren't told apart. */
export function courtShare(values: Column, kin: ShoeKin): number {
  const known = values.filter((value) => value !== null);
  const courts = countAt(kin.strata, values.flatMap((value, row) => value === null ? [] : [row]));
  if (kin.courts === 1 || courts < 2 || known.length <= courts) return 0;
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length;
  const squares = (list: Column, centre: number) =>
    list.reduce<number>((sum, value) => sum + (value === null ? 0 : (value - centre) ** 2), 0);
  const total = squares(values, mean) / (known.length - 1);
  const within = squares(withinCourts(values, kin), 0) / (known.length - courts);
  return total > 0 ? Math.max(0, 1 - within / total) : 0;
}

/** A column with the likeness of kin taken out, and how large that was. */
export type WhiteColumn = {
  readonly values: Column;
  /** Shares of the variance that lie between makers, and between lines of a maker. */
  readonly maker: number;
  readonly line: number;
};

/**
 * What of this column is not shared by kin?
 *
 * Its normal scores, with mean and court taken off and turned so that shoes are independent if the
 * fitted shares of makers and lines are right.
 */
export function withoutKin(values: Column, kin: ShoeKin): WhiteColumn {
  const rows = values.flatMap((value, row) => value === null ? [] : [row]);
  const known = rows.map((row) => values[row]!);
  const strata = strataColumns(rows.map((row) => kin.strata[row]));
  const plain = { values, maker: 0, line: 0 };
  if (rows.length < FEWEST_ALIKE + strata.length) return plain;
  if (known.every((value) => value === known[0])) return plain;
  const groups = groupsAt(kin, rows);
  const scores = normalScores(known);
  const shares = nestedShares(scores, groups, { strata });
  if (shares.outer === 0 && shares.inner === 0) return plain;
  const white = whitenNested(scores, groups, shares, strata);
  const spread: (number | null)[] = values.map(() => null);
  rows.forEach((row, i) => spread[row] = white[i]);
  return { values: tieNearEqual(spread), maker: shares.outer, line: shares.inner };
}

/**
 * What of each of these columns is not shared by kin, if they are all alike to the same degree?
 *
 * As `withoutKin`, with shares fitted to all columns together: where each has gaps, such as what one tester
 * rated, its own shares would be mostly noise.
 *
 * @param columns within courts, see `withinCourts`
 */
export function withoutCommonKin(columns: readonly Column[], kin: ShoeKin): readonly Column[] {
  const scored = columns.map((values) => {
    const rows = values.flatMap((value, row) => value === null ? [] : [row]);
    return { rows, scores: normalScores(rows.map((row) => values[row]!)) };
  });
  const most = 1 + Math.max(0, ...kin.groups.outer, ...kin.groups.inner);
  const shifted = (level: readonly number[]) =>
    scored.flatMap(({ rows }, c) => rows.map((row) => level[row] + c * most));
  const all = scored.flatMap(({ scores }) => scores);
  if (all.length < FEWEST_ALIKE) return columns;
  const shares = nestedShares(all, {
    outer: shifted(kin.groups.outer),
    inner: shifted(kin.groups.inner),
  });
  if (shares.outer === 0 && shares.inner === 0) return columns;
  return columns.map((values, c) => {
    const { rows, scores } = scored[c];
    const white = whitenNested(scores, groupsAt(kin, rows), shares);
    const spread = new Array<number | null>(values.length).fill(null);
    rows.forEach((row, i) => spread[row] = white[i]);
    return tieNearEqual(spread);
  });
}

/** By how much likeness and courts widen the correlation of two columns over the rows that have both. */
export function kinInflation(
  rows: readonly number[],
  kin: ShoeKin,
  x: WhiteColumn,
  y: WhiteColumn,
): number {
  const n = rows.length;
  const lost = kin.courts - 1;
  if (n - 1 <= lost) return 1;
  const alike = correlationInflation(
    groupsAt(kin, rows),
    { outer: x.maker, inner: x.line },
    { outer: y.maker, inner: y.line },
  );
  return alike * (n - 1) / (n - 1 - lost);
}

/** How many different names these rows have. */
export function countAt(names: readonly (string | number)[], rows: readonly number[]): number {
  return new Set(rows.map((row) => names[row])).size;
}

function groupsAt({ groups }: ShoeKin, rows: readonly number[]): NestedGroups {
  return {
    outer: rows.map((row) => groups.outer[row]),
    inner: rows.map((row) => groups.inner[row]),
  };
}

/** A column of 0 and 1 for each stratum that is present but the first. */
function strataColumns(strata: readonly string[]): number[][] {
  return [...new Set(strata)].slice(1).map((stratum) =>
    strata.map((own) => own === stratum ? 1 : 0)
  );
}
