// One home for small linear systems. They are solved in place, over plain numbers, because resamplings
// solve them by the thousand: against ml-matrix a positive definite system of 4 unknowns takes 1.3
// against 20 µs (10 unknowns 1 against 48, 60 unknowns 83 against 330), one that need not be symmetric
// 0.6 against 10 µs, an inverse 8 against 41 µs. Studies, which solve one or two, use ml-matrix.
//
// Elsewhere stand only fits whose factor is more than a solver: swept_matrix.ts keeps one fit while
// columns come and go, nested_shares.ts and nested_regression.ts factor products as they form them, and
// weighted_regression.ts leaves out what is empty of a large design.

/**
 * Solves a positive definite system in place, by Cholesky's factor of its lower triangle.
 *
 * @param least what a pivot must exceed
 * @returns false when the matrix is not safely positive definite
 */
export function solvePositive(
  matrix: Float64Array,
  right: Float64Array,
  size: number,
  least = 1e-12,
): boolean {
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let value = matrix[i * size + j];
      for (let k = 0; k < j; k++) value -= matrix[i * size + k] * matrix[j * size + k];
      if (i === j) {
        if (!(value > least)) return false;
        matrix[i * size + i] = Math.sqrt(value);
      } else matrix[i * size + j] = value / matrix[j * size + j];
    }
  }
  for (let i = 0; i < size; i++) {
    let value = right[i];
    for (let k = 0; k < i; k++) value -= matrix[i * size + k] * right[k];
    right[i] = value / matrix[i * size + i];
  }
  solveBack(matrix, right);
  return true;
}

/** Solves L′x = z in place. */
export function solveBack(factor: Float64Array, z: Float64Array): void {
  const k = z.length;
  for (let i = k - 1; i >= 0; i--) {
    let value = z[i];
    for (let t = i + 1; t < k; t++) value -= factor[t * k + i] * z[t];
    z[i] = value / factor[i * k + i];
  }
}

/** Inverts a positive definite matrix given by its lower triangle, which is overwritten. */
export function invertPositive(
  matrix: Float64Array,
  size: number,
  into: Float64Array,
  at: number,
): number {
  let logDeterminant = 0;
  for (let i = 0; i < size; i++) {
    // Four rows have their numbers left of the first one's diagonal worked out at once.
    if (i % 4 === 0 && i + 3 < size) factorFourRows(matrix, i, size);
    for (let j = i + 3 - i % 4 < size ? i - i % 4 : 0; j < i; j++) {
      let value = matrix[i * size + j];
      for (let k = 0; k < j; k++) value -= matrix[i * size + k] * matrix[j * size + k];
      matrix[i * size + j] = value * matrix[j * size + j];
    }
    let value = matrix[i * size + i];
    const whole = value;
    for (let k = 0; k < i; k++) value -= matrix[i * size + k] ** 2;
    if (!(value > 1e-14 * whole)) return NaN;
    logDeterminant += Math.log(value);
    matrix[i * size + i] = 1 / Math.sqrt(value); // the diagonal holds reciprocals
  }
  // Inverse of the factor, in place, then its cross product; row by row, as the numbers lie in memory.
  for (let i = 1; i < size; i++) {
    const row = i * size;
    let k = 0;
    for (; k + 3 < i; k += 4) subtractFourMultiples(matrix, row, k, size);
    for (; k < i; k++) {
      const value = matrix[row + k];
      // Column k has had all it gets from earlier rows, so its own number can go.
      matrix[row + k] = 0;
      subtractMultiple(matrix, row, k * size, k + 1, value);
    }
    const scale = matrix[row + i];
    for (let j = 0; j < i; j++) matrix[row + j] *= scale;
  }
  for (let i = 0; i < size; i++) into.fill(0, at + i * size, at + i * size + i + 1);
  let k = 0;
  for (; k + 3 < size; k += 4) addSquaresOfFourRows(matrix, k, into, at, size);
  for (; k < size; k++) addSquareOfRow(matrix, k * size, k, into, at, size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < i; j++) into[at + j * size + i] = into[at + i * size + j];
  }
  return logDeterminant;
}

// Four at a time, in the order of one after the other, so that not a bit of the sums differs: a sum
// waits for its last addition, and numbers that are read once serve four sums.

/** Numbers of four rows of the factor, up to the first one's diagonal. */
function factorFourRows(matrix: Float64Array, first: number, size: number): void {
  const r0 = first * size, r1 = r0 + size, r2 = r1 + size, r3 = r2 + size;
  for (let j = 0; j < first; j++) {
    const other = j * size;
    let s0 = matrix[r0 + j], s1 = matrix[r1 + j], s2 = matrix[r2 + j], s3 = matrix[r3 + j];
    for (let k = 0; k < j; k++) {
      const value = matrix[other + k];
      s0 -= matrix[r0 + k] * value;
      s1 -= matrix[r1 + k] * value;
      s2 -= matrix[r2 + k] * value;
      s3 -= matrix[r3 + k] * value;
    }
    const scale = matrix[other + j];
    matrix[r0 + j] = s0 * scale;
    matrix[r1 + j] = s1 * scale;
    matrix[r2 + j] = s2 * scale;
    matrix[r3 + j] = s3 * scale;
  }
}

