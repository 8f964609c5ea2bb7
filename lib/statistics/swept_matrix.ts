// Least squares by sweeping (Beaton 1964; Goodnight 1979, The American Statistician 33:149).
//
// A symmetric matrix of cross-products of the columns and, last, of y. Sweeping a column in replaces
// its block by minus the inverse, its entries against y by the coefficients, and what is outside by
// residual cross-products. Sweeping it out undoes that. So one matrix holds a fit and all it takes to
// change it: coefficients, gradients of the columns left out, and the effect of dropping a row.

/** Brings column k into the fit (1) or takes it out again (−1), in place. */
export function sweep(matrix: Float64Array, size: number, k: number, way: 1 | -1): void {
  const row = k * size;
  const pivot = matrix[row + k];
  const inverse = 1 / pivot;
  for (let i = 0; i < size; i++) {
    if (i === k) continue;
    const at = i * size;
    const factor = matrix[at + k] * inverse;
    if (factor === 0) continue;
    for (let j = 0; j < size; j++) {
      if (j !== k) matrix[at + j] -= factor * matrix[row + j];
    }
  }
  for (let j = 0; j < size; j++) {
    if (j === k) continue;
    const value = way * matrix[row + j] * inverse;
    matrix[row + j] = value;
    matrix[j * size + k] = value;
  }
  matrix[row + k] = -inverse;
}

/** Products of every two entries of each row, upper triangle: what cross-products are sums of. */
export function rowProducts(rows: Float64Array, size: number): Float64Array {
  const n = rows.length / size;
  const length = size * (size + 1) / 2;
  const products = new Float64Array(n * length);
  for (let row = 0, to = 0; row < n; row++) {
    const from = row * size;
    for (let i = 0; i < size; i++) {
      for (let j = i; j < size; j++) products[to++] = rows[from + i] * rows[from + j];
    }
  }
  return products;
}

/**
 * Cross-products of rows, each taken as often as its count.
 *
 * @param products from rowProducts()
 * @param drawn, counts the rows with a count above 0, and the counts; m of them
 */
export function crossProducts(
  products: Float64Array,
  size: number,
  drawn: Int32Array,
  counts: ArrayLike<number>,
  m: number,
  into: Float64Array,
): void {
  const length = size * (size + 1) / 2;
  // The first `length` places of the matrix hold the triangle until all rows are in.
  for (let k = 0; k < length; k++) into[k] = 0;
  for (let d = 0; d < m; d++) addMultiple(products, drawn[d] * length, counts[d], length, into);
  for (let i = size - 1, from = length - 1; i >= 0; i--) {
    for (let j = size - 1; j >= i; j--, from--) into[i * size + j] = into[from];
  }
  for (let i = 1; i < size; i++) {
    for (let j = 0; j < i; j++) into[i * size + j] = into[j * size + i];
  }
}

function addMultiple(
  from: Float64Array,
  start: number,
  factor: number,
  length: number,
  into: Float64Array,
): void {
  for (let k = 0; k < length; k++) into[k] += factor * from[start + k];
}

/**
 * What one row is to the fit in the matrix: how it would move each coefficient, and its residual in
 * each column that is out.
 *
 * @param inFit 1 for each column that is swept in
 * @param into for columns in, (X'X)⁻¹x; for columns out and y, the row's residual
 * @returns the row's leverage
 */
export function rowInfluence(
  matrix: Float64Array,
  size: number,
  inFit: Uint8Array,
  rows: Float64Array,
  from: number,
  into: Float64Array,
): number {
  for (let i = 0; i < size; i++) into[i] = inFit[i] === 1 ? 0 : rows[from + i];
  for (let k = 0; k < size - 1; k++) {
    if (inFit[k] === 0) continue;
    const value = rows[from + k];
    const at = k * size;
    for (let i = 0; i < size; i++) into[i] -= matrix[at + i] * value;
  }
  let leverage = 0;
  for (let k = 0; k < size - 1; k++) if (inFit[k] === 1) leverage += rows[from + k] * into[k];
  return leverage;
}

/** Drops a row from the whole matrix, given its influence and factor count/(1 − count·leverage). */
export function dropRow(
  matrix: Float64Array,
  size: number,
  influence: Float64Array,
  factor: number,
): void {
  for (let i = 0; i < size; i++) {
    const value = factor * influence[i];
    for (let j = 0; j < size; j++) matrix[i * size + j] -= value * influence[j];
  }
}
