import { addProducts, carry, multiply, turnScaled } from "./dense_products.ts";
import { invertPositive, subtractMultiple } from "./linear_solve.ts";
import type { RemlWork } from "./reml_work.ts";

/**
 * Ratio of a crossed term's variance times the weight of its levels, below which differences from Δ lose
 * digits: at this bound they keep about eleven.
 */
const LEAST_SCALED = 1e-4;

/** Every term's variance over the residual's; all else here is worked out from these. */
export function setRatios(work: RemlWork, variances: Float64Array): void {
  const { terms, position, ratio } = work;
  const residualVariance = variances[terms];
  for (let t = 0; t < terms; t++) ratio[t] = variances[position[t]] / residualVariance;
}

/**
 * Works out everything that depends on the variance ratios alone: inverses, the matrix C and, for
 * "information", the traces.
 *
 * @returns the log determinant of the restricted likelihood; null when the fixed part is singular
 */
export function prepare(
  work: RemlWork,
  wanted: "likelihood" | "information",
): number | null {
  const {
    blocks,
    inBlock,
    firstOf,
    times,
    inverseAt,
    sharedAt,
    inverses,
    shared,
    A,
    R,
    E,
    trace,
    traces,
  } = work;
  const {
    blockStart,
    columns,
    blockColumnStart,
    blockColumn,
    cellColumnStart,
    cellColumn,
    cellColumnValue,
    isWithin,
  } = work.design;
  let logDeterminant = 0;
  A.fill(0);
  if (wanted === "information") {
    trace.fill(0);
    traces.fill(0);
    for (const matrix of R) matrix.fill(0);
    for (const matrix of E) matrix.fill(0);
  }
  for (let b = 0; b < blocks; b++) {
    if (firstOf[b] < b) continue;
    const from = blockStart[b];
    const size = blockStart[b + 1] - from;
    const at = inverseAt[b];
    logDeterminant += times[b] * invertBlock(work, from, size, at);
    if (isWithin) logDeterminant += times[b] * takeOutLevel(inverses, size, at);
    const columnFrom = blockColumnStart[b];
    const width = blockColumnStart[b + 1] - columnFrom;
    const sharedFrom = sharedAt[b];
    shared.fill(0, sharedFrom, sharedFrom + size * width);
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        const value = inverses[at + i * size + j];
        for (let k = cellColumnStart[from + j]; k < cellColumnStart[from + j + 1]; k++) {
          shared[sharedFrom + i * width + cellColumn[k]] += value * cellColumnValue[k];
        }
      }
      for (let k = cellColumnStart[from + i]; k < cellColumnStart[from + i + 1]; k++) {
        const target = blockColumn[columnFrom + cellColumn[k]] * columns;
        const weight = times[b] * cellColumnValue[k];
        for (let c = 0; c < width; c++) {
          A[target + blockColumn[columnFrom + c]] += weight * shared[sharedFrom + i * width + c];
        }
      }
    }
    if (wanted === "information" && inBlock > 0) gatherBlock(work, b, from, size, at, width);
  }
  const crossed = invertCrossed(work);
  const fixed = invertFixed(work);
  if (fixed === null) return null;
  combineColumns(work);
  if (wanted === "information") {
    gatherNestedTraces(work, complementColumns(work));
    gatherCrossedTraces(work);
  }
  return logDeterminant + crossed + fixed;
}

/** Inverse of a block's covariance over the residual variance, into `inverses`; ln determinant. */
function invertBlock(work: RemlWork, from: number, size: number, at: number): number {
  const { inBlock, inverses, scratch, ratio } = work;
  const { count, row } = work.design;
  if (size === 1) {
    let value = 1 / count[from];
    for (let t = 0; t < inBlock; t++) value += ratio[t];
    inverses[at] = 1 / value;
    return Math.log(value);
  }
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let value = i === j ? 1 / count[from + i] : 0;
      for (let t = 0; t < inBlock; t++) {
        if (row[(from + i) * inBlock + t] === row[(from + j) * inBlock + t]) value += ratio[t];
      }
      scratch[i * size + j] = value;
    }
  }
  return invertPositive(scratch, size, inverses, at);
}