/** Takes multiples of rows k to k + 3 off a row that holds by how much, and puts 0 in their place. */
function subtractFourMultiples(matrix: Float64Array, row: number, k: number, size: number): void {
  const v0 = matrix[row + k], v1 = matrix[row + k + 1];
  const v2 = matrix[row + k + 2], v3 = matrix[row + k + 3];
  const r0 = k * size, r1 = r0 + size, r2 = r1 + size, r3 = r2 + size;
  for (let j = 0; j < k; j++) {
    matrix[row + j] = matrix[row + j] - v0 * matrix[r0 + j] - v1 * matrix[r1 + j] -
      v2 * matrix[r2 + j] - v3 * matrix[r3 + j];
  }
  matrix[row + k] = 0 - v0 * matrix[r0 + k] - v1 * matrix[r1 + k] - v2 * matrix[r2 + k] -
    v3 * matrix[r3 + k];
  matrix[row + k + 1] = 0 - v1 * matrix[r1 + k + 1] - v2 * matrix[r2 + k + 1] -
    v3 * matrix[r3 + k + 1];
  matrix[row + k + 2] = 0 - v2 * matrix[r2 + k + 2] - v3 * matrix[r3 + k + 2];
  matrix[row + k + 3] = 0 - v3 * matrix[r3 + k + 3];
}

/** Adds the products of rows k to k + 3 of a lower triangle to another one. */
function addSquaresOfFourRows(
  matrix: Float64Array,
  k: number,
  into: Float64Array,
  at: number,
  size: number,
): void {
  const r0 = k * size, r1 = r0 + size, r2 = r1 + size, r3 = r2 + size;
  for (let i = 0; i <= k; i++) {
    const v0 = matrix[r0 + i], v1 = matrix[r1 + i], v2 = matrix[r2 + i], v3 = matrix[r3 + i];
    const row = at + i * size;
    for (let j = 0; j <= i; j++) {
      into[row + j] = into[row + j] + v0 * matrix[r0 + j] + v1 * matrix[r1 + j] +
        v2 * matrix[r2 + j] + v3 * matrix[r3 + j];
    }
  }
  for (let last = k + 1; last <= k + 3; last++) {
    for (let i = k + 1; i <= last; i++) {
      const value = matrix[last * size + i];
      for (let j = 0; j <= i; j++) into[at + i * size + j] += value * matrix[last * size + j];
    }
  }
}

/** Takes a multiple of one stretch of numbers from another. */
export function subtractMultiple(
  matrix: Float64Array,
  to: number,
  from: number,
  length: number,
  factor: number,
  source = matrix,
): void {
  for (let j = 0; j < length; j++) matrix[to + j] -= factor * source[from + j];
}

/** Adds the products of a row's first `last` + 1 numbers to a lower triangle. */
function addSquareOfRow(
  matrix: Float64Array,
  from: number,
  last: number,
  into: Float64Array,
  at: number,
  size: number,
): void {
  for (let i = 0; i <= last; i++) {
    const value = matrix[from + i];
    const row = at + i * size;
    for (let j = 0; j <= i; j++) into[row + j] += value * matrix[from + j];
  }
}

/** The inverse of a positive definite matrix, or null when it is not one. */
export function invertSymmetric(matrix: Float64Array, size: number): Float64Array | null {
  const scale = Float64Array.from({ length: size }, (_, i) => 1 / Math.sqrt(matrix[i * size + i]));
  const factor = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let value = matrix[i * size + j] * scale[i] * scale[j];
      for (let k = 0; k < j; k++) value -= factor[i * size + k] * factor[j * size + k];
      if (i === j) {
        if (!(value > 1e-13)) return null;
        factor[i * size + i] = Math.sqrt(value);
      } else factor[i * size + j] = value / factor[j * size + j];
    }
  }
  const out = new Float64Array(size * size);
  for (let column = 0; column < size; column++) {
    const x = new Float64Array(size);
    for (let i = 0; i < size; i++) {
      let value = i === column ? 1 : 0;
      for (let k = 0; k < i; k++) value -= factor[i * size + k] * x[k];
      x[i] = value / factor[i * size + i];
    }
    for (let i = size - 1; i >= 0; i--) {
      let value = x[i];
      for (let k = i + 1; k < size; k++) value -= factor[k * size + i] * x[k];
      x[i] = value / factor[i * size + i];
    }
    for (let i = 0; i < size; i++) out[i * size + column] = x[i] * scale[i] * scale[column];
  }
  return out;
}

