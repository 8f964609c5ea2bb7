import * as option from "../options.ts";
import { checkReadings, momentsOf } from "./checks.ts";
import { tUpper, tUpperQuantile } from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** The value farthest from the mean, and whether chance explains it. */
export type Grubbs = {
  /** Distance from the mean over the SD; null with a reason when it cannot be computed. */
  readonly statistic: number | null;
  readonly statistic_reason: Reason | null;
  readonly critical: number | null;
  /** Position and value of the reading in question. */
  readonly index: number | null;
  readonly value: number | null;
  /** An upper bound, exact for a small sample where only one reading can lie so far out. */
  readonly p: number | null;
  readonly outlier: boolean;
  readonly alpha: number;
  readonly sides: "two-sided" | "high" | "low";
  readonly n: number;
};

/**
 * Is the most extreme reading too far out to be chance?
 *
 * The distance of one reading from the mean over the SD, against Grubbs' critical value. It is a flag
 * for a person to look at, not a licence to drop the reading; with two outliers on one side each hides
 * the other (see `generalizedEsd`).
 *
 * @param values readings, taken as normal but for the outlier; null for a missing one
 * @param options.alpha risk of a false alarm
 * @throws {RangeError} if alpha is not between 0 and 1 or a reading is not finite
 * @see Grubbs 1969; ISO 5725-2; ASTM E178
 */
export function grubbs(
  values: readonly (number | null)[],
  { alpha = 0.05, sides = "two-sided" }: {
    readonly alpha?: number;
    readonly sides?: "two-sided" | "high" | "low";
  } = {},
): Grubbs {
  option.check("statistics.grubbs", arguments[1], {
    alpha: option.share,
    sides: option.oneOf("two-sided", "high", "low"),
  });
  checkAlpha(alpha);
  checkReadings(values, "look for an outlier");
  const readings: number[] = [];
  const places: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    if (value === null) continue;
    readings.push(value);
    places.push(i);
  }
  const n = readings.length;
  const about = { alpha, sides, n };
  const nothing = (reason: Reason): Grubbs => ({
    statistic: null,
    statistic_reason: reason,
    critical: null,
    index: null,
    value: null,
    p: null,
    outlier: false,
    ...about,
  });
  if (n < 3) return nothing({ code: "too-few", of: "readings", needed: 3, found: n });
  const { mean, squares, rounding } = momentsOf(readings);
  if (squares <= rounding) return nothing({ code: "constant", which: "readings" });
  const sd = Math.sqrt(squares / (n - 1));
  const sign = sides === "high" ? 1 : sides === "low" ? -1 : 0;
  const distance = (x: number) => sign === 0 ? Math.abs(x - mean) : sign * (x - mean);
  let at = 0;
  let farthest = distance(readings[0]);
  for (let i = 1; i < n; i++) {
    const far = distance(readings[i]);
    if (far > farthest) [at, farthest] = [i, far];
  }
  const statistic = farthest / sd;
  const critical = grubbsCritical(n, alpha, sides === "two-sided" ? 2 : 1);
  // The same relation between t and the statistic, turned round.
  const rest = (n - 1) ** 2 / n - statistic ** 2;
  const t = rest > 0 ? Math.sqrt((n - 2) * statistic ** 2 / rest) : Infinity;
  const p = Math.min(1, n * (sides === "two-sided" ? 2 : 1) * tUpper(t, n - 2));
  return {
    statistic,
    statistic_reason: null,
    critical,
    index: places[at],
    value: readings[at],
    p,
    outlier: statistic > critical,
    ...about,
  };
}

/** Grubbs' critical value for the largest distance over the SD among n readings. */
export function grubbsCritical(n: number, alpha: number, sides: 1 | 2): number {
  const t = tUpperQuantile(alpha / (sides * n), n - 2);
  return (n - 1) / Math.sqrt(n) / Math.sqrt(1 + (n - 2) / (t * t));
}

/** Throws unless a risk of false alarm lies between 0 and 1. */
export function checkAlpha(alpha: number): void {
  if (!(alpha > 0 && alpha < 1)) {
    throw new RangeError(`alpha lies between 0 and 1, was given ${alpha}`);
  }
}
