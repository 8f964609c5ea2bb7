import type { Reason } from "./reason.ts";

/** Where every reading stands among the levels of every term, arranged so that a fit is cheap. */
export type MixedDesign = {
  /** Terms that the design can tell apart, in the order they were asked for. */
  readonly terms: readonly string[];
  /** Terms left out and why. */
  readonly dropped: readonly { readonly term: string; readonly reason: Reason }[];
  /** Names of the levels of each kept term. */
  readonly levels: readonly (readonly string[])[];
  /** Level of each kept term for each cell: `levelOf[term][cell]`. */
  readonly levelOf: readonly Int32Array[];
  /** Readings, and the cell each one lies in. Readings of one cell share every level. */
  readonly readings: number;
  readonly cellOf: Int32Array;
  readonly cells: number;
  /** Readings in each cell. */
  readonly count: Float64Array;
  /** Cells of one block are neighbours; block b spans `blockStart[b]` to `blockStart[b + 1]`. */
  readonly blockStart: Int32Array;
  /** Positions in `terms` of those whose levels each lie inside one block, and of the others. */
  readonly nested: readonly number[];
  readonly crossed: readonly number[];
  /** Row of each nested term for each cell, numbered within the block: `row[cell * nested + t]`. */
  readonly row: Int32Array;
  /** Rows of each block, and the first row that belongs to each nested term of it. */
  readonly rowsOf: Int32Array;
  readonly rowStart: Int32Array;
  /** Columns shared by blocks: levels of crossed terms, the mean, fixed levels, covariates. */
  readonly columns: number;
  readonly fixedStart: number;
  readonly columnStart: readonly number[];
  readonly fixedNames: readonly string[];
  /** Whether each block has a fixed level of its own in place of the mean, see `within`. */
  readonly isWithin: boolean;
  /** Columns that touch each block, and the place among them of each column of each cell. */
  readonly blockColumnStart: Int32Array;
  readonly blockColumn: Int32Array;
  readonly cellColumnStart: Int32Array;
  readonly cellColumn: Int32Array;
  /** What the cell holds in each of its columns: 1 for a level, the number itself for a covariate. */
  readonly cellColumnValue: Float64Array;
};

/** Numbers that readings are fitted along, one list a covariate, each as long as the readings. */
export type Covariates = Readonly<Record<string, readonly number[]>>;

/**
 * How do readings fall into cells and blocks for the terms of a mixed model?
 *
 * Readings that share the level of every term are one cell. Blocks are the levels of one term, picked
 * so that the work is least: terms nested in it stay inside a block, only the others couple blocks.
 *
 * @param factors one list of level names per factor, each as long as the readings
 * @param terms names of factors, or several joined by ":" for their combinations
 * @param fixed terms whose levels are fixed effects beside the mean
 * @param covariates numbers with a fixed slope each; take a large offset away before
 * @param within a term inside whose levels everything is fitted, as if it were among the fixed ones, and
 * without a mean: at the cost of a block a level, where a fixed term costs a column a level
 * @throws {RangeError} if a term names an unknown factor or lengths differ
 */
export function mixedDesign(
  readings: number,
  factors: Readonly<Record<string, readonly string[]>>,
  terms: readonly string[],
  fixed: readonly string[] = [],
  covariates: Covariates = {},
  within: string | null = null,
): MixedDesign {
  for (const [name, column] of Object.entries({ ...factors, ...covariates })) {
    if (column.length !== readings) {
      throw new RangeError(
        `"${name}" has ${column.length} entries, expected ${readings}, one for each value`,
      );
    }
  }
  const repeated = terms.find((term, i) => terms.indexOf(term) !== i);
  if (repeated !== undefined) throw new RangeError(`Term "${repeated}" is given twice`);
  if (terms.includes("residual")) {
    throw new RangeError('"residual" is always there and cannot be the name of a term');
  }
  const coded = terms.map((term) => codeTerm(term, factors, readings));
  const fixedCoded = fixed.map((term) => codeTerm(term, factors, readings));
  const withinCoded = within === null ? null : codeTerm(within, factors, readings);
  const levelled = withinCoded === null ? fixedCoded : [...fixedCoded, withinCoded];

  const dropped: { term: string; reason: Reason }[] = [];
  const kept: number[] = [];
  coded.forEach(({ codes, names }, i) => {
    const reason = whyHidden(codes, names.length, kept.map((k) => coded[k]), readings);
    const twin = reason === "twin"
      ? kept.find((k) => samePartition(codes, coded[k].codes, names.length, coded[k].names.length))
      : undefined;
    const fixedTwin = levelled.findIndex((other) => isCoarser(other.codes, codes));
    if (twin !== undefined) {
      dropped.push({
        term: terms[i],
        reason: { code: "same-levels", other: terms[twin] },
      });
    } else if (fixedTwin >= 0) {
      dropped.push({
        term: terms[i],
        reason: { code: "within-fixed", fixed: fixed[fixedTwin] ?? within! },
      });
    } else if (reason !== null && reason !== "twin") dropped.push({ term: terms[i], reason });
    else kept.push(i);
  });
  return arrange(
    readings,
    kept.map((i) => terms[i]),
    kept.map((i) => coded[i]),
    fixed,
    fixedCoded,
    dropped,
    covariates,
    withinCoded,
  );
}

