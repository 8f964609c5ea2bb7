/** Shares over all orderings of 12 predictors, 60 shoes, 100 bootstraps. */
import { leastSquares } from "../../lib/statistics/least_squares.ts";
import { relativeImportance } from "../../lib/statistics/relative_importance.ts";
import { inventedPredictors } from "./invented_shoes.ts";
import { benchmark, largestGap } from "./work.ts";

const { X, y } = inventedPredictors(3, 60, 12);
const work = () => relativeImportance(X, y, { resamples: 100, seed: 1 });

/** The same by a regression for each of the 256 subsets of the first eight predictors. */
function plainShares(count: number): number[] {
  const mean = y.reduce((a, b) => a + b, 0) / y.length;
  const total = y.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  const r2 = Array.from({ length: 2 ** count }, (_, subset) => {
    const chosen = Array.from({ length: count }, (_, j) => j).filter((j) => subset >> j & 1);
    if (chosen.length === 0) return 0;
    const rows = X.map((row) => chosen.map((j) => row[j]));
    const { coefficients } = leastSquares(rows, y);
    const left = rows.reduce((sum, row, i) => {
      const fitted = row.reduce(
        (at, value, j) => at + value * coefficients![j + 1],
        coefficients![0],
      );
      return sum + (y[i] - fitted) ** 2;
    }, 0);
    return 1 - left / total;
  });
  const factorial = (n: number): number => n < 2 ? 1 : n * factorial(n - 1);
  return Array.from({ length: count }, (_, j) =>
    r2.reduce((share, value, subset) => {
      if (subset >> j & 1) return share;
      const size = subset.toString(2).replaceAll("0", "").length;
      const weight = factorial(size) * factorial(count - 1 - size) / factorial(count);
      return share + weight * (r2[subset | 1 << j] - value);
    }, 0));
}

await benchmark(import.meta.main, {
  id: "E",
  title: "Shares over all orderings, 12 predictors, 60 shoes, 100 bootstraps",
  goal: { first: 35, warm: 8 },
  run: work,
  agreement: () => ({
    against: "a regression for every subset (of eight predictors)",
    gap: largestGap(
      relativeImportance(X.map((row) => row.slice(0, 8)), y, { resamples: 0 }).shares!,
      plainShares(8),
    ),
    allowed: 1e-12,
  }),
  inR: {
    script: "relative_importance.R",
    inputs: { X, y: [y] },
    numbers: () => work().shares!,
    allowed: 1e-10,
  },
});
