import { median } from "simple-statistics";
import { randomStream } from "./random_stream.ts";
import { shuffle } from "./rank_permutation.ts";

/** How far one group's values scatter against all the others'. */
export type GroupScatter = {
  /** Mean square within the group over that within all others; null where either is unknown. */
  readonly f: number | null;
  /** Share of draws in which the group's own F is as large. */
  readonly p: number | null;
  /** Share of draws in which the largest of all groups is. */
  readonly p_family: number | null;
};

const STREAM = 61;

/**
 * Does one group scatter more than the others, whatever the shape of the scatter?
 *
 * F of each group's mean square against that of all others, set on one scale over sizes by the cube root
 * that makes it nearly normal. What comes by chance is not the F distribution, which takes heavy tails for
 * a scatter of its own: deviations from their group's median are dealt to the groups anew, so that the
 * null has the tails that the data have.
 *
 * @param groups values, each group about a level of its own
 * @param lost degrees of freedom spent on what was taken out of the values before
 * @returns in the order of the groups; nulls for a group of fewer than three values
 * @see Paulson 1942, Annals of Mathematical Statistics 13:233, for the cube root; Brown & Forsythe 1974,
 *   JASA 69:364, for deviations from the median; Phipson & Smyth 2010 for (reached + 1) / (draws + 1)
 */
export function groupScatter(
  groups: readonly (readonly number[])[],
  { lost = 0, draws = 999, seed }: {
    readonly lost?: number;
    readonly draws?: number;
    readonly seed: number;
  },
): GroupScatter[] {
  const observed = scaled(groups, lost);
  const nothing = { f: null, p: null, p_family: null };
  if (observed.every(({ z }) => z === null)) return groups.map(() => nothing);
  const pool = groups.flatMap((own) => {
    if (own.length < 2) return [];
    const middle = median([...own]);
    return own.map((value) => value - middle);
  });
  const sizes = groups.map((own) => own.length < 2 ? 0 : own.length);
  const order = Int32Array.from(pool.keys());
  const uniform = new Float64Array(Math.max(0, pool.length - 1));
  const stream = randomStream(seed, STREAM, pool.length);
  const alone = groups.map(() => 0);
  const largest = groups.map(() => 0);
  for (let draw = 0; draw < draws; draw++) {
    stream.fillUniform(uniform);
    shuffle(order, uniform, 0);
    let at = 0;
    const dealt = sizes.map((size) => {
      const own = Array.from({ length: size }, (_, i) => pool[order[at + i]]);
      at += size;
      return own;
    });
    const drawn = scaled(dealt, lost);
    const most = Math.max(...drawn.map(({ z }) => z ?? -Infinity));
    observed.forEach(({ z }, group) => {
      if (z === null) return;
      if ((drawn[group].z ?? -Infinity) >= z - SLACK) alone[group]++;
      if (most >= z - SLACK) largest[group]++;
    });
  }
  return observed.map(({ f, z }, group) =>
    z === null ? nothing : {
      f,
      p: (alone[group] + 1) / (draws + 1),
      p_family: (largest[group] + 1) / (draws + 1),
    }
  );
}

/** Sums that are equal on paper may differ in their last digits. */
const SLACK = 1e-9;
/** Two values have one deviation: nothing tells a group from a pair. */
const FEWEST = 3;

function scaled(groups: readonly (readonly number[])[], lost: number) {
  const squares = groups.map((own) => {
    const mean = own.reduce((sum, value) => sum + value, 0) / own.length;
    return own.length < 2 ? 0 : own.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  });
  const all = squares.reduce((a, b) => a + b, 0);
  const freedom = groups.reduce((sum, own) => sum + Math.max(0, own.length - 1), 0) - lost;
  return groups.map((own, group) => {
    const [df1, df2] = [own.length - 1, freedom - (own.length - 1)];
    const rest = all - squares[group];
    if (own.length < FEWEST || df2 < 1 || !(rest > 1e-12)) return { f: null, z: null };
    const f = squares[group] / df1 / (rest / df2);
    const root = Math.cbrt(f);
    const [a, b] = [2 / (9 * df1), 2 / (9 * df2)];
    return { f, z: (root * (1 - b) - (1 - a)) / Math.sqrt(a + root * root * b) };
  });
}
