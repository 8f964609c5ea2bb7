/**
 * Non-negative least squares with 12 metrics and 60 shoes: leave-one-shoe-out and 2,000 bootstrap
 * refits, then the same with the leave-one-out nested in each refit.
 */
import { nonNegativeCrossValidation } from "../../lib/statistics/non_negative_cross_validation.ts";
import { nonNegativeLeastSquares } from "../../lib/statistics/non_negative_least_squares.ts";
import { orderStatistics } from "../../lib/statistics/order_statistics.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { inventedPredictors } from "./invented_shoes.ts";
import { benchmark, largestGap } from "./work.ts";

const { X, y } = inventedPredictors(3, 60, 12);
const plain = (resamples = 2000) =>
  nonNegativeCrossValidation(X, y, { resamples, nested: false, seed: 1 });
const nested = (resamples = 2000) =>
  nonNegativeCrossValidation(X, y, { resamples, nested: true, seed: 1 });

/** Each shoe predicted by a fit of the others from scratch. */
function predictedPlainly(rows: readonly number[]): number[] {
  return rows.map((left) => {
    const rest = rows.filter((i) => i !== left);
    const { weights } = nonNegativeLeastSquares(rest.map((i) => X[i]), rest.map((i) => y[i]));
    return X[left].reduce((sum, value, j) => sum + value * weights[j], 0);
  });
}

/** Limits of the out-of-sample R² of the first resamples, each validated from scratch. */
function limitsPlainly(resamples: number): number[] {
  const stream = randomStream(1, 7, y.length);
  const r2 = Float64Array.from({ length: resamples }, () => {
    const rows = [...stream.fillIntegers(new Uint32Array(y.length), y.length)];
    const predicted = predictedPlainly(rows);
    let errors = 0;
    let baseline = 0;
    rows.forEach((left, at) => {
      const rest = rows.filter((i) => i !== left);
      errors += (y[left] - predicted[at]) ** 2;
      baseline += (y[left] - rest.reduce((sum, i) => sum + y[i], 0) / rest.length) ** 2;
    });
    return 1 - errors / baseline;
  });
  const sorted = orderStatistics(r2);
  return [sorted.quantile(0.025), sorted.quantile(0.975)];
}

const all = y.map((_, i) => i);
const inputs = { X, y: [y] };

await benchmark(
  import.meta.main,
  {
    id: "G",
    title: "Non-negative weights, 12 metrics × 60 shoes: leave-one-out, 2,000 refits",
    goal: { first: 45, warm: 12 },
    run: () => plain(),
    agreement: () => ({
      against: "fits of the other shoes from scratch",
      gap: largestGap(plain().predicted, predictedPlainly(all)),
      allowed: 1e-9,
    }),
    inR: {
      script: "non_negative_validation.R",
      inputs,
      numbers: () => plain().predicted,
      allowed: 1e-9,
    },
  },
  {
    id: "G nested",
    title: "The same with the leave-one-out nested in each refit",
    goal: { first: 130, warm: 75 },
    run: () => nested(),
    agreement: () => {
      const { r2_lower, r2_upper } = nested(40);
      return {
        against: "every resample validated from scratch (40 of them)",
        gap: largestGap([r2_lower, r2_upper], limitsPlainly(40)),
        allowed: 1e-8,
      };
    },
    inR: {
      script: "non_negative_validation_nested.R",
      inputs,
      numbers: () => {
        const { r2, r2_lower, r2_upper } = nested();
        return [r2, r2_lower, r2_upper];
      },
      // The ends come from 100 resamples in R; the estimate itself agrees to the last digits.
      allowed: 0.15,
    },
  },
);