/** The same design without some of its terms. */
export function withoutTerm(
  design: MixedDesign,
  term: number,
  reason: Reason,
  readings: number,
  factors: Readonly<Record<string, readonly string[]>>,
  fixed: readonly string[],
  covariates: Covariates = {},
  within: string | null = null,
): MixedDesign {
  const terms = design.terms.filter((_, i) => i !== term);
  return arrange(
    readings,
    terms,
    terms.map((name) => codeTerm(name, factors, readings)),
    fixed,
    fixed.map((name) => codeTerm(name, factors, readings)),
    [...design.dropped, { term: design.terms[term], reason }],
    covariates,
    within === null ? null : codeTerm(within, factors, readings),
  );
}

type Coded = { readonly codes: Int32Array; readonly names: readonly string[] };

function codeTerm(
  term: string,
  factors: Readonly<Record<string, readonly string[]>>,
  readings: number,
): Coded {
  const parts = Object.hasOwn(factors, term) ? [term] : term.split(":");
  for (const part of parts) {
    if (!Object.hasOwn(factors, part)) {
      const known = Object.keys(factors).map((name) => `"${name}"`).join(", ");
      throw new RangeError(`Term "${term}" names the factor "${part}", expected one of ${known}`);
    }
  }
  const codes = new Int32Array(readings);
  let names: string[] = [];
  parts.forEach((part, i) => {
    const seen = new Map<string | number, number>();
    const next: string[] = [];
    const column = factors[part];
    const ids = new Map<string, number>();
    for (let r = 0; r < readings; r++) {
      const level = String(column[r]);
      let id = ids.get(level);
      if (id === undefined) ids.set(level, id = ids.size);
      const key = i === 0 ? id : codes[r] * 67108864 + id;
      let code = seen.get(key);
      if (code === undefined) {
        code = next.length;
        seen.set(key, code);
        next.push(i === 0 ? level : `${names[codes[r]]}:${level}`);
      }
      codes[r] = code;
    }
    names = next;
  });
  return { codes, names };
}

/** A covariate's distinct numbers, coded as the levels of a factor are. */
function codeNumbers(column: readonly number[]): Coded {
  const ids = new Map<number, number>();
  const codes = Int32Array.from(column, (value) => {
    let id = ids.get(value);
    if (id === undefined) ids.set(value, id = ids.size);
    return id;
  });
  return { codes, names: [...ids.keys()].map(String) };
}

function whyHidden(
  codes: Int32Array,
  levels: number,
  others: readonly Coded[],
  readings: number,
): Reason | "twin" | null {
  if (levels <= 1) return { code: "one-level" };
  if (levels === readings) {
    return { code: "read-once", levels };
  }
  return others.some((other) => samePartition(codes, other.codes, levels, other.names.length))
    ? "twin"
    : null;
}

function samePartition(a: Int32Array, b: Int32Array, levelsA: number, levelsB: number): boolean {
  return levelsA === levelsB && isCoarser(a, b);
}

/** Does every level of `fine` lie in one level of `coarse`? */
function isCoarser(fine: Int32Array, coarse: Int32Array): boolean {
  const parent = new Map<number, number>();
  for (let i = 0; i < fine.length; i++) {
    const seen = parent.get(fine[i]);
    if (seen === undefined) parent.set(fine[i], coarse[i]);
    else if (seen !== coarse[i]) return false;
  }
  return true;
}

