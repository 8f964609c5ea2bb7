import { rankable } from "./bounded_ranks.ts";
import type { CensoredReading } from "./censored_normal.ts";
import type { Reason } from "./reason.ts";

/** Two columns of equal length without gaps, and the rows they came from. */
type CompletePairs = {
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly rows: readonly number[];
};

/**
 * Which rows have both values?
 *
 * @param x, y two columns of the same rows; null is a missing value
 * @throws {RangeError} if the lengths differ or a value is neither null nor finite
 */
export function completePairs(
  x: readonly (number | null)[],
  y: readonly (number | null)[],
): CompletePairs {
  if (x.length !== y.length) {
    throw new RangeError(
      `Cannot pair columns of ${x.length} and ${y.length} values; both need the same rows`,
    );
  }
  checkColumn(x);
  checkColumn(y);
  const rows = x.flatMap((value, row) => value !== null && y[row] !== null ? [row] : []);
  return { x: rows.map((row) => x[row]!), y: rows.map((row) => y[row]!), rows };
}

/** The same with columns that hold bounds: their ranks over the rows that have both. */
export function completeBounded(
  x: readonly (CensoredReading | null)[],
  y: readonly (CensoredReading | null)[],
): CompletePairs {
  if (x.length !== y.length) return completePairs(rankable(x), rankable(y));
  const both = x.map((value, row) => value !== null && y[row] !== null);
  const of = (column: readonly (CensoredReading | null)[]) =>
    rankable(column.map((value, row) => both[row] ? value : null));
  return completePairs(of(x), of(y));
}

/** @throws {RangeError} if a value is neither null (missing) nor a finite number */
export function checkColumn(values: readonly (number | null)[]): void {
  const odd = values.findIndex((value) => value !== null && !Number.isFinite(value));
  if (odd >= 0) {
    throw new RangeError(
      `Value ${odd + 1} of a column is ${
        values[odd]
      }; expected a finite number, or null if missing`,
    );
  }
}

/** Why do two columns have no correlation? null if they have one. */
export function noCorrelationReason(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
): Reason | null {
  if (x.length < 3) {
    return { code: "too-few", of: "pairs", needed: 3, found: x.length };
  }
  const xConstant = isConstant(x);
  const yConstant = isConstant(y);
  if (xConstant && yConstant) return { code: "constant", which: "both" };
  if (xConstant) return { code: "constant", which: "x" };
  if (yConstant) return { code: "constant", which: "y" };
  return null;
}

function isConstant(values: ArrayLike<number>): boolean {
  for (let i = 1; i < values.length; i++) if (values[i] !== values[0]) return false;
  return true;
}
