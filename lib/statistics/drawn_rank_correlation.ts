import type { RegressionDraw } from "./nested_regression.ts";

/**
 * How would a weighted sum of the columns go with y among new rows, draw by draw?
 *
 * The correlation that a draw's coefficients, unexplained variance and covariance of the columns imply,
 * turned into a rank correlation as for normal variables (6/π · arcsin(r/2)). As weights and truth are
 * apart, weights that were fitted to the same rows get no credit for what they took from chance.
 *
 * @returns one a draw; 0 where the sum doesn't vary
 * @see Pearson 1907 for the relation of the two correlations
 */
export function drawnRankCorrelation(
  weights: readonly number[],
  draws: readonly RegressionDraw[],
): Float64Array {
  const p = weights.length;
  return Float64Array.from(draws, ({ coefficients, unexplained, covariance }) => {
    let product = 0;
    let ofSum = 0;
    let ofFit = 0;
    for (let i = 0; i < p; i++) {
      for (let j = 0; j < p; j++) {
        const value = covariance[i * p + j];
        product += weights[i] * value * coefficients[j];
        ofSum += weights[i] * value * weights[j];
        ofFit += coefficients[i] * value * coefficients[j];
      }
    }
    const r = ofSum > 0 ? product / Math.sqrt(ofSum * (ofFit + unexplained)) : 0;
    return 6 / Math.PI * Math.asin(Math.max(-1, Math.min(1, r)) / 2);
  });
}