/**
 * Takes a fixed level of the block's own out of its inverse, B⁻¹ − B⁻¹1 (1'B⁻¹1)⁻¹ 1'B⁻¹, which is the
 * inverse with a term of boundless variance that the block shares; ln of what that adds to the determinant.
 */
function takeOutLevel(inverses: Float64Array, size: number, at: number): number {
  const sums = new Float64Array(size);
  let total = 0;
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) sums[i] += inverses[at + i * size + j];
    total += sums[i];
  }
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) inverses[at + i * size + j] -= sums[i] * sums[j] / total;
  }
  return Math.log(total);
}

/** Sums over a nested term's levels, for the traces. */
function gatherBlock(
  work: RemlWork,
  b: number,
  from: number,
  size: number,
  at: number,
  width: number,
): void {
  const {
    inBlock,
    terms,
    times,
    sharedAt,
    inverses,
    shared,
    between,
    toColumns,
    product,
    local,
    R,
    E,
    trace,
    traces,
  } = work;
  const { row, rowsOf, rowStart, blockColumnStart } = work.design;
  const rows = rowsOf[b];
  const sharedFrom = sharedAt[b];
  const columnFrom = blockColumnStart[b];
  between.fill(0, 0, rows * rows);
  toColumns.fill(0, 0, rows * width);
  for (let i = 0; i < size; i++) {
    for (let t = 0; t < inBlock; t++) {
      const r = row[(from + i) * inBlock + t];
      for (let j = 0; j < size; j++) {
        const value = inverses[at + i * size + j];
        for (let s = 0; s < inBlock; s++) {
          between[r * rows + row[(from + j) * inBlock + s]] += value;
        }
      }
      for (let c = 0; c < width; c++) {
        toColumns[r * width + c] += shared[sharedFrom + i * width + c];
      }
    }
  }
  const weight = times[b];
  let pair = 0;
  for (let t = 0; t < inBlock; t++) {
    const tFrom = rowStart[b * (inBlock + 1) + t];
    const tTo = rowStart[b * (inBlock + 1) + t + 1];
    let diagonal = 0;
    for (let r = tFrom; r < tTo; r++) diagonal += between[r * rows + r];
    trace[t] += weight * diagonal;
    addProducts(toColumns, toColumns, true, tFrom, tTo, width, local);
    scatter(work, R[t], columnFrom, width, weight);
    for (let s = 0; s <= t; s++, pair++) {
      const sFrom = rowStart[b * (inBlock + 1) + s];
      const sTo = rowStart[b * (inBlock + 1) + s + 1];
      // Only the symmetric part of E is asked for, so the term with fewer rows may stand outside.
      const swap = sTo - sFrom < tTo - tFrom;
      const [from, to] = swap ? [sFrom, sTo] : [tFrom, tTo];
      const [innerFrom, innerTo] = swap ? [tFrom, tTo] : [sFrom, sTo];
      traces[t * terms + s] += weight *
        carry(between, rows, from, to, innerFrom, innerTo, toColumns, product, width);
      addProducts(toColumns, product, s === t, from, to, width, local);
      scatter(work, E[pair], columnFrom, width, weight);
    }
  }
}

/** Adds a block's lower triangle to both triangles of a matrix over all columns. */
function scatter(
  work: RemlWork,
  into: Float64Array,
  columnFrom: number,
  width: number,
  weight: number,
): void {
  const { local } = work;
  const { columns, blockColumn } = work.design;
  for (let c = 0; c < width; c++) {
    const row = blockColumn[columnFrom + c];
    for (let d = 0; d < c; d++) {
      const column = blockColumn[columnFrom + d];
      const value = weight * local[c * width + d];
      into[row * columns + column] += value;
      into[column * columns + row] += value;
    }
    into[row * columns + row] += weight * local[c * width + c];
  }
}