function arrange(
  readings: number,
  terms: readonly string[],
  coded: readonly Coded[],
  fixed: readonly string[],
  fixedCoded: readonly Coded[],
  dropped: MixedDesign["dropped"],
  covariates: Covariates,
  within: Coded | null,
): MixedDesign {
  const numbers = Object.entries(covariates);
  const all = [
    ...coded,
    ...fixedCoded,
    ...numbers.map(([, column]) => codeNumbers(column)),
    ...(within === null ? [] : [within]),
  ];
  const { codes, cells, first } = cellsOf(all, readings);
  const rawLevel = all.map((term) => Int32Array.from(first, (r) => term.codes[r]));
  const { nested, crossed, blockOf, blocks } = cheapestBlocks(
    rawLevel.slice(0, terms.length),
    coded,
    cells,
    within === null ? null : { blockOf: rawLevel[all.length - 1], blocks: within.names.length },
  );

  // Cells in the order of their blocks.
  const order = Int32Array.from({ length: cells }, (_, c) => c)
    .sort((a, b) => blockOf[a] - blockOf[b] || a - b);
  const place = new Int32Array(cells);
  order.forEach((cell, at) => place[cell] = at);
  const inOrder = rawLevel.map((level) => Int32Array.from(order, (cell) => level[cell]));
  const levelOf = inOrder.slice(0, terms.length);
  const cellOf = Int32Array.from(codes, (cell) => place[cell]);
  const count = new Float64Array(cells);
  for (const cell of cellOf) count[cell]++;
  const blockStart = new Int32Array(blocks + 1);
  for (const cell of order) blockStart[blockOf[cell] + 1]++;
  for (let b = 0; b < blocks; b++) blockStart[b + 1] += blockStart[b];

  return {
    terms,
    dropped,
    levels: coded.map((term) => term.names),
    levelOf,
    readings,
    cellOf,
    cells,
    count,
    blockStart,
    nested,
    crossed,
    isWithin: within !== null,
    ...rowsOfBlocks(nested.map((term) => levelOf[term]), blockStart, cells),
    ...columnsOfBlocks({
      crossed: crossed.map((term) => ({ names: coded[term].names, level: levelOf[term] })),
      fixed: fixedCoded.map(({ names }, i) => ({
        term: fixed[i],
        names,
        level: inOrder[terms.length + i],
      })),
      numbers: numbers.map(([name, column]) => ({
        name,
        value: Float64Array.from(order, (cell) => column[first[cell]]),
      })),
      hasMean: within === null,
    }, blockStart),
  };
}

/** Cells: distinct combinations of levels, and of the numbers of every covariate; with each one's first reading. */
function cellsOf(
  all: readonly Coded[],
  readings: number,
): { codes: Int32Array; cells: number; first: Int32Array } {
  let codes = new Int32Array(readings);
  let cells = Math.min(readings, 1);
  for (const term of all) {
    const seen = new Map<number, number>();
    const next = new Int32Array(readings);
    for (let r = 0; r < readings; r++) {
      const key = codes[r] * term.names.length + term.codes[r];
      let code = seen.get(key);
      if (code === undefined) seen.set(key, code = seen.size);
      next[r] = code;
    }
    codes = next;
    cells = seen.size;
  }
  const first = new Int32Array(cells).fill(-1);
  for (let r = 0; r < readings; r++) if (first[codes[r]] < 0) first[codes[r]] = r;
  return { codes, cells, first };
}

/** Row of each nested term for each cell, numbered within its block. */
function rowsOfBlocks(
  nestedLevels: readonly Int32Array[],
  blockStart: Int32Array,
  cells: number,
): Pick<MixedDesign, "row" | "rowsOf" | "rowStart"> {
  const nested = nestedLevels.length;
  const blocks = blockStart.length - 1;
  const row = new Int32Array(cells * nested);
  const rowsOf = new Int32Array(blocks);
  const rowStart = new Int32Array(blocks * (nested + 1));
  for (let b = 0; b < blocks; b++) {
    let rows = 0;
    nestedLevels.forEach((level, t) => {
      rowStart[b * (nested + 1) + t] = rows;
      const local = new Map<number, number>();
      for (let c = blockStart[b]; c < blockStart[b + 1]; c++) {
        let at = local.get(level[c]);
        if (at === undefined) local.set(level[c], at = rows++);
        row[c * nested + t] = at;
      }
    });
    rowStart[b * (nested + 1) + nested] = rows;
    rowsOf[b] = rows;
  }
  return { row, rowsOf, rowStart };
}

type Columns = {
  readonly crossed: readonly { readonly names: readonly string[]; readonly level: Int32Array }[];
  readonly fixed: readonly {
    readonly term: string;
    readonly names: readonly string[];
    readonly level: Int32Array;
  }[];
  readonly numbers: readonly { readonly name: string; readonly value: Float64Array }[];
  readonly hasMean: boolean;
};

/** Columns: crossed levels, the mean, every fixed level but the first of its term, then covariates. */
function columnsOfBlocks(
  { crossed, fixed, numbers, hasMean }: Columns,
  blockStart: Int32Array,
): Pick<
  MixedDesign,
  | "columns"
  | "fixedStart"
  | "columnStart"
  | "fixedNames"
  | "blockColumnStart"
  | "blockColumn"
  | "cellColumnStart"
  | "cellColumn"
  | "cellColumnValue"
