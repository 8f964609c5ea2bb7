import type { CensoredReading } from "./censored_normal.ts";

/**
 * Which of two readings is surely the larger: 1 the first, −1 the second, 0 where nobody can say?
 *
 * Two bounds on one side can't be ordered; a bound and a number at it or beyond it can, and so can "below 2"
 * and "above 3".
 */
export function surelyLarger(a: CensoredReading, b: CensoredReading): -1 | 0 | 1 {
  if (typeof a === "number" && typeof b === "number") return a > b ? 1 : a < b ? -1 : 0;
  const [endsA, endsB] = [ends(a), ends(b)];
  return endsA.low >= endsB.high ? 1 : endsB.low >= endsA.high ? -1 : 0;
}

function ends(reading: CensoredReading): { readonly low: number; readonly high: number } {
  const known = typeof reading === "number"
    ? { low: reading, high: reading }
    : "below" in reading
    ? { low: -Infinity, high: reading.below }
    : { low: reading.above, high: Infinity };
  if (Number.isFinite(known.low) || Number.isFinite(known.high)) return known;
  throw new RangeError(`Cannot rank readings: ${JSON.stringify(reading)} is not finite`);
}

/**
 * Where does each reading stand among the others, when some are known by a bound only?
 *
 * (n + 1)/2 plus half of how many others are surely below less how many are surely above. Without bounds
 * these are mid-ranks; with one bound, which no number lies beyond, those of all bounds tied at that end.
 *
 * @param readings numbers, `{ below }` or `{ above }`
 * @returns one rank a reading, in the order given
 * @throws {RangeError} if a number or bound is not finite
 * @see Gehan 1965, Biometrika 52:203 (scores of partly ordered observations); Helsel 2012
 *
 * @example Wear of five shoes, two of which were not worn a millimetre
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.deepEqual(statistics.boundedRanks([1.4, { below: 1 }, 2.2, { below: 1 }, 1.1]), [4, 1.5, 5, 1.5, 3]);
 * ```
 */
export function boundedRanks(readings: readonly CensoredReading[]): number[] {
  const n = readings.length;
  return readings.map((own) => {
    const ahead = readings.reduce<number>((sum, other) => sum + surelyLarger(own, other), 0);
    return (n + 1 + ahead) / 2;
  });
}

/** A column as its ranks where some of it is known by a bound only; as it is where none is. */
export function rankable(
  values: readonly (CensoredReading | null)[],
): readonly (number | null)[] {
  if (values.every((value) => value === null || typeof value === "number")) {
    return values as readonly (number | null)[];
  }
  const known = values.flatMap((value, row) => value === null ? [] : [{ value, row }]);
  const ranks = boundedRanks(known.map(({ value }) => value));
  const column: (number | null)[] = values.map(() => null);
  known.forEach(({ row }, i) => column[row] = ranks[i]);
  return column;
}
