import type { MixedDesign } from "./mixed_design.ts";

/**
 * The sizes of one design and the buffers that its fits share, so that a bootstrap of thousands of fits
 * allocates them once. `reml_ratios.ts` fills what depends on the variance ratios alone,
 * `reml_projection.ts` what depends on the response.
 */
export type RemlWork = ReturnType<typeof remlWork>;

/** Buffers for the fits of one design. */
export function remlWork(design: MixedDesign) {
  const { cells, nested, crossed, columns, fixedStart, levels, readings } = design;
  const [inBlock, across] = [nested.length, crossed.length];
  const terms = inBlock + across;
  const fixedCount = columns - fixedStart;
  const square = columns * columns;
  // By position in the design: nested ones first, then crossed ones.
  const position = [...nested, ...crossed];
  const numbers = (length: number) => new Float64Array(length);
  const each = (count: number, length: number) =>
    Array.from({ length: count }, () => numbers(length));
  return {
    design,
    blocks: design.rowsOf.length,
    inBlock,
    across,
    terms,
    all: terms + 1,
    levelsAcross: fixedStart,
    fixedCount,
    freedom: readings - fixedCount - (design.isWithin ? design.rowsOf.length : 0),
    withinFreedom: readings - cells,
    logCounts: design.count.reduce((total, n) => total + Math.log(n), 0),
    square,
    position,
    ...blockBuffers(design),

    // What depends on the variance ratios alone: matrices over the shared columns, then sums by term.
    A: numbers(square),
    C: numbers(square),
    CA: numbers(square),
    J: numbers(square),
    G: numbers(square),
    R: each(inBlock, square),
    CR: each(inBlock, square),
    RJ: each(inBlock, square),
    E: each(inBlock * (inBlock + 1) / 2, square),
    small: numbers(fixedStart * fixedStart),
    M: numbers(fixedStart * fixedStart),
    fixedInverse: numbers(fixedCount * fixedCount),
    reach: numbers(fixedStart * fixedCount),
    lift: numbers(fixedStart * fixedCount),
    rootRatio: numbers(fixedStart),
    reciprocal: numbers(columns),
    ratio: numbers(terms),
    trace: numbers(terms),
    traces: numbers(terms * terms),

    // What depends on the response.
    a: numbers(columns),
    Ca: numbers(columns),
    combined: numbers(columns),
    residual: numbers(cells),
    scaled: numbers(cells),
    levelSum: position.map((term) => numbers(levels[term].length)),
    carried: each(terms, cells),
    carriedInverse: each(terms, cells),
    carriedShared: each(terms, columns),
    quad: numbers(terms),
    quads: numbers(terms * terms),
  };
}

/**
 * Room for each block's inverse and its product with the shared columns, one after another.
 *
 * Blocks of one kind have the same inverse and add the same to every sum over blocks: each kind is
 * worked out once, at its first block, and counts for as many blocks as there are of it.
 */
function blockBuffers(design: MixedDesign) {
  const { blockStart, rowsOf, blockColumnStart } = design;
  const blocks = rowsOf.length;
  const { firstOf, times } = kindsOfBlocks(design);
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
  return {
    firstOf,
    times,
    inverseAt,
    sharedAt,
    inverses: new Float64Array(inverseRoom),
    shared: new Float64Array(sharedRoom),
    scratch: new Float64Array(mostCells * mostCells),
    between: new Float64Array(mostRows * mostRows),
    toColumns: new Float64Array(mostRows * mostColumns),
    product: new Float64Array(mostRows * mostColumns),
    local: new Float64Array(mostColumns * mostColumns),
  };
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