/** Cholesky's factor of a positive definite matrix, row by row; null when it is not safely one. */
export function factorRows(matrix: readonly (readonly number[])[]): number[][] | null {
  const d = matrix.length;
  const factor = matrix.map(() => new Array<number>(d).fill(0));
  for (let i = 0; i < d; i++) {
    for (let j = 0; j <= i; j++) {
      let rest = matrix[i][j];
      for (let k = 0; k < j; k++) rest -= factor[i][k] * factor[j][k];
      if (i !== j) factor[i][j] = rest / factor[j][j];
      else if (rest > 1e-10 * Math.abs(matrix[i][i]) && rest > 0) factor[i][i] = Math.sqrt(rest);
      else return null;
    }
  }
  return factor;
}

/** What times the factored matrix gives `right`? */
export function solveFactored(
  factor: readonly (readonly number[])[],
  right: ArrayLike<number>,
): number[] {
  const d = factor.length;
  const x = Array.from(right);
  for (let i = 0; i < d; i++) {
    for (let k = 0; k < i; k++) x[i] -= factor[i][k] * x[k];
    x[i] /= factor[i][i];
  }
  for (let i = d - 1; i >= 0; i--) {
    for (let k = i + 1; k < d; k++) x[i] -= factor[k][i] * x[k];
    x[i] /= factor[i][i];
  }
  return x;
}

/** The inverse of a positive definite matrix, row by row; null when it is not safely one. */
export function invertRows(matrix: readonly (readonly number[])[]): number[][] | null {
  const factor = factorRows(matrix);
  return factor &&
    matrix.map((_, j) => solveFactored(factor, matrix.map((_, k) => k === j ? 1 : 0)));
}

/**
 * Cholesky's factor of a covariance that may be singular.
 *
 * @throws {RangeError} if no estimates can have this covariance
 */
export function singularFactor(covariance: readonly (readonly number[])[]): number[][] {
  const p = covariance.length;
  const largest = Math.max(0, ...covariance.map((row, i) => row[i]));
  const factor = covariance.map(() => new Array<number>(p).fill(0));
  for (let i = 0; i < p; i++) {
    for (let j = 0; j <= i; j++) {
      const value = covariance[i][j];
      if (!Number.isFinite(value) || Math.abs(value - covariance[j][i]) > 1e-9 * largest) {
        throw new RangeError(
          `A covariance is finite and symmetric; entry ${i + 1},${j + 1} is not`,
        );
      }
      let rest = value;
      for (let k = 0; k < j; k++) rest -= factor[i][k] * factor[j][k];
      if (i === j) {
        if (rest < -1e-9 * largest) {
          throw new RangeError(
            "No estimates have this covariance: it is not positive semidefinite",
          );
        }
        factor[i][i] = Math.sqrt(Math.max(0, rest));
      } else factor[i][j] = factor[j][j] > 1e-8 * Math.sqrt(largest) ? rest / factor[j][j] : 0;
    }
  }
  return factor;
}

/** Columns whose products give a correlation matrix of any rank: pivoted Cholesky. */
export function pivotedFactor(correlation: readonly (readonly number[])[]): number[][] {
  const size = correlation.length;
  const left = correlation.map((row, i) => row[i]);
  const factor: number[][] = correlation.map(() => []);
  for (let column = 0; column < size; column++) {
    const pivot = left.indexOf(Math.max(...left));
    if (left[pivot] < 1e-9) break;
    const root = Math.sqrt(left[pivot]);
    const pivotRow = [...factor[pivot]];
    for (let i = 0; i < size; i++) {
      const known = pivotRow.reduce((sum, part, k) => sum + part * factor[i][k], 0);
      const part = i === pivot ? root : (correlation[i][pivot] - known) / root;
      factor[i].push(part);
      left[i] -= part ** 2;
    }
    left[pivot] = 0;
  }
  return factor;
}

/**
 * Solves a system that need not be symmetric by elimination, larger pivots first.
 *
 * @param rows of the matrix, each with its right-hand side last; overwritten
 * @returns null where a pivot is too small beside entries of about 1
 */
export function solvePivoted(rows: number[][]): number[] | null {
  const size = rows.length;
  for (let c = 0; c < size; c++) {
    let pivot = c;
    for (let r = c + 1; r < size; r++) {
      if (Math.abs(rows[r][c]) > Math.abs(rows[pivot][c])) pivot = r;
    }
    if (Math.abs(rows[pivot][c]) < 1e-13) return null;
    [rows[c], rows[pivot]] = [rows[pivot], rows[c]];
    for (let r = c + 1; r < size; r++) {
      const factor = rows[r][c] / rows[c][c];
      if (factor !== 0) { for (let m = c; m <= size; m++) rows[r][m] -= factor * rows[c][m]; }
    }
  }
  const solution = new Array<number>(size);
  for (let c = size - 1; c >= 0; c--) {
    let value = rows[c][size];
    for (let m = c + 1; m < size; m++) value -= rows[c][m] * solution[m];
    solution[c] = value / rows[c][c];
  }
  return solution;
}