/** Inverse of I + the crossed columns' own part of A, scaled by the ratios, into `M`; ln determinant. */
function invertCrossed(work: RemlWork): number {
  const { inBlock, across, levelsAcross: L, A, small, M, rootRatio, ratio } = work;
  const { columns, columnStart } = work.design;
  if (L === 0) return 0;
  for (let t = 0; t < across; t++) {
    rootRatio.fill(Math.sqrt(ratio[inBlock + t]), columnStart[t], columnStart[t + 1]);
  }
  for (let i = 0; i < L; i++) {
    for (let j = 0; j <= i; j++) {
      small[i * L + j] = (i === j ? 1 : 0) + rootRatio[i] * A[i * columns + j] * rootRatio[j];
    }
  }
  const determinant = invertPositive(small, L, M, 0);
  for (let i = 0; i < L; i++) {
    for (let j = 0; j < L; j++) M[i * L + j] *= rootRatio[i] * rootRatio[j];
  }
  return determinant;
}

/** Information of the fixed columns after the crossed terms, inverted; its ln determinant, null if singular. */
function invertFixed(work: RemlWork): number | null {
  const { levelsAcross: L, fixedCount: F, A, M, fixedInverse, reach } = work;
  const { columns, fixedStart } = work.design;
  // A crossed level meets few of the fixed ones, so most of its row of A is 0.
  reach.fill(0);
  for (let j = 0; j < L; j++) {
    for (let f = 0; f < F; f++) {
      const value = A[j * columns + fixedStart + f];
      if (value === 0) continue;
      for (let i = 0; i < L; i++) reach[i * F + f] += M[i * L + j] * value;
    }
  }
  const information = new Float64Array(F * F);
  for (let f = 0; f < F; f++) {
    for (let g = 0; g <= f; g++) {
      information[f * F + g] = A[(fixedStart + f) * columns + fixedStart + g];
    }
    for (let i = 0; i < L; i++) {
      const value = A[i * columns + fixedStart + f];
      if (value !== 0) subtractMultiple(information, f * F, i * F, f + 1, value, reach);
    }
  }
  for (let f = 0; f < F; f++) {
    if (!(information[f * F + f] > 0)) return null;
  }
  const determinant = invertPositive(information, F, fixedInverse, 0);
  return Number.isFinite(determinant) ? determinant : null;
}

/** The matrix C with P = B⁻¹ − U C U', U being B⁻¹ times the shared columns. */
function combineColumns(work: RemlWork): void {
  const { levelsAcross: L, fixedCount: F, C, M, fixedInverse: S, reach, lift } = work;
  const { columns } = work.design;
  for (let i = 0; i < L; i++) {
    for (let j = 0; j < L; j++) C[i * columns + j] = M[i * L + j];
  }
  // E S E' with E = (−M A; I): S itself among fixed columns, `lift` where they meet crossed ones.
  lift.fill(0);
  for (let i = 0; i < L; i++) {
    for (let g = 0; g < F; g++) subtractMultiple(lift, i * F, g * F, F, reach[i * F + g], S);
    for (let j = 0; j <= i; j++) {
      let total = 0;
      for (let f = 0; f < F; f++) total -= lift[i * F + f] * reach[j * F + f];
      C[i * columns + j] += total;
      if (j < i) C[j * columns + i] += total;
    }
    for (let f = 0; f < F; f++) {
      C[i * columns + L + f] = lift[i * F + f];
      C[(L + f) * columns + i] = lift[i * F + f];
    }
  }
  for (let f = 0; f < F; f++) {
    for (let g = 0; g < F; g++) C[(L + f) * columns + L + g] = S[f * F + g];
  }
}

/**
 * I − CA into `J` and A − ACA into `G`, for the traces of crossed terms.
 *
 * C is the inverse of A + Δ, Δ holding 1 / ratio for the crossed columns and 0 for the fixed ones. So
 * I − CA is CΔ, and A − ACA is Δ − ΔCΔ: no product of matrices is needed. Where a ratio is next to 0
 * these would be small differences of large numbers, and the products are worked out.
 *
 * @returns whether it was done by Δ
 */
