/** What a linear least-squares step gives. */
export type LeastSquares = {
  readonly coefficients: readonly number[];
  /** Inverse of XᵀX: times the residual variance it is the covariance of the coefficients. */
  readonly inverse: readonly (readonly number[])[];
};

/**
 * Which combination of a few columns comes nearest to y?
 *
 * Gram–Schmidt, each column swept twice, so that nearly parallel columns keep their digits.
 *
 * @param columns one list per coefficient, each as long as y
 * @param y readings
 * @returns the coefficients and (XᵀX)⁻¹; null if a column is a combination of those before it
 */
export function leastSquares(
  columns: readonly (readonly number[])[],
  y: readonly number[],
): LeastSquares | null {
  const size = columns.length;
  const basis: number[][] = [];
  const upper = columns.map(() => new Array<number>(size).fill(0));
  for (const [j, column] of columns.entries()) {
    const left = [...column];
    for (let sweep = 0; sweep < 2; sweep++) {
      for (const [i, direction] of basis.entries()) {
        const along = dot(direction, left);
        upper[i][j] += along;
        for (let row = 0; row < left.length; row++) left[row] -= along * direction[row];
      }
    }
    const length = Math.sqrt(dot(left, left));
    if (!(length > 1e-11 * Math.sqrt(dot(column, column)))) return null;
    upper[j][j] = length;
    basis.push(left.map((entry) => entry / length));
  }
  const solve = (right: readonly number[]) => {
    const answer = [...right];
    for (let i = size - 1; i >= 0; i--) {
      for (let j = i + 1; j < size; j++) answer[i] -= upper[i][j] * answer[j];
      answer[i] /= upper[i][i];
    }
    return answer;
  };
  // Columns of R⁻¹; the inverse of XᵀX is R⁻¹ times its own transpose.
  const back = columns.map((_, j) => solve(columns.map((_, i) => (i === j ? 1 : 0))));
  const inverse = columns.map((_, i) =>
    columns.map((_, j) => back.reduce((total, column) => total + column[i] * column[j], 0))
  );
  return { coefficients: solve(basis.map((direction) => dot(direction, y))), inverse };
}

/** Sum of products of two lists of one length. */
export function dot(a: readonly number[], b: readonly number[]): number {
  let total = 0;
  for (let i = 0; i < a.length; i++) total += a[i] * b[i];
  return total;
}
