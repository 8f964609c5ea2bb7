import { tieGroups } from "./ranks.ts";

// The inner loops of the rank correlation grid. They are small functions over typed arrays on purpose:
// each is compiled on its own, early, and holds its sums in registers.

/**
 * Columns and targets over the same n rows, sorted once.
 *
 * A row of the table holds the columns, then zeros up to a multiple of four, then the targets: `width`
 * places in all. Where values are tied they share a level; levels are numbered through the whole table.
 */
export type RankTable = {
  readonly n: number;
  readonly columnCount: number;
  readonly targetCount: number;
  /** Columns rounded up to a multiple of four; the targets begin here. */
  readonly padded: number;
  readonly width: number;
  /** Per row and place, the level of its value. */
  readonly level: Int32Array;
  /** Per place, its first level and the one after its last. */
  readonly firstLevel: Int32Array;
  readonly endLevel: Int32Array;
  readonly levels: number;
};

export function rankTable(
  columns: readonly ArrayLike<number>[],
  targets: readonly ArrayLike<number>[],
  n: number,
): RankTable {
  const padded = (columns.length + 3) & ~3;
  const width = padded + targets.length;
  const level = new Int32Array(n * width);
  const firstLevel = new Int32Array(width);
  const endLevel = new Int32Array(width);
  let levels = 0;
  for (let place = 0; place < width; place++) {
    const values = place < padded ? columns[place] : targets[place - padded];
    firstLevel[place] = levels;
    if (values === undefined) {
      // Padding: all rows tied, so that every rank is 0.
      for (let row = 0; row < n; row++) level[row * width + place] = levels;
      levels++;
    } else {
      const { order, start } = tieGroups(values);
      for (let k = 0; k < n; k++) {
        if (start[order[k]] === k) levels++;
        level[order[k] * width + place] = levels - 1;
      }
    }
    endLevel[place] = levels;
  }
  return {
    n,
    columnCount: columns.length,
    targetCount: targets.length,
    padded,
    width,
    level,
    firstLevel,
    endLevel,
    levels,
  };
}

/** One resample of a table: the rows drawn, how often each, and the mid-ranks they have among the draws. */
export type Resample = {
  readonly drawn: Int32Array;
  readonly counts: Int32Array;
  /** Doubled centred mid-ranks, `width` places for each drawn row in turn. */
  readonly ranks: Float64Array;
  /** Per place, the sum of squared ranks over all draws; 0 if the column is constant in the resample. */
  readonly squares: Float64Array;
  /** Scratch: counts per row; zeros per level between calls; ranks per level. */
  readonly perRow: Int32Array;
  readonly perLevel: Int32Array;
  readonly rankOfLevel: Float64Array;
};

export function emptyResample({ n, width, levels }: RankTable): Resample {
  return {
    drawn: new Int32Array(n + 1),
    counts: new Int32Array(n + 1),
    ranks: new Float64Array(n * width),
    squares: new Float64Array(width),
    perRow: new Int32Array(n),
    perLevel: new Int32Array(levels),
    rankOfLevel: new Float64Array(levels),
  };
}

/**
 * Sets the drawn rows and their counts from n row numbers.
 *
 * @returns how many different rows were drawn
 */
export function countDraws(draws: Uint16Array, from: number, n: number, into: Resample): number {
  const { perRow, drawn, counts } = into;
  for (let row = 0; row < n; row++) perRow[row] = 0;
  for (let i = 0; i < n; i++) perRow[draws[from + i]]++;
  let m = 0;
  for (let row = 0; row < n; row++) {
    const count = perRow[row];
    drawn[m] = row;
    counts[m] = count;
    m += -count >>> 31; // 1 if the row was drawn: no branch to mispredict
  }
  return m;
}

/**
 * Ranks every column of the table in a resample without sorting anything.
 *
 * With c draws before a group of ties and t in it, the group's doubled centred mid-rank is
 * 2c + t − total: a running sum over the full sample's levels. Sums of squares follow from the sizes of
 * the tied groups, (total³ − Σt³) / 3.
 *
 * @param m how many different rows stand in `drawn`
 * @param total how many draws there are
 */
