import { rowsTimes, takeOffRows } from "./dense_products.ts";
import type { RemlWork } from "./reml_work.ts";

/** y'Py; leaves Py in `residual` and its sums over every term's levels. */
export function project(work: RemlWork, mean: Float64Array): number {
  const {
    blocks,
    terms,
    inverseAt,
    sharedAt,
    inverses,
    shared,
    local,
    C,
    position,
    a,
    Ca,
    residual,
    scaled,
    levelSum,
    quad,
  } = work;
  const {
    cells,
    levelOf,
    blockStart,
    columns,
    blockColumnStart,
    blockColumn,
    cellColumnStart,
    cellColumn,
    cellColumnValue,
  } = work.design;
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
  const {
    blocks,
    terms,
    inverseAt,
    inverses,
    C,
    position,
    combined,
    levelSum,
    carried,
    carriedInverse,
    carriedShared,
    quads,
  } = work;
  const {
    cells,
    levelOf,
    blockStart,
    columns,
    blockColumnStart,
    blockColumn,
    cellColumnStart,
    cellColumn,
    cellColumnValue,
  } = work.design;
  for (let t = 0; t < terms; t++) {
    const level = levelOf[position[t]];
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
