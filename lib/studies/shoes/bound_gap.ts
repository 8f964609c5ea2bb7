import type { BoundedShoe } from "./bounded_readings.ts";

/** Between which values a shoe reads: its value twice, or one end open where only a bound is known. */
export type Reach = { readonly low: number | null; readonly high: number | null };

/** Where does a shoe read of which only a bound is known? */
export function reachOfBound(bound: BoundedShoe["bound"]): Reach {
  return "below" in bound ? { low: null, high: bound.below } : { low: bound.above, high: null };
}

/** By how much at least do two shoes lie apart, and which reads higher? null where they may read the same. */
export function boundGap(
  a: Reach,
  b: Reach,
): { readonly gap: number; readonly higher: "a" | "b" } | null {
  if (a.low !== null && b.high !== null && a.low > b.high) {
    return { gap: a.low - b.high, higher: "a" };
  }
  if (b.low !== null && a.high !== null && b.low > a.high) {
    return { gap: b.low - a.high, higher: "b" };
  }
  return null;
}