function complementColumns(work: RemlWork): boolean {
  const { across, square, A, C, CA, J, G, reciprocal } = work;
  const { columns } = work.design;
  if (across === 0) return false;
  if (setReciprocals(work)) {
    for (let i = 0; i < columns; i++) {
      for (let j = 0; j < columns; j++) {
        const value = C[i * columns + j] * reciprocal[j];
        J[i * columns + j] = value;
        G[i * columns + j] = (i === j ? reciprocal[i] : 0) - reciprocal[i] * value;
      }
    }
    return true;
  }
  multiply(C, A, CA, columns);
  for (let i = 0; i < square; i++) J[i] = -CA[i];
  for (let i = 0; i < columns; i++) J[i * columns + i] += 1;
  multiply(A, J, G, columns);
  return false;
}

/** tr(PK) of the nested terms, tr(PKPK) of their pairs, and what the crossed ones need of them. */
function gatherNestedTraces(work: RemlWork, byReciprocals: boolean): void {
  const { inBlock, across, terms, C, J, R, CR, RJ, E, reciprocal, trace, traces } = work;
  const { columns } = work.design;
  let pair = 0;
  for (let t = 0; t < inBlock; t++) {
    multiply(C, R[t], CR[t], columns);
    if (across > 0) {
      if (byReciprocals) turnScaled(CR[t], reciprocal, RJ[t], columns);
      else multiply(R[t], J, RJ[t], columns);
    }
    let direct = 0;
    for (let i = 0; i < columns; i++) direct += CR[t][i * columns + i];
    trace[t] -= direct;
    for (let s = 0; s <= t; s++, pair++) {
      let value = 0;
      const [left, right, inner] = [CR[t], CR[s], E[pair]];
      for (let i = 0; i < columns; i++) {
        for (let j = 0; j < columns; j++) {
          value += left[i * columns + j] * right[j * columns + i] -
            2 * C[i * columns + j] * inner[i * columns + j];
        }
      }
      traces[t * terms + s] += value;
      traces[s * terms + t] = traces[t * terms + s];
    }
  }
}

/** tr(PK) of the crossed terms, and tr(PKPK) of their pairs with all. */
function gatherCrossedTraces(work: RemlWork): void {
  const { inBlock, across, terms, J, G, RJ, trace, traces } = work;
  const { columns, columnStart } = work.design;
  for (let t = 0; t < across; t++) {
    const [tFrom, tTo] = [columnStart[t], columnStart[t + 1]];
    const T = inBlock + t;
    for (let i = tFrom; i < tTo; i++) trace[T] += G[i * columns + i];
    for (let s = 0; s <= t; s++) {
      let value = 0;
      for (let i = tFrom; i < tTo; i++) {
        for (let j = columnStart[s]; j < columnStart[s + 1]; j++) {
          value += G[i * columns + j] ** 2;
        }
      }
      traces[T * terms + inBlock + s] = value;
      traces[(inBlock + s) * terms + T] = value;
    }
    for (let s = 0; s < inBlock; s++) {
      let value = 0;
      const product = RJ[s];
      for (let i = 0; i < columns; i++) {
        for (let c = tFrom; c < tTo; c++) value += J[i * columns + c] * product[i * columns + c];
      }
      traces[T * terms + s] = value;
      traces[s * terms + T] = value;
    }
  }
}

/** 1 / ratio for each crossed column, 0 for the fixed ones; false where a ratio is next to 0. */
function setReciprocals(work: RemlWork): boolean {
  const { inBlock, across, A, reciprocal, ratio, design } = work;
  const { columns } = work.design;
  reciprocal.fill(0);
  for (let t = 0; t < across; t++) {
    const [from, to] = [design.columnStart[t], design.columnStart[t + 1]];
    let diagonal = 0;
    for (let i = from; i < to; i++) diagonal += A[i * columns + i];
    if (!(ratio[inBlock + t] * diagonal > LEAST_SCALED * (to - from))) return false;
    reciprocal.fill(1 / ratio[inBlock + t], from, to);
  }
  return true;
}