> {
  const columnStart = startsOf(0, crossed.map(({ names }) => names.length));
  const fixedStart = columnStart[crossed.length];
  const fixedFirst = startsOf(
    fixedStart + (hasMean ? 1 : 0),
    fixed.map(({ names }) => names.length - 1),
  );
  const numberFirst = fixedFirst[fixed.length];
  /** The columns that a cell touches, and what it holds in each. */
  const touched = (c: number): [column: number, value: number][] => [
    ...crossed.map(({ level }, t): [number, number] => [columnStart[t] + level[c], 1]),
    ...(hasMean ? [[fixedStart, 1] as [number, number]] : []),
    ...fixed.flatMap(({ level }, i): [number, number][] =>
      level[c] > 0 ? [[fixedFirst[i] + level[c] - 1, 1]] : []
    ),
    ...numbers.flatMap(({ value }, i): [number, number][] =>
      value[c] !== 0 ? [[numberFirst + i, value[c]]] : []
    ),
  ];
  const blocks = blockStart.length - 1;
  const cells = blockStart[blocks];
  const cellColumnStart = new Int32Array(cells + 1);
  const cellColumn: number[] = [];
  const cellColumnValue: number[] = [];
  const blockColumnStart = new Int32Array(blocks + 1);
  const blockColumn: number[] = [];
  for (let b = 0; b < blocks; b++) {
    const local = new Map<number, number>();
    for (let c = blockStart[b]; c < blockStart[b + 1]; c++) {
      for (const [column, value] of touched(c)) {
        let at = local.get(column);
        if (at === undefined) {
          local.set(column, at = local.size);
          blockColumn.push(column);
        }
        cellColumn.push(at);
        cellColumnValue.push(value);
      }
      cellColumnStart[c + 1] = cellColumn.length;
    }
    blockColumnStart[b + 1] = blockColumn.length;
  }
  return {
    columns: numberFirst + numbers.length,
    fixedStart,
    columnStart,
    fixedNames: [
      ...(hasMean ? ["mean"] : []),
      ...fixed.flatMap(({ term, names }) => names.slice(1).map((name) => `${term} ${name}`)),
      ...numbers.map(({ name }) => name),
    ],
    blockColumnStart,
    blockColumn: Int32Array.from(blockColumn),
    cellColumnStart,
    cellColumn: Int32Array.from(cellColumn),
    cellColumnValue: Float64Array.from(cellColumnValue),
  };
}

/** Where each of some stretches begins, one after another, and where the last one ends. */
function startsOf(first: number, lengths: readonly number[]): number[] {
  const starts = [first];
  for (const length of lengths) starts.push(starts[starts.length - 1] + length);
  return starts;
}

type Blocks = { readonly blockOf: Int32Array; readonly blocks: number };

/**
 * Which term's levels make the cheapest blocks? A block for every cell is the last candidate; where all
 * is fitted within the levels of a term, these are the blocks.
 */
function cheapestBlocks(
  level: readonly Int32Array[],
  coded: readonly Coded[],
  cells: number,
  within: Blocks | null,
): { nested: number[]; crossed: number[]; blockOf: Int32Array; blocks: number } {
  const everyCell = Int32Array.from({ length: cells }, (_, c) => c);
  const candidates: Blocks[] = within !== null ? [within] : [
    ...coded.map((term, i) => ({ blockOf: level[i], blocks: term.names.length })),
    { blockOf: everyCell, blocks: cells },
  ];
  let best: { nested: number[]; crossed: number[]; blockOf: Int32Array; blocks: number } | null =
    null;
  let least = Infinity;
  candidates.forEach(({ blockOf, blocks }) => {
    const nested: number[] = [];
    const crossed: number[] = [];
    for (let t = 0; t < coded.length; t++) {
      const inside = blockOf !== everyCell &&
        (blockOf === level[t] || isCoarser(level[t], blockOf));
      (inside ? nested : crossed).push(t);
    }
    const sizes = new Float64Array(blocks);
    for (let c = 0; c < cells; c++) sizes[blockOf[c]]++;
    const width = crossed.reduce((total, t) => total + coded[t].names.length, 1);
    const perBlock = sizes.reduce((total, size) => total + size ** 3 + 20, 0);
    const cost = perBlock + (2 + nested.length) * width ** 3 +
      cells * (crossed.length + 1) ** 2;
    if (cost < least) {
      least = cost;
      best = { nested, crossed, blockOf, blocks };
    }
  });
  return best!;
}
