import { adjustP } from "../../statistics/adjust_p.ts";
import { type GridCell, gridPermutation } from "../../statistics/grid_permutation.ts";

/** What the grid as a whole leaves of one cell. */
export type JudgedCell = GridCell & {
  /** Benjamini–Hochberg over the grid. */
  readonly q: number | null;
  /** Cells of the grid that have a correlation. */
  readonly family: number;
};

/**
 * Which correlations stand out of all that were looked at?
 *
 * A derived column is judged in the place of its source: in a second round the sources step aside for
 * the first column derived from each, in a third for the second, and so on.
 *
 * @param alpha level of every cell, or alpha[column][target]
 * @param columns with the place of the column that each is derived from, or null
 * @returns judged[column][target]
 */
export function judgedGrid(
  columns: readonly {
    readonly values: readonly (number | null)[];
    readonly source: number | null;
  }[],
  targets: readonly (readonly (number | null)[])[],
  { permutations, lost, alpha, seed }: {
    readonly permutations: number;
    readonly lost: number;
    readonly alpha: number | readonly (readonly number[])[];
    readonly seed: number;
  },
): JudgedCell[][] {
  const judged = new Array<JudgedCell[]>(columns.length);
  for (const family of familiesInTurn(columns)) {
    const cells = gridPermutation(family.map((j) => columns[j].values), targets, {
      permutations,
      lost,
      alpha: typeof alpha === "number" ? alpha : family.map((j) => alpha[j]),
      seed,
    });
    const q = adjustedOverGrid(cells);
    const tried = cells.flat().filter(({ z }) => z !== null).length;
    family.forEach((j, place) => {
      if (judged[j] !== undefined) return;
      judged[j] = cells[place].map((cell, t) => ({ ...cell, q: q[place][t], family: tried }));
    });
  }
  return judged;
}

/** First all columns that stand for themselves, then rounds in which derived ones take their sources' places. */
function familiesInTurn(columns: readonly { readonly source: number | null }[]): number[][] {
  const places = columns.map((_, j) => j);
  const own = places.filter((j) => columns[j].source === null);
  const waiting = new Set(places.filter((j) => columns[j].source !== null));
  const families = own.length === 0 ? [] : [own];
  while (waiting.size > 0) {
    const stepsIn = new Map<number, number>();
    for (const j of waiting) {
      const source = columns[j].source!;
      if (!stepsIn.has(source)) stepsIn.set(source, j);
    }
    for (const j of stepsIn.values()) waiting.delete(j);
    families.push([...own.filter((j) => !stepsIn.has(j)), ...stepsIn.values()]);
  }
  return families;
}

function adjustedOverGrid(cells: readonly (readonly GridCell[])[]): (number | null)[][] {
  const known = cells.flat().flatMap(({ p }) => p === null ? [] : [p]);
  const adjusted = adjustP(known, "benjamini-hochberg");
  let next = 0;
  return cells.map((row) => row.map(({ p }) => p === null ? null : adjusted[next++]));
}
