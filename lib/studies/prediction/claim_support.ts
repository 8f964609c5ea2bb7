import { normalCdf, normalQuantile } from "../../statistics/distributions.ts";
import { productMoment } from "../../statistics/pearson.ts";
import { normalScores } from "../../statistics/normal_scores.ts";
import { CLAIM_ALPHA } from "./prediction_claim.ts";
import { countAt, type ShoeKin } from "../shoes/shoe_kin.ts";
import type { OnlyBetween, RestsOn } from "./types.ts";

type Column = readonly (number | null)[];

/** Normal scores of both columns over the rows that have both. */
function scoresOver(x: Column, y: Column): { x: number[]; y: number[]; rows: number[] } {
  const own = (column: Column) => {
    const rows = column.flatMap((value, row) => value === null ? [] : [row]);
    const scores = normalScores(rows.map((row) => column[row]!));
    return new Map(rows.map((row, i) => [row, scores[i]]));
  };
  const [left, right] = [own(x), own(y)];
  const rows = [...left.keys()].filter((row) => right.has(row));
  return { x: rows.map((row) => left.get(row)!), y: rows.map((row) => right.get(row)!), rows };
}

/**
 * Would the claim fall without a shoe, a line or a maker?
 *
 * The correlation is worked out again without each and held against what the claim had to reach.
 *
 * @param x, y both columns, likeness of kin taken out
 * @param reach |z| that the claim had to reach
 * @param lost degrees of freedom spent on courts
 */
export function restsOn(
  x: Column,
  y: Column,
  { kin, shoe_ids, reach, lost }: {
    readonly kin: ShoeKin;
    readonly shoe_ids: readonly string[];
    readonly reach: number;
    readonly lost: number;
  },
): RestsOn {
  const scores = scoresOver(x, y);
  const whole = Math.sign(productMoment(scores.x, scores.y) ?? 0);
  const roughly = correlationWithout(scores);
  const fallsWithout = (names: readonly (string | number)[]) => {
    const groups = Map.groupBy(scores.rows.keys(), (i) => names[scores.rows[i]]);
    return [...groups].filter(([, own]) => {
      const freedom = scores.rows.length - own.length - 1 - lost;
      if (freedom < 1) return true;
      const gap = whole * roughly(own) * Math.sqrt(freedom) - reach;
      if (Math.abs(gap) > ROUNDING) return gap < 0;
      // Too near, or no number: from the rows that are left.
      const left = new Set(own);
      const keep = [...scores.rows.keys()].filter((i) => !left.has(i));
      const rho = productMoment(keep.map((i) => scores.x[i]), keep.map((i) => scores.y[i]));
      return rho === null || whole * rho * Math.sqrt(freedom) < reach;
    }).map(([group]) => group) as string[];
  };
  const lines = fallsWithout(kin.lines);
  const shoes = fallsWithout(shoe_ids);
  return {
    shoes,
    // A line of one shoe is that shoe.
    lines: lines.filter((line) => scores.rows.filter((row) => kin.lines[row] === line).length > 1),
    makers: countAt(kin.makers, scores.rows) === 1 ? [] : fallsWithout(kin.makers),
  };
}

/** What sums that a few rows are taken off may be wrong by, and far more. */
const ROUNDING = 1e-6;

/**
 * The correlation of the rows that are left without a few, from sums over all: a bench of hundreds of shoes
 * leaves each out in turn. NaN where too little is left of either column for its digits.
 */
function correlationWithout(
  { x, y }: { readonly x: readonly number[]; readonly y: readonly number[] },
): (without: readonly number[]) => number {
  const n = x.length;
  const centred = (column: readonly number[]) => {
    const mean = column.reduce((sum, value) => sum + value, 0) / n;
    return column.map((value) => value - mean);
  };
  const [u, v] = [centred(x), centred(y)];
  let [uu, vv, uv] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    uu += u[i] * u[i];
    vv += v[i] * v[i];
    uv += u[i] * v[i];
  }
  return (without) => {
    let [su, sv, suu, svv, suv] = [0, 0, 0, 0, 0];
    for (const i of without) {
      su += u[i];
      sv += v[i];
      suu += u[i] * u[i];
      svv += v[i] * v[i];
      suv += u[i] * v[i];
    }
    const left = n - without.length;
    const [xx, yy] = [uu - suu - su * su / left, vv - svv - sv * sv / left];
    if (!(xx > 1e-6 * uu && yy > 1e-6 * vv)) return NaN;
    return (uv - suv - su * sv / left) / Math.sqrt(xx * yy);
  };
}

/**
 * Does a metric say anything of an impression that a stronger one doesn't say already?
 *
 * @param x, y, given columns, likeness of kin taken out
 * @returns the partial correlation and its p; null where four rows don't have all three
 */
export function partialGiven(
  x: Column,
  y: Column,
  given: Column,
  lost: number,
): { readonly partial: number; readonly p: number } | null {
  const has = (row: number) => given[row] !== null;
  const cut = (column: Column) => column.map((value, row) => has(row) ? value : null);
  const pairs = [scoresOver(cut(x), cut(y)), scoresOver(cut(x), given), scoresOver(cut(y), given)];
  const [xy, xz, yz] = pairs.map((pair) => productMoment(pair.x, pair.y));
  const freedom = pairs[0].rows.length - 4 - lost;
  if (xy === null || xz === null || yz === null || freedom < 1) return null;
  if (Math.abs(xz) >= 1 || Math.abs(yz) >= 1) return { partial: 0, p: 1 };
  const partial = (xy - xz * yz) / Math.sqrt((1 - xz * xz) * (1 - yz * yz));
  if (Math.abs(partial) >= 1) return { partial: Math.sign(partial), p: 0 };
  return { partial, p: 2 * normalCdf(-Math.abs(Math.atanh(partial)) * Math.sqrt(freedom)) };
}

/**
 * Does what looks strong over shoes lie between courts, makers or lines only?
 *
 * Asked where a correlation would stand out of the grid if shoes were independent, but isn't claimed.
 *
 * @param correlations as shoes: with courts left in; within courts; within makers of a court
 * @param family cells of the grid
 */
export function onlyBetween(
  { as_shoes, within_courts, within_makers }: {
    readonly as_shoes: number | null;
    readonly within_courts: number | null;
    readonly within_makers: number | null;
  },
  { rows, kin, family }: {
    readonly rows: readonly number[];
    readonly kin: ShoeKin;
    readonly family: number;
  },
): OnlyBetween | null {
  const n = rows.length;
  const [courts, makers, lines] = [
    countAt(kin.strata, rows),
    countAt(kin.makers, rows),
    countAt(kin.lines, rows),
  ];
  if (as_shoes === null) return null;
  const stands = (rho: number | null, taken: number, alpha: number) =>
    rho !== null && n - taken > 4 &&
    (Math.abs(rho) >= 1 ||
      Math.abs(Math.atanh(rho)) * Math.sqrt((n - taken - 3) / (1 + rho * rho / 2)) >
        normalQuantile(1 - alpha / 2));
  const strict = CLAIM_ALPHA / Math.max(1, family);
  if (
    courts > 1 && stands(as_shoes, 0, strict) && !stands(within_courts, courts - 1, CLAIM_ALPHA)
  ) {
    return { level: "courts", groups: courts, as_shoes };
  }
  if (!stands(within_courts, courts - 1, strict)) return null;
  if (makers > 1 && makers < n && !stands(within_makers, makers - 1, CLAIM_ALPHA)) {
    return { level: "makers", groups: makers, as_shoes };
  }
  return lines > 1 && lines < n ? { level: "lines", groups: lines, as_shoes } : null;
}
