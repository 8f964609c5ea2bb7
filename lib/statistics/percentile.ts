import type { Reason } from "./reason.ts";

/** Where a value stands among the catalogue's. */
export type Standing = {
  /** Share of the other shoes with a lower value, in percent; equal ones count half. */
  readonly percentile: number | null;
  readonly percentile_reason: Reason | null;
  /** Share of the other shoes that it is better than, in percent; null where more is neither good nor bad. */
  readonly better_than: number | null;
  /** Shoes with a value, this one included. */
  readonly catalogue: number;
};

/**
 * Where does a value stand in the catalogue?
 *
 * @param value of one shoe of the catalogue
 * @param catalogue the values of all shoes, this one included
 * @param direction 1 where more is better, -1 where less is, 0 where neither
 */
export function standing(
  value: number,
  catalogue: readonly number[],
  direction: 1 | -1 | 0,
): Standing {
  const others = catalogue.length - 1;
  if (others < 1) {
    return {
      percentile: null,
      percentile_reason: { code: "too-few", of: "others", needed: 1, found: 0 },
      better_than: null,
      catalogue: catalogue.length,
    };
  }
  const below = catalogue.filter((other) => other < value).length;
  const equal = catalogue.filter((other) => other === value).length - 1;
  const percentile = 100 * (below + equal / 2) / others;
  return {
    percentile,
    percentile_reason: null,
    better_than: direction === 0 ? null : direction === 1 ? percentile : 100 - percentile,
    catalogue: catalogue.length,
  };
}

/** 1 where more of a metric is better, -1 where less is, 0 where neither or only a range is. */
export function betterDirection(better: "higher" | "lower" | "target" | "none"): 1 | -1 | 0 {
  return better === "higher" ? 1 : better === "lower" ? -1 : 0;
}
