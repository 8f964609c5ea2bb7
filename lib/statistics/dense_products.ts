/**
 * The symmetric part of left' right over some rows, as a lower triangle. Where the whole sum is
 * symmetric anyway, each row adds its own lower triangle and no more.
 */
export function addProducts(
  left: Float64Array,
  right: Float64Array,
  isSymmetric: boolean,
  from: number,
  to: number,
  width: number,
  into: Float64Array,
): void {
  into.fill(0, 0, width * width);
  let r = from;
  if (isSymmetric) {
    for (; r + 3 < to; r += 4) {
      for (let c = 0, at = r * width; c < width; c++) {
        const v0 = left[at + c], v1 = left[at + width + c];
        const v2 = left[at + 2 * width + c], v3 = left[at + 3 * width + c];
        for (let d = 0, i = at, row = c * width; d <= c; d++, i++) {
          into[row + d] += v0 * right[i] + v1 * right[i + width] +
            v2 * right[i + 2 * width] + v3 * right[i + 3 * width];
        }
      }
    }
  }
  for (; r < to; r++) {
    for (let c = 0, at = r * width; c < width; c++) {
      const mine = (isSymmetric ? 1 : 0.5) * left[at + c];
      const other = isSymmetric ? 0 : 0.5 * right[at + c];
      for (let d = 0, row = c * width; d <= c; d++) {
        into[row + d] += mine * right[at + d] + other * left[at + d];
      }
    }
  }
}

/** Some rows of `between` times the column sums of other rows, into `product`; their squares summed. */
export function carry(
  between: Float64Array,
  rows: number,
  from: number,
  to: number,
  innerFrom: number,
  innerTo: number,
  toColumns: Float64Array,
  product: Float64Array,
  width: number,
): number {
  let squares = 0;
  for (let r = from; r < to; r++) {
    const at = r * width;
    product.fill(0, at, at + width);
    let q = innerFrom;
    // Four rows at a time: a quarter of the reading and writing of the result.
    for (; q + 3 < innerTo; q += 4) {
      const own = r * rows + q;
      const v0 = between[own], v1 = between[own + 1], v2 = between[own + 2], v3 = between[own + 3];
      squares += v0 * v0 + v1 * v1 + v2 * v2 + v3 * v3;
      const inner = q * width;
      for (let c = 0, i = inner; c < width; c++, i++) {
        product[at + c] += v0 * toColumns[i] + v1 * toColumns[i + width] +
          v2 * toColumns[i + 2 * width] + v3 * toColumns[i + 3 * width];
      }
    }
    for (; q < innerTo; q++) {
      const value = between[r * rows + q];
      squares += value * value;
      const inner = q * width;
      for (let c = 0; c < width; c++) product[at + c] += value * toColumns[inner + c];
    }
  }
  return squares;
}

/**
 * Rows of a matrix times a vector. Four rows at a time: each sum waits for its last addition, so that
 * four take little longer than one, and are added up in the same order.
 */
export function rowsTimes(
  matrix: Float64Array,
  at: number,
  rows: number,
  width: number,
  vector: Float64Array,
  from: number,
  into: Float64Array,
  to: number,
): void {
  let i = 0;
  for (; i + 3 < rows; i += 4) {
    const r0 = at + i * width, r1 = r0 + width, r2 = r1 + width, r3 = r2 + width;
    let s0 = 0, s1 = 0, s2 = 0, s3 = 0;
    for (let j = 0; j < width; j++) {
      const value = vector[from + j];
      s0 += matrix[r0 + j] * value;
      s1 += matrix[r1 + j] * value;
      s2 += matrix[r2 + j] * value;
      s3 += matrix[r3 + j] * value;
    }
    into[to + i] = s0;
    into[to + i + 1] = s1;
    into[to + i + 2] = s2;
    into[to + i + 3] = s3;
  }
  for (; i < rows; i++) {
    const row = at + i * width;
    let sum = 0;
    for (let j = 0; j < width; j++) sum += matrix[row + j] * vector[from + j];
    into[to + i] = sum;
  }
}

