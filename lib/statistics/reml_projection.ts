import { rowsTimes, takeOffRows } from "./dense_products.ts";
import type { RemlWork } from "./reml_work.ts";

/** y'Py; leaves Py in `residual` and its sums over every term's levels. */
export function project(work: RemlWork, mean: Float64Array): number {
  const { blocks, terms, sharedAt, shared, local, C, position, a, Ca, residual, scaled } = work;
  const { levelSum, quad } = work;
  const { cells, levelOf, blockStart, columns, blockColumnStart, blockColumn } = work.design;
  spread(work, mean, scaled, a);
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
    const level = levelOf[position[t]];
    sums.fill(0);
    for (let c = 0; c < cells; c++) sums[level[c]] += residual[c];
    let total = 0;
    for (let i = 0; i < sums.length; i++) total += sums[i] * sums[i];
    quad[t] = total;
  }
  return form;
}

/** y'PK PK Py for all pairs of terms; after `project`. */
export function projectTwice(work: RemlWork): void {
  const { terms, C, position, combined, levelSum, carried, carriedInverse, carriedShared } = work;
  const { quads } = work;
  const { cells, levelOf, columns } = work.design;
  for (let t = 0; t < terms; t++) {
    const level = levelOf[position[t]];
    const sums = levelSum[t];
    const mine = carried[t];
    const target = carriedInverse[t];
    const toShared = carriedShared[t];
    for (let c = 0; c < cells; c++) mine[c] = sums[level[c]];
    spread(work, mine, target, toShared);
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

/** B⁻¹ times a number for each cell, into `into`, and the sums of that over the shared columns. */
function spread(
  work: RemlWork,
  numbers: Float64Array,
  into: Float64Array,
  toColumns: Float64Array,
): void {
  const { blocks, inverseAt, inverses } = work;
  const {
    blockStart,
    blockColumnStart,
    blockColumn,
    cellColumnStart,
    cellColumn,
    cellColumnValue,
  } = work.design;
  toColumns.fill(0);
  for (let b = 0; b < blocks; b++) {
    const from = blockStart[b];
    const size = blockStart[b + 1] - from;
    const columnFrom = blockColumnStart[b];
    rowsTimes(inverses, inverseAt[b], size, size, numbers, from, into, from);
    for (let i = from; i < from + size; i++) {
      for (let k = cellColumnStart[i]; k < cellColumnStart[i + 1]; k++) {
        toColumns[blockColumn[columnFrom + cellColumn[k]]] += into[i] * cellColumnValue[k];
      }
    }
  }
}
