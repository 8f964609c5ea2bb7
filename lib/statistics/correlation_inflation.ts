import type { NestedGroups, NestedShares } from "./nested_shares.ts";

/**
 * By how much does likeness within groups widen a correlation?
 *
 * Where rows of a group resemble each other on both sides, correlations of unrelated columns scatter more
 * than over independent rows: their variance is the trace of the product of both covariances, centred,
 * over the product of their traces. It grows only where both sides are alike within the same groups.
 *
 * @param x, y shares of the two columns over these rows
 * @returns the variance of the correlation over that of independent rows: 1 where either has no likeness
 * @see Clifford, Richardson & Hémon 1989, Biometrics 45:123, for the variance under autocorrelation
 */
export function correlationInflation(
  groups: NestedGroups,
  x: Pick<NestedShares, "outer" | "inner">,
  y: Pick<NestedShares, "outer" | "inner">,
): number {
  const n = groups.inner.length;
  if (n < 3) return 1;
  const small = countBy(groups.inner);
  const large = countBy(groups.outer);
  const pairsWithin = (counts: ReadonlyMap<number, number>) =>
    [...counts.values()].reduce((sum, count) => sum + count * (count - 1), 0);
  const close = pairsWithin(small);
  const far = pairsWithin(large) - close;
  const product = n + close * (x.outer + x.inner) * (y.outer + y.inner) + far * x.outer * y.outer;
  const [rowsX, rowsY] = [x, y].map(({ outer, inner }) =>
    groups.inner.map((group, row) => {
      const own = small.get(group)! - 1;
      const around = large.get(groups.outer[row])! - 1 - own;
      return 1 + own * (outer + inner) + around * outer;
    })
  );
  const sum = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
  const [totalX, totalY] = [sum(rowsX), sum(rowsY)];
  const both = sum(rowsX.map((value, row) => value * rowsY[row]));
  const trace = product - 2 * both / n + totalX * totalY / (n * n);
  return trace * (n - 1) / ((n - totalX / n) * (n - totalY / n));
}

function countBy(groups: readonly number[]): Map<number, number> {
  const counts = new Map<number, number>();
  for (const group of groups) counts.set(group, (counts.get(group) ?? 0) + 1);
  return counts;
}

/**
 * Limits of a correlation, drawn further apart where rows tell less than their number.
 *
 * On Fisher's scale each limit's distance from the estimate grows by the root of the inflation, so that
 * what a bootstrap of rows knows of tails, ties and skew is kept.
 *
 * @param inflation as `correlationInflation` gives it
 */
export function widenedLimits(
  { estimate, lower, upper }: {
    readonly estimate: number;
    readonly lower: number;
    readonly upper: number;
  },
  inflation: number,
): { readonly lower: number; readonly upper: number } {
  return {
    lower: widened(estimate, lower, inflation),
    upper: widened(estimate, upper, inflation),
  };
}

/** One value (a limit, a resampled correlation) moved away from the estimate on Fisher's scale. */
export function widened(estimate: number, value: number, inflation: number): number {
  if (inflation === 1 || Math.abs(estimate) >= 1 || Math.abs(value) >= 1) return value;
  const centre = Math.atanh(estimate);
  return Math.tanh(centre + Math.sqrt(inflation) * (Math.atanh(value) - centre));
}
