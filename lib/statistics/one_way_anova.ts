import { checkReadings } from "./checks.ts";
import { fUpper } from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** Sums of squares between and within groups, with the F test. */
export type OneWayAnova = {
  readonly between: { readonly df: number; readonly ss: number; readonly ms: number } | null;
  readonly within: { readonly df: number; readonly ss: number; readonly ms: number } | null;
  readonly f: number | null;
  readonly p: number | null;
  readonly rSquared: number | null;
  readonly residualSd: number | null;
  readonly reason: Reason | null;
  readonly groups: number;
  readonly n: number;
};

/**
 * Do groups differ by more than their own scatter?
 *
 * Readings are taken from a pivot among themselves, sums are compensated (Neumaier), and both sums of
 * squares come from distances, never from differences of totals. On NIST's one-way data sets this
 * reaches the digits that doubles can hold after the readings were rounded to them.
 *
 * @param groups one list of readings per group; null for a missing one; empty groups are left out
 * @throws {RangeError} if a reading is not finite
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.oneWayAnova([[1, 3], [5, 7]]).f, 8);
 * ```
 */
export function oneWayAnova(groups: readonly (readonly (number | null)[])[]): OneWayAnova {
  checkReadings(groups.flat(), "compare groups");
  const full = groups.map((group) => group.filter((x) => x !== null) as number[])
    .filter((group) => group.length > 0);
  const n = full.reduce((total, group) => total + group.length, 0);
  const nothing = (reason: Reason): OneWayAnova => ({
    between: null,
    within: null,
    f: null,
    p: null,
    rSquared: null,
    residualSd: null,
    reason,
    groups: full.length,
    n,
  });
  if (full.length < 2) {
    return nothing({ code: "too-few", of: "groups", needed: 2, found: full.length });
  }
  if (n === full.length) {
    return nothing({ code: "no-repeats", subjects: full.length });
  }
  const pivot = full[0][0];
  let largest = 0;
  for (const group of full) for (const x of group) largest = Math.max(largest, Math.abs(x));
  const means = full.map((group) => exactSum(group, (x) => x - pivot) / group.length);
  const grand = exactSum(full.keys(), (i) => full[i].length * means[i]) / n;
  const between = exactSum(full.keys(), (i) => full[i].length * (means[i] - grand) ** 2);
  const within = exactSum(
    full.keys(),
    (i) => exactSum(full[i], (x) => (x - pivot - means[i]) ** 2),
  );
  const [df1, df2] = [full.length - 1, n - full.length];
  if (between + within <= n * (4 * Number.EPSILON * largest) ** 2) {
    return nothing({ code: "constant", which: "readings" });
  }
  const about = {
    between: { df: df1, ss: between, ms: between / df1 },
    within: { df: df2, ss: within, ms: within / df2 },
    rSquared: between / (between + within),
    residualSd: Math.sqrt(within / df2),
    groups: full.length,
    n,
  };
  if (within <= n * (4 * Number.EPSILON * largest) ** 2) {
    return {
      ...about,
      f: null,
      p: null,
      reason: { code: "no-noise", of: "groups" },
    };
  }
  const f = about.between.ms / about.within.ms;
  return { ...about, f, p: fUpper(f, df1, df2), reason: null };
}

/** A sum that carries along what rounding cut off (Neumaier 1974). */
function exactSum<T>(items: Iterable<T>, term: (item: T) => number): number {
  let total = 0;
  let cut = 0;
  for (const item of items) {
    const x = term(item);
    const next = total + x;
    cut += Math.abs(total) >= Math.abs(x) ? (total - next) + x : (x - next) + total;
    total = next;
  }
  return total + cut;
}