/** Takes rows of a matrix times a vector off numbers, term by term; four rows at a time, as above. */
export function takeOffRows(
  matrix: Float64Array,
  at: number,
  rows: number,
  width: number,
  vector: Float64Array,
  into: Float64Array,
  to: number,
): void {
  let i = 0;
  for (; i + 3 < rows; i += 4) {
    const r0 = at + i * width, r1 = r0 + width, r2 = r1 + width, r3 = r2 + width;
    let s0 = into[to + i], s1 = into[to + i + 1], s2 = into[to + i + 2], s3 = into[to + i + 3];
    for (let j = 0; j < width; j++) {
      const value = vector[j];
      s0 -= matrix[r0 + j] * value;
      s1 -= matrix[r1 + j] * value;
      s2 -= matrix[r2 + j] * value;
      s3 -= matrix[r3 + j] * value;
    }
    into[to + i] = s0;
    into[to + i + 1] = s1;
    into[to + i + 2] = s2;
    into[to + i + 3] = s3;
  }
  for (; i < rows; i++) {
    const row = at + i * width;
    let left = into[to + i];
    for (let j = 0; j < width; j++) left -= matrix[row + j] * vector[j];
    into[to + i] = left;
  }
}

/** The transpose of a matrix with each column scaled. */
export function turnScaled(
  from: Float64Array,
  scale: Float64Array,
  into: Float64Array,
  size: number,
): void {
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) into[i * size + j] = from[j * size + i] * scale[j];
  }
}

/** The product of two square matrices. */
export function multiply(
  left: Float64Array,
  right: Float64Array,
  into: Float64Array,
  size: number,
): void {
  into.fill(0);
  if (multiplySparse(left, right, into, size)) return;
  let i = 0;
  // Four rows at a time, as in `carry`, and for two rows of the result at once.
  for (; i + 1 < size; i += 2) {
    const row = i * size;
    const next = row + size;
    let k = 0;
    for (; k + 3 < size; k += 4) {
      const v0 = left[row + k], v1 = left[row + k + 1];
      const v2 = left[row + k + 2], v3 = left[row + k + 3];
      const w0 = left[next + k], w1 = left[next + k + 1];
      const w2 = left[next + k + 2], w3 = left[next + k + 3];
      // Where blocks share few columns most of either matrix may be 0.
      if (
        v0 === 0 && v1 === 0 && v2 === 0 && v3 === 0 && w0 === 0 && w1 === 0 && w2 === 0 && w3 === 0
      ) continue;
      for (let j = 0, at = k * size; j < size; j++, at++) {
        const r0 = right[at], r1 = right[at + size];
        const r2 = right[at + 2 * size], r3 = right[at + 3 * size];
        into[row + j] += v0 * r0 + v1 * r1 + v2 * r2 + v3 * r3;
        into[next + j] += w0 * r0 + w1 * r1 + w2 * r2 + w3 * r3;
      }
    }
    for (; k < size; k++) {
      const [value, other] = [left[row + k], left[next + k]];
      for (let j = 0; j < size; j++) {
        into[row + j] += value * right[k * size + j];
        into[next + j] += other * right[k * size + j];
      }
    }
  }
  for (; i < size; i++) {
    for (let k = 0; k < size; k++) {
      const value = left[i * size + k];
      for (let j = 0; j < size; j++) into[i * size + j] += value * right[k * size + j];
    }
  }
}

/** Above this share of numbers that are not 0 the plain product is quicker. */
const DENSE = 0.2;

/** The product where most of the right matrix is 0, as where blocks share few columns; false, undone, elsewhere. */
function multiplySparse(
  left: Float64Array,
  right: Float64Array,
  into: Float64Array,
  size: number,
): boolean {
  const most = Math.floor(DENSE * size * size);
  const start = new Int32Array(size + 1);
  const column = new Int32Array(most);
  const value = new Float64Array(most);
  let found = 0;
  for (let k = 0; k < size; k++) {
    for (let j = 0; j < size; j++) {
      const entry = right[k * size + j];
      if (entry === 0) continue;
      if (found === most) return false;
      column[found] = j;
      value[found++] = entry;
    }
    start[k + 1] = found;
  }
  for (let i = 0; i < size; i++) {
    const row = i * size;
    for (let k = 0; k < size; k++) {
      const factor = left[row + k];
      for (let at = start[k]; at < start[k + 1]; at++) {
        into[row + column[at]] += factor * value[at];
      }
    }
  }
  return true;
}