export function rankResample(table: RankTable, into: Resample, m: number, total: number): void {
  const { width, level, firstLevel, endLevel } = table;
  const { drawn, counts, ranks, squares, perLevel, rankOfLevel } = into;
  countLevels(drawn, counts, m, width, level, perLevel);
  const rankAll = total <= MOST_DRAWS_IN_INTEGERS ? rankLevels : rankManyLevels;
  rankAll(firstLevel, endLevel, width, total, perLevel, rankOfLevel, squares);
  spreadRanks(drawn, m, width, level, rankOfLevel, ranks);
}

/** Draws whose cube fits in a 32-bit whole number, which is several times as fast as a double here. */
const MOST_DRAWS_IN_INTEGERS = 1290;

function countLevels(
  drawn: Int32Array,
  counts: Int32Array,
  m: number,
  width: number,
  level: Int32Array,
  perLevel: Int32Array,
): void {
  for (let i = 0; i < m; i++) {
    const row = drawn[i] * width;
    const count = counts[i];
    for (let place = 0; place < width; place++) perLevel[level[row + place]] += count;
  }
}

function rankLevels(
  firstLevel: Int32Array,
  endLevel: Int32Array,
  width: number,
  total: number,
  perLevel: Int32Array,
  rankOfLevel: Float64Array,
  squares: Float64Array,
): void {
  for (let place = 0; place < width; place++) {
    let before = -total;
    let cubes = 0;
    const end = endLevel[place];
    for (let group = firstLevel[place]; group < end; group++) {
      const count = perLevel[group];
      perLevel[group] = 0;
      rankOfLevel[group] = before + count;
      cubes += Math.imul(Math.imul(count, count), count);
      before += count + count;
    }
    squares[place] = (total * total * total - cubes) / 3;
  }
}

/** The same where cubes outgrow 32 bits. */
function rankManyLevels(
  firstLevel: Int32Array,
  endLevel: Int32Array,
  width: number,
  total: number,
  perLevel: Int32Array,
  rankOfLevel: Float64Array,
  squares: Float64Array,
): void {
  for (let place = 0; place < width; place++) {
    let before = -total;
    let sum = 0;
    for (let group = firstLevel[place]; group < endLevel[place]; group++) {
      const count = perLevel[group];
      const rank = before + count;
      perLevel[group] = 0;
      rankOfLevel[group] = rank;
      sum += count * rank * rank;
      before += count + count;
    }
    squares[place] = sum;
  }
}

function spreadRanks(
  drawn: Int32Array,
  m: number,
  width: number,
  level: Int32Array,
  rankOfLevel: Float64Array,
  ranks: Float64Array,
): void {
  for (let i = 0; i < m; i++) {
    const row = drawn[i] * width;
    const to = i * width;
    for (let place = 0; place < width; place++) {
      ranks[to + place] = rankOfLevel[level[row + place]];
    }
  }
}

/**
 * Two sums of products fit in one double as long as neither passes 2^25: the second target is carried
 * 26 bits higher, and both sums stay exact whole numbers.
 */
const CARRY = 67108864;

/** Rows up to which two targets may travel together: n(n² − 1)/3 < 2^25. */
const MOST_ROWS_PACKED = 465;

/** How many carriers the targets of a table need: one for two of them, or one each. */
export function carrierCount({ n, targetCount }: RankTable): number {
  return n <= MOST_ROWS_PACKED ? (targetCount + 1) >> 1 : targetCount;
}

/** Puts the targets' ranks, times their counts, on carriers: `carriers` places for each drawn row. */
export function loadCarriers(
  { padded, width, targetCount }: RankTable,
  { ranks, counts }: Resample,
  m: number,
  carriers: number,
  into: Float64Array,
): void {
  if (carriers === targetCount) {
    for (let i = 0; i < m; i++) {
      const from = i * width + padded;
      for (let q = 0; q < carriers; q++) into[i * carriers + q] = counts[i] * ranks[from + q];
    }
    return;
  }
  const pairs = targetCount >> 1;
  for (let i = 0; i < m; i++) {
    const from = i * width + padded;
    const to = i * carriers;
    const count = counts[i];
    for (let q = 0; q < pairs; q++) {
      into[to + q] = count * (ranks[from + q + q] + CARRY * ranks[from + q + q + 1]);
    }
    if (pairs < carriers) into[to + pairs] = count * ranks[from + pairs + pairs];
  }
}

