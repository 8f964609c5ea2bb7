import { invertPositive, solvePositive, subtractMultiple } from "./linear_solve.ts";
import type { MixedDesign } from "./mixed_design.ts";

/**
 * Ratio of a crossed term's variance times the weight of its levels, below which differences from Δ lose
 * digits: at this bound they keep about eleven.
 */
const LEAST_SCALED = 1e-4;

/** What restricted maximum likelihood found for one response. */
export type RemlFit = {
  /** Variance of each term of the design, then of the residual. */
  readonly variances: Float64Array;
  /** Minus twice the restricted log-likelihood. */
  readonly deviance: number;
  /** The mean, then the fixed effects, and their standard errors. */
  readonly fixed: Float64Array;
  readonly fixedErrors: Float64Array;
  /** Their covariance, row by row. */
  readonly fixedCovariance: Float64Array;
  /** Slope of the restricted log-likelihood along each variance. */
  readonly score: Float64Array;
  /** Expected and observed information of the variances, row by row. */
  readonly expected: Float64Array;
  readonly observed: Float64Array;
  readonly rounds: number;
  /** "no residual" when the likelihood grows without end as the residual variance goes to 0. */
  readonly ending: "converged" | "not converged" | "no residual" | "not separable";
};

/** A response in the form a design wants: one mean for each cell and one sum of squares in all. */
export type CellResponse = { readonly mean: Float64Array; readonly within: number };

/** Machinery of one design: buffers are kept between responses, results are not shared. */
export type RemlSolver = {
  readonly fit: (
    response: CellResponse,
    start: Float64Array | null,
    tolerance?: number,
  ) => RemlFit;
  /** Expected information at given variances; needs no response. */
  readonly information: (variances: Float64Array) => Float64Array;
  /** One scoring step from given variances: unbiased there, and may be negative. */
  readonly step: (
    response: CellResponse,
    variances: Float64Array,
    inverse: Float64Array,
    fresh: boolean,
  ) => Float64Array;
  /** Covariance of the mean and the fixed effects at given variances, row by row; null if singular. */
  readonly fixedCovariance: (variances: Float64Array) => Float64Array | null;
  /** Conditional means of every level of every term at the last fitted variances and response. */
  readonly effects: (variances: Float64Array, response: CellResponse) => readonly Float64Array[];
};

/**
 * Where is the restricted likelihood of a variance components model highest?
 *
 * Readings are reduced to cell means; each block's covariance is inverted on its own, and the columns
 * that couple blocks (crossed terms, mean, fixed levels) enter by Woodbury's identity in a form that
 * stays valid at a variance of 0. Scores and both information matrices are exact. The first steps are
 * Fisher's, which solve a balanced design at once; later ones are Newton's where the surface allows.
 * A variance whose slope points below 0 is held at 0, and is let go when the slope turns.
 *
 * @see Patterson & Thompson 1971 (restricted likelihood); Harville 1977 (scores and information)
 */
