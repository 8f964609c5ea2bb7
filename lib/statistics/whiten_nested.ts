import type { NestedGroups, NestedShares } from "./nested_shares.ts";

/**
 * What is left of values when likeness within groups is taken out?
 *
 * Mean and strata are taken off, then values are turned so that rows are uncorrelated with equal variance
 * if the shares are right: each small group's mean is drawn in, then each large group's.
 *
 * @returns one value a row; with shares of 0 the value less its mean
 */
export function whitenNested(
  values: readonly number[],
  { outer, inner }: NestedGroups,
  shares: Pick<NestedShares, "outer" | "inner" | "rest" | "fixed">,
  strata: readonly (readonly number[])[] = [],
): number[] {
  const left = values.map((value, row) =>
    value - shares.fixed[0] -
    strata.reduce((sum, column, s) => sum + shares.fixed[s + 1] * column[row], 0)
  );
  const sizes = new Map<number, number>();
  const sums = new Map<number, number>();
  inner.forEach((group, row) => {
    sizes.set(group, (sizes.get(group) ?? 0) + 1);
    sums.set(group, (sums.get(group) ?? 0) + left[row]);
  });
  const root = Math.sqrt(shares.rest);
  const big = (group: number) => Math.sqrt(shares.rest + sizes.get(group)! * shares.inner);
  // D^(−1/2), one small group after the other; `unit` is the same of a column of ones.
  const drawn = left.map((value, row) => {
    const mean = sums.get(inner[row])! / sizes.get(inner[row])!;
    return (value - mean) / root + mean / big(inner[row]);
  });
  const unit = inner.map((group) => 1 / big(group));
  const along = new Map<number, number>();
  const length = new Map<number, number>();
  outer.forEach((group, row) => {
    along.set(group, (along.get(group) ?? 0) + unit[row] * drawn[row]);
    length.set(group, (length.get(group) ?? 0) + unit[row] ** 2);
  });
  return drawn.map((value, row) => {
    const squares = length.get(outer[row])!;
    const shrink = 1 - 1 / Math.sqrt(1 + shares.outer * squares);
    return value - shrink * unit[row] * along.get(outer[row])! / squares;
  });
}