/**
 * Takes the sums of products off their carriers.
 *
 * @param sums `carriers` places per column
 * @param into `targetCount` places per column
 */
export function unloadCarriers(
  sums: Float64Array,
  carriers: number,
  columnCount: number,
  targetCount: number,
  into: Float64Array,
): void {
  if (carriers === targetCount) {
    for (let k = 0; k < columnCount * targetCount; k++) into[k] = sums[k];
    return;
  }
  const pairs = targetCount >> 1;
  for (let j = 0; j < columnCount; j++) {
    const from = j * carriers;
    const to = j * targetCount;
    for (let q = 0; q < pairs; q++) {
      const sum = sums[from + q];
      // Adding and taking away 1.5·2^52 rounds to the nearest whole number.
      const high = sum / CARRY + 6755399441055744 - 6755399441055744;
      into[to + q + q] = sum - high * CARRY;
      into[to + q + q + 1] = high;
    }
    if (pairs < carriers) into[to + pairs + pairs] = sums[from + pairs];
  }
}

/**
 * All sums of products between the columns and the carriers.
 *
 * @param ranks `width` places for each of m rows, the columns in the first `padded`
 * @param carried `carriers` places for each row
 * @param into `carriers` places per column
 */
export function sumProducts(
  ranks: Float64Array,
  width: number,
  padded: number,
  carried: Float64Array,
  carriers: number,
  m: number,
  into: Float64Array,
): void {
  for (let j = 0; j < padded; j += 4) {
    let q = 0;
    for (; q + 1 < carriers; q += 2) fourByTwo(ranks, width, j, carried, carriers, q, m, into);
    if (q < carriers) fourByOne(ranks, width, j, carried, carriers, q, m, into);
  }
}

function fourByTwo(
  ranks: Float64Array,
  width: number,
  j: number,
  carried: Float64Array,
  carriers: number,
  q: number,
  m: number,
  into: Float64Array,
): void {
  let a0 = 0, a1 = 0, b0 = 0, b1 = 0, c0 = 0, c1 = 0, d0 = 0, d1 = 0;
  for (let i = 0, x = j, y = q; i < m; i++, x += width, y += carriers) {
    const y0 = carried[y], y1 = carried[y + 1];
    const a = ranks[x], b = ranks[x + 1], c = ranks[x + 2], d = ranks[x + 3];
    a0 += a * y0;
    a1 += a * y1;
    b0 += b * y0;
    b1 += b * y1;
    c0 += c * y0;
    c1 += c * y1;
    d0 += d * y0;
    d1 += d * y1;
  }
  const to = j * carriers + q;
  into[to] = a0;
  into[to + 1] = a1;
  into[to + carriers] = b0;
  into[to + carriers + 1] = b1;
  into[to + 2 * carriers] = c0;
  into[to + 2 * carriers + 1] = c1;
  into[to + 3 * carriers] = d0;
  into[to + 3 * carriers + 1] = d1;
}

function fourByOne(
  ranks: Float64Array,
  width: number,
  j: number,
  carried: Float64Array,
  carriers: number,
  q: number,
  m: number,
  into: Float64Array,
): void {
  let a0 = 0, b0 = 0, c0 = 0, d0 = 0;
  for (let i = 0, x = j, y = q; i < m; i++, x += width, y += carriers) {
    const y0 = carried[y];
    a0 += ranks[x] * y0;
    b0 += ranks[x + 1] * y0;
    c0 += ranks[x + 2] * y0;
    d0 += ranks[x + 3] * y0;
  }
  const to = j * carriers + q;
  into[to] = a0;
  into[to + carriers] = b0;
  into[to + 2 * carriers] = c0;
  into[to + 3 * carriers] = d0;
}