export function remlSolver(design: MixedDesign): RemlSolver {
  const { cells, count, blockStart, nested, crossed, row, rowsOf, rowStart, columns } = design;
  const { blockColumnStart, blockColumn, cellColumnStart, cellColumn, fixedStart } = design;
  const { cellColumnValue } = design;
  const blocks = rowsOf.length;
  const inBlock = nested.length;
  const across = crossed.length;
  const terms = inBlock + across;
  const all = terms + 1;
  const levelsAcross = fixedStart;
  const fixedCount = columns - fixedStart;
  const freedom = design.readings - fixedCount;
  const withinFreedom = design.readings - cells;
  let logCounts = 0;
  for (const n of count) logCounts += Math.log(n);

  // Blocks of one kind have the same inverse and add the same to every sum over blocks: each kind is
  // worked out once, at its first block, and counts for as many blocks as there are of it.
  const { firstOf, times } = kindsOfBlocks(design);
  // Each kind's inverse and its product with the shared columns, one after another.
  const inverseAt = new Int32Array(blocks);
  const sharedAt = new Int32Array(blocks);
  let inverseRoom = 0;
  let sharedRoom = 0;
  let mostRows = 1;
  let mostColumns = 1;
  let mostCells = 1;
  for (let b = 0; b < blocks; b++) {
    const size = blockStart[b + 1] - blockStart[b];
    const width = blockColumnStart[b + 1] - blockColumnStart[b];
    inverseAt[b] = firstOf[b] < b ? inverseAt[firstOf[b]] : inverseRoom;
    sharedAt[b] = firstOf[b] < b ? sharedAt[firstOf[b]] : sharedRoom;
    if (firstOf[b] < b) continue;
    inverseRoom += size * size;
    sharedRoom += size * width;
    mostRows = Math.max(mostRows, rowsOf[b]);
    mostColumns = Math.max(mostColumns, width);
    mostCells = Math.max(mostCells, size);
  }
  const inverses = new Float64Array(inverseRoom);
  const shared = new Float64Array(sharedRoom);
  const scratch = new Float64Array(mostCells * mostCells);
  const between = new Float64Array(mostRows * mostRows);
  const toColumns = new Float64Array(mostRows * mostColumns);
  const product = new Float64Array(mostRows * mostColumns);
  const local = new Float64Array(mostColumns * mostColumns);

  const square = columns * columns;
  const A = new Float64Array(square);
  const C = new Float64Array(square);
  const CA = new Float64Array(square);
  const J = new Float64Array(square);
  const G = new Float64Array(square);
  const R = Array.from({ length: inBlock }, () => new Float64Array(square));
  const CR = Array.from({ length: inBlock }, () => new Float64Array(square));
  const RJ = Array.from({ length: inBlock }, () => new Float64Array(square));
  const pairCount = inBlock * (inBlock + 1) / 2;
  const E = Array.from({ length: pairCount }, () => new Float64Array(square));
  const small = new Float64Array(levelsAcross * levelsAcross);
  const M = new Float64Array(levelsAcross * levelsAcross);
  const fixedInverse = new Float64Array(fixedCount * fixedCount);
  const reach = new Float64Array(levelsAcross * fixedCount);
  const lift = new Float64Array(levelsAcross * fixedCount);
  const rootRatio = new Float64Array(levelsAcross);
  const reciprocal = new Float64Array(columns);

  // By position in the design: nested ones first, then crossed ones.
  const position = [...nested, ...crossed];
  const ratio = new Float64Array(terms);
  const trace = new Float64Array(terms);
  const traces = new Float64Array(terms * terms);

  // What depends on the response.
  const a = new Float64Array(columns);
  const Ca = new Float64Array(columns);
  const combined = new Float64Array(columns);
  const residual = new Float64Array(cells);
  const scaled = new Float64Array(cells);
  const levelSum = Array.from(
    { length: terms },
    (_, t) => new Float64Array(design.levels[position[t]].length),
  );
  const carried = Array.from({ length: terms }, () => new Float64Array(cells));
  const carriedInverse = Array.from({ length: terms }, () => new Float64Array(cells));
  const carriedShared = Array.from({ length: terms }, () => new Float64Array(columns));
  const quad = new Float64Array(terms);
  const quads = new Float64Array(terms * terms);

  let logDeterminant = 0;

  /** Everything that depends on the variance ratios alone. False when the fixed part is singular. */
  function prepare(wanted: "likelihood" | "information"): boolean {
    logDeterminant = 0;
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
      logDeterminant += times[b] * invertBlock(from, size, at);
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
      if (wanted === "information" && inBlock > 0) gatherBlock(b, from, size, at, width);
    }
    if (!combineColumns()) return false;
    if (wanted === "information") gatherTraces();
    return true;
  }

  /** Inverse of a block's covariance over the residual variance, into `inverses`; ln determinant. */
  function invertBlock(from: number, size: number, at: number): number {
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

  /** Sums over a nested term's levels, for the traces. */
  function gatherBlock(b: number, from: number, size: number, at: number, width: number): void {
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
      scatter(R[t], columnFrom, width, weight);
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
        scatter(E[pair], columnFrom, width, weight);
      }
    }
  }

  /** Adds a block's lower triangle to both triangles of a matrix over all columns. */
  function scatter(into: Float64Array, columnFrom: number, width: number, weight: number): void {
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

  /** The matrix C with P = B⁻¹ − U C U', U being B⁻¹ times the shared columns. */
  function combineColumns(): boolean {
    const L = levelsAcross;
    C.fill(0);
    if (L > 0) {
      for (let t = 0; t < across; t++) {
        rootRatio.fill(
          Math.sqrt(ratio[inBlock + t]),
          design.columnStart[t],
          design.columnStart[t + 1],
        );
      }
      for (let i = 0; i < L; i++) {
        for (let j = 0; j <= i; j++) {
          small[i * L + j] = (i === j ? 1 : 0) + rootRatio[i] * A[i * columns + j] * rootRatio[j];
        }
      }
      logDeterminant += invertPositive(small, L, M, 0);
      for (let i = 0; i < L; i++) {
        for (let j = 0; j < L; j++) {
          M[i * L + j] *= rootRatio[i] * rootRatio[j];
          C[i * columns + j] = M[i * L + j];
        }
      }
    }
    // Fixed columns: their information after the crossed terms, and its inverse.
    const F = fixedCount;
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
      if (!(information[f * F + f] > 0)) return false;
    }
    const determinant = invertPositive(information, F, fixedInverse, 0);
    if (!Number.isFinite(determinant)) return false;
    logDeterminant += determinant;
    // E S E' with E = (−M A; I): S itself among fixed columns, `lift` where they meet crossed ones.
    const S = fixedInverse;
    lift.fill(0);
    for (let i = 0; i < L; i++) {
      for (let g = 0; g < F; g++) {
        subtractMultiple(lift, i * F, g * F, F, reach[i * F + g], S);
      }
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
    return true;
  }

  /**
   * tr(PK) and tr(PKPK) for all pairs of terms.
   *
   * C is the inverse of A + Δ, Δ holding 1 / ratio for the crossed columns and 0 for the fixed ones. So
   * I − CA is CΔ, and A − ACA is Δ − ΔCΔ: no product of matrices is needed. Where a ratio is next to 0
   * these would be small differences of large numbers, and the products are worked out.
   */
  function gatherTraces(): void {
    const scaled = across > 0 && setReciprocals();
    if (scaled) {
      for (let i = 0; i < columns; i++) {
        for (let j = 0; j < columns; j++) {
          const value = C[i * columns + j] * reciprocal[j];
          J[i * columns + j] = value;
          G[i * columns + j] = (i === j ? reciprocal[i] : 0) - reciprocal[i] * value;
        }
      }
    } else if (across > 0) {
      multiply(C, A, CA, columns);
      for (let i = 0; i < square; i++) J[i] = -CA[i];
      for (let i = 0; i < columns; i++) J[i * columns + i] += 1;
      multiply(A, J, G, columns);
    }
    let pair = 0;
    for (let t = 0; t < inBlock; t++) {
      multiply(C, R[t], CR[t], columns);
      if (scaled) turnScaled(CR[t], reciprocal, RJ[t], columns);
      else if (across > 0) multiply(R[t], J, RJ[t], columns);
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
    for (let t = 0; t < across; t++) {
      const [tFrom, tTo] = [design.columnStart[t], design.columnStart[t + 1]];
      const T = inBlock + t;
      for (let i = tFrom; i < tTo; i++) trace[T] += G[i * columns + i];
      for (let s = 0; s <= t; s++) {
        let value = 0;
        for (let i = tFrom; i < tTo; i++) {
          for (let j = design.columnStart[s]; j < design.columnStart[s + 1]; j++) {
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
  function setReciprocals(): boolean {
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

  /** y'Py; leaves Py in `residual` and its sums over every term's levels. */
  function project(mean: Float64Array): number {
    a.fill(0);
    for (let b = 0; b < blocks; b++) {
      const from = blockStart[b];
      const size = blockStart[b + 1] - from;
      const columnFrom = blockColumnStart[b];
      rowsTimes(inverses, inverseAt[b], size, size, mean, from, scaled, from);
      for (let i = from; i < from + size; i++) {
        for (let k = cellColumnStart[i]; k < cellColumnStart[i + 1]; k++) {
          a[blockColumn[columnFrom + cellColumn[k]]] += scaled[i] * cellColumnValue[k];
        }
      }
    }
    rowsTimes(C, 0, columns, columns, a, 0, Ca, 0);
    let form = 0;
    for (let b = 0; b < blocks; b++) {
      const from = blockStart[b];
      const size = blockStart[b + 1] - from;
      const columnFrom = blockColumnStart[b];
      const width = blockColumnStart[b + 1] - columnFrom;
      for (let c = 0; c < width; c++) local[c] = Ca[blockColumn[columnFrom + c]];
      for (let i = from; i < from + size; i++) residual[i] = scaled[i];
      takeOffRows(shared, sharedAt[b], size, width, local, residual, from);
      for (let i = from; i < from + size; i++) form += residual[i] * mean[i];
    }
    for (let t = 0; t < terms; t++) {
      const sums = levelSum[t];
      const level = design.levelOf[position[t]];
      sums.fill(0);
      for (let c = 0; c < cells; c++) sums[level[c]] += residual[c];
      let total = 0;
      for (let i = 0; i < sums.length; i++) total += sums[i] * sums[i];
      quad[t] = total;
    }
    return form;
  }

  /** y'PK PK Py for all pairs of terms; after `project`. */
  function projectTwice(): void {
    for (let t = 0; t < terms; t++) {
      const level = design.levelOf[position[t]];
      const sums = levelSum[t];
      const mine = carried[t];
      const target = carriedInverse[t];
      const toShared = carriedShared[t];
      toShared.fill(0);
      for (let c = 0; c < cells; c++) mine[c] = sums[level[c]];
      for (let b = 0; b < blocks; b++) {
        const from = blockStart[b];
        const size = blockStart[b + 1] - from;
        const columnFrom = blockColumnStart[b];
        rowsTimes(inverses, inverseAt[b], size, size, mine, from, target, from);
        for (let i = from; i < from + size; i++) {
          for (let k = cellColumnStart[i]; k < cellColumnStart[i + 1]; k++) {
            toShared[blockColumn[columnFrom + cellColumn[k]]] += target[i] * cellColumnValue[k];
          }
        }
      }
      rowsTimes(C, 0, columns, columns, toShared, 0, combined, 0);
      for (let s = 0; s <= t; s++) {
        let value = 0;
        const other = carried[s];
        for (let c = 0; c < cells; c++) value += other[c] * target[c];
        const otherShared = carriedShared[s];
        for (let i = 0; i < columns; i++) value -= otherShared[i] * combined[i];
        quads[t * terms + s] = value;
        quads[s * terms + t] = value;
      }
    }
  }

  function setRatios(variances: Float64Array): void {
    const residualVariance = variances[terms];
    for (let t = 0; t < terms; t++) ratio[t] = variances[position[t]] / residualVariance;
  }

  // From the ratios' traces and forms to scores and information in variances. The residual's own
  // matrix follows from PHP = P, so that it needs no sums of its own.
  const e = new Float64Array(all * all);
  function expectedInformation(residualVariance: number): Float64Array {
    const out = new Float64Array(all * all);
    const scale = 0.5 / (residualVariance * residualVariance);
    const toResidual = spread(trace, traces, freedom - withinFreedom, withinFreedom);
    for (let t = 0; t < terms; t++) {
      for (let s = 0; s < terms; s++) {
        out[position[t] * all + position[s]] = scale * traces[t * terms + s];
      }
      out[position[t] * all + terms] = scale * toResidual.cross[t];
      out[terms * all + position[t]] = scale * toResidual.cross[t];
    }
    out[terms * all + terms] = scale * toResidual.own;
    return out;
  }

  function spread(
    first: Float64Array,
    second: Float64Array,
    whole: number,
    outside: number,
  ): { cross: Float64Array; own: number; single: number } {
    const cross = new Float64Array(terms);
    let single = whole;
    for (let t = 0; t < terms; t++) {
      single -= ratio[t] * first[t];
      let value = first[t];
      for (let s = 0; s < terms; s++) value -= ratio[s] * second[t * terms + s];
      cross[t] = value;
    }
    let own = single;
    for (let t = 0; t < terms; t++) own -= ratio[t] * cross[t];
    return { cross, own: own + outside, single: single + outside };
  }

  function scoreAt(form: number, within: number, residualVariance: number): Float64Array {
    const score = new Float64Array(all);
    const v = residualVariance;
    for (let t = 0; t < terms; t++) score[position[t]] = 0.5 * (quad[t] / v - trace[t]) / v;
    let formResidual = form;
    let traceResidual = freedom - withinFreedom;
    for (let t = 0; t < terms; t++) {
      formResidual -= ratio[t] * quad[t];
      traceResidual -= ratio[t] * trace[t];
    }
    score[terms] = 0.5 * ((formResidual + within) / v - traceResidual - withinFreedom) / v;
    return score;
  }

  function observedInformation(
    form: number,
    within: number,
    residualVariance: number,
    expected: Float64Array,
  ): Float64Array {
    const v = residualVariance;
    const toResidual = spread(quad, quads, form, within);
    const cube = 1 / (v * v * v);
    for (let t = 0; t < terms; t++) {
      for (let s = 0; s < terms; s++) {
        e[position[t] * all + position[s]] = cube * quads[t * terms + s];
      }
      e[position[t] * all + terms] = cube * toResidual.cross[t];
      e[terms * all + position[t]] = cube * toResidual.cross[t];
    }
    e[terms * all + terms] = cube * toResidual.own;
    const out = new Float64Array(all * all);
    for (let i = 0; i < out.length; i++) out[i] = e[i] - expected[i];
    return out;
  }

  function devianceAt(residualSquares: number): number {
    const v = residualSquares / freedom;
    return freedom * (Math.log(2 * Math.PI * v) + 1) + logDeterminant + logCounts;
  }

  function fit(
    response: CellResponse,
    start: Float64Array | null,
    tolerance = 1e-10,
  ): RemlFit {
    const total = startVariance(design, response, freedom);
    let variances = start === null
      ? new Float64Array(all).fill(total / all)
      : Float64Array.from(start);
    if (!(variances[terms] > 0)) variances[terms] = total / all;
    const floor = 1e-13 * total;
    let ending: RemlFit["ending"] = "not converged";
    let rounds = 0;
    let deviance = Infinity;
    let score = new Float64Array(all);
    let expected = new Float64Array(all * all);
    let observed = new Float64Array(all * all);

    const evaluate = (wanted: "likelihood" | "information"): boolean => {
      setRatios(variances);
      if (!prepare(wanted)) return false;
      const form = project(response.mean);
      const squares = form + response.within;
      // With the ratios as they are, the best common scale is known.
      const scale = squares / freedom / variances[terms];
      for (let t = 0; t < all; t++) variances[t] *= scale;
      deviance = devianceAt(squares);
      if (wanted === "information") {
        const v = variances[terms];
        projectTwice();
        score = scoreAt(form, response.within, v) as Float64Array<ArrayBuffer>;
        expected = expectedInformation(v) as Float64Array<ArrayBuffer>;
        observed = observedInformation(form, response.within, v, expected) as Float64Array<
          ArrayBuffer
        >;
      }
      return true;
    };

    if (!evaluate("information")) ending = "not separable";
    while (ending === "not converged" && rounds < 200) {
      rounds++;
      if (!(variances[terms] > floor)) {
        ending = "no residual";
        break;
      }
      const before = Float64Array.from(variances);
      const devianceBefore = deviance;
      const newton = rounds > 2 || start !== null
        ? boundedStep(observed, score, variances, all)
        : null;
      const step = newton ?? boundedStep(expected, score, variances, all);
      if (step === null) {
        ending = "not separable";
        break;
      }
      let gain = 0;
      let moved = 0;
      let sum = 0;
      for (let t = 0; t < all; t++) sum += before[t];
      for (let t = 0; t < all; t++) {
        gain += score[t] * step[t];
        moved = Math.max(moved, Math.abs(step[t]) / (before[t] + 1e-4 * sum));
      }
      let size = 1;
      let better = false;
      for (let halving = 0; halving < 40; halving++) {
        for (let t = 0; t < terms; t++) variances[t] = Math.max(0, before[t] + size * step[t]);
        variances[terms] = Math.max(before[terms] + size * step[terms], before[terms] * 1e-3);
        if (
          evaluate("information") &&
          deviance <= devianceBefore + 1e-11 * (1 + Math.abs(devianceBefore))
        ) {
          better = true;
          break;
        }
        size /= 3;
      }
      if (!better) {
        variances = before;
        evaluate("information");
        ending = gain < 1e-7 ? "converged" : "not converged";
        break;
      }
      // A gain this small is a step of a hundred-millionth of a standard error. Where one variance
      // dwarfs the residual, rounding of the traces ends the descent before that.
      if (moved < tolerance || gain < 1e-16 || (rounds > 25 && moved < 1e-6)) ending = "converged";
    }
    if (ending === "converged" && !(variances[terms] > floor)) ending = "no residual";
    // A descent without end is one toward a residual of 0, which readings saturated by terms allow.
    if (ending === "not converged" && variances[terms] < 1e-4 * total) ending = "no residual";
    const fixed = new Float64Array(fixedCount);
    const fixedErrors = new Float64Array(fixedCount);
    if (ending !== "not separable") {
      // The generalised least squares estimate is S (X − Zx M A)' B⁻¹ y.
      for (let f = 0; f < fixedCount; f++) {
        let value = 0;
        for (let g = 0; g < fixedCount; g++) {
          let inner = a[fixedStart + g];
          for (let i = 0; i < levelsAcross; i++) inner -= reach[i * fixedCount + g] * a[i];
          value += fixedInverse[f * fixedCount + g] * inner;
        }
        fixed[f] = value;
        fixedErrors[f] = Math.sqrt(variances[terms] * fixedInverse[f * fixedCount + f]);
      }
    }
    return {
      variances,
      deviance,
      fixed,
      fixedErrors,
      fixedCovariance: fixedInverse.map((value) => value * variances[terms]),
      score,
      expected,
      observed,
      rounds,
      ending,
    };
  }

  function information(variances: Float64Array): Float64Array {
    setRatios(variances);
    prepare("information");
    return expectedInformation(variances[terms]);
  }

  function step(
    response: CellResponse,
    variances: Float64Array,
    inverse: Float64Array,
    fresh: boolean,
  ): Float64Array {
    if (fresh) {
      setRatios(variances);
      prepare("information");
    }
    const score = scoreAt(project(response.mean), response.within, variances[terms]);
    const out = Float64Array.from(variances);
    for (let i = 0; i < all; i++) {
      for (let j = 0; j < all; j++) out[i] += inverse[i * all + j] * score[j];
    }
    return out;
  }

  function fixedCovariance(variances: Float64Array): Float64Array | null {
    setRatios(variances);
    return prepare("likelihood") ? fixedInverse.map((value) => value * variances[terms]) : null;
  }

  function effects(variances: Float64Array, response: CellResponse): readonly Float64Array[] {
    setRatios(variances);
    prepare("likelihood");
    project(response.mean);
    const out: Float64Array[] = [];
    for (let t = 0; t < terms; t++) {
      out[position[t]] = levelSum[t].map((value) => value * ratio[t]);
    }
    return out;
  }

  return { fit, information, step, fixedCovariance, effects };
}

/** For each block the first one that looks the same to the likelihood, and for that how many do. */
function kindsOfBlocks(design: MixedDesign): { firstOf: Int32Array; times: Float64Array } {
  const { blockStart, blockColumnStart, blockColumn, cellColumnStart, cellColumn } = design;
  const { cellColumnValue, count, row, nested, rowsOf } = design;
  const blocks = rowsOf.length;
  const firstOf = new Int32Array(blocks);
  const times = new Float64Array(blocks);
  const first = new Map<string, number>();
  for (let b = 0; b < blocks; b++) {
    const [from, to] = [blockStart[b], blockStart[b + 1]];
    const key = [
      count.subarray(from, to),
      row.subarray(from * nested.length, to * nested.length),
      blockColumn.subarray(blockColumnStart[b], blockColumnStart[b + 1]),
      cellColumn.subarray(cellColumnStart[from], cellColumnStart[to]),
      cellColumnValue.subarray(cellColumnStart[from], cellColumnStart[to]),
      // How many columns each cell touches.
      cellColumnStart.subarray(from, to + 1).map((at) => at - cellColumnStart[from]),
    ].join(";");
    const known = first.get(key);
    if (known === undefined) first.set(key, b);
    firstOf[b] = known ?? b;
    times[firstOf[b]]++;
  }
  return { firstOf, times };
}

/** A rough size for the variances: the plain variance of all readings. */
function startVariance(design: MixedDesign, response: CellResponse, freedom: number): number {
  let total = 0;
  let n = 0;
  for (let c = 0; c < design.cells; c++) {
    total += design.count[c] * response.mean[c];
    n += design.count[c];
  }
  const centre = total / n;
  let squares = response.within;
  for (let c = 0; c < design.cells; c++) {
    squares += design.count[c] * (response.mean[c] - centre) ** 2;
  }
  return squares / Math.max(1, freedom);
}

/**
 * The step that the quadratic model likes best among those that leave no variance below 0. Null when
 * the curvature is not that of a maximum.
 */
function boundedStep(
  curvature: Float64Array,
  score: Float64Array,
  variances: Float64Array,
  size: number,
): Float64Array | null {
  const held = new Uint8Array(size);
  for (let t = 0; t < size - 1; t++) if (variances[t] <= 0 && score[t] <= 0) held[t] = 1;
  const step = new Float64Array(size);
  for (let pass = 0; pass <= size; pass++) {
    const free: number[] = [];
    for (let t = 0; t < size; t++) if (!held[t]) free.push(t);
    const m = free.length;
    const matrix = new Float64Array(m * m);
    const right = new Float64Array(m);
    // Scaled to a unit diagonal, so that variances of very different size do not look singular.
    const scale = new Float64Array(m);
    for (let i = 0; i < m; i++) {
      const diagonal = curvature[free[i] * size + free[i]];
      if (!(diagonal > 0)) return null;
      scale[i] = 1 / Math.sqrt(diagonal);
    }
    for (let i = 0; i < m; i++) {
      let value = score[free[i]];
      for (let t = 0; t < size; t++) {
        if (held[t]) value -= curvature[free[i] * size + t] * step[t];
      }
      right[i] = value * scale[i];
      for (let j = 0; j < m; j++) {
        matrix[i * m + j] = curvature[free[i] * size + free[j]] * scale[i] * scale[j];
      }
    }
    if (!solvePositive(matrix, right, m)) return null;
    let crossed = false;
    for (let i = 0; i < m; i++) step[free[i]] = right[i] * scale[i];
    for (const t of free) {
      if (t < size - 1 && variances[t] + step[t] < 0) {
        held[t] = 1;
        step[t] = -variances[t];
        crossed = true;
      }
    }
    if (!crossed) return step;
  }
  return step;
}

/**
 * The symmetric part of left' right over some rows, as a lower triangle. Where the whole sum is
 * symmetric anyway, each row adds its own lower triangle and no more.
 */
function addProducts(
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
function carry(
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
function rowsTimes(
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
function takeOffRows(
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
function turnScaled(
  from: Float64Array,
  scale: Float64Array,
  into: Float64Array,
  size: number,
): void {
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) into[i * size + j] = from[j * size + i] * scale[j];
  }
}

function multiply(left: Float64Array, right: Float64Array, into: Float64Array, size: number): void {
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
