import { randomStream } from "./random_stream.ts";
import { shuffle } from "./rank_permutation.ts";
import { median } from "./robust_scale.ts";

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
  const sizes = Int32Array.from(groups, (own) => own.length < 2 ? 0 : own.length);
  const order = Int32Array.from(pool.keys());
  const uniform = new Float64Array(Math.max(0, pool.length - 1));
  const stream = randomStream(seed, STREAM, pool.length);
  const alone = new Int32Array(groups.length);
  const largest = new Int32Array(groups.length);
  const values = Float64Array.from(pool);
  const reach = Float64Array.from(observed, ({ z }) => z === null ? NaN : z - SLACK);
  const work = { dealt: new Float64Array(pool.length), squares: new Float64Array(groups.length) };
  const z = new Float64Array(groups.length);
  for (let draw = 0; draw < draws; draw++) {
    stream.fillUniform(uniform);
    shuffle(order, uniform, 0);
    deal(values, order, work.dealt);
    scaledInto(work.dealt, sizes, lost, work.squares, z);
    countReached(z, reach, alone, largest);
  }
  return observed.map(({ f, z: own }, group) =>
    own === null ? nothing : {
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

function deal(values: Float64Array, order: Int32Array, into: Float64Array): void {
  for (let i = 0; i < into.length; i++) into[i] = values[order[i]];
}

/** A group whose scatter is unknown reaches nothing: NaN never does. */
function countReached(
  z: Float64Array,
  reach: Float64Array,
  alone: Int32Array,
  largest: Int32Array,
): void {
  let most = -Infinity;
  for (let g = 0; g < z.length; g++) if (z[g] > most) most = z[g];
  for (let g = 0; g < z.length; g++) {
    if (z[g] >= reach[g]) alone[g]++;
    if (most >= reach[g]) largest[g]++;
  }
}

function scaled(groups: readonly (readonly number[])[], lost: number) {
  const sizes = Int32Array.from(groups, ({ length }) => length);
  const squares = new Float64Array(groups.length);
  const z = new Float64Array(groups.length);
  const f = scaledInto(Float64Array.from(groups.flat()), sizes, lost, squares, z);
  return groups.map((_, group) =>
    Number.isNaN(z[group]) ? { f: null, z: null } : { f: f[group], z: z[group] }
  );
}

/** Each group's F and its place on the common scale, `z`, from values that follow group by group; NaN where unknown. */
function scaledInto(
  values: Float64Array,
  sizes: Int32Array,
  lost: number,
  squares: Float64Array,
  z: Float64Array,
): Float64Array {
  let [from, all, freedom] = [0, 0, -lost];
  for (let g = 0; g < sizes.length; g++) {
    squares[g] = sizes[g] < 2 ? 0 : squaresAbout(values, from, from + sizes[g]);
    all += squares[g];
    freedom += Math.max(0, sizes[g] - 1);
    from += sizes[g];
  }
  const f = new Float64Array(sizes.length).fill(NaN);
  for (let g = 0; g < sizes.length; g++) {
    const [df1, df2] = [sizes[g] - 1, freedom - (sizes[g] - 1)];
    const rest = all - squares[g];
    z[g] = NaN;
    if (sizes[g] < FEWEST || df2 < 1 || !(rest > 1e-12)) continue;
    f[g] = squares[g] / df1 / (rest / df2);
    const root = Math.cbrt(f[g]);
    const [a, b] = [2 / (9 * df1), 2 / (9 * df2)];
    z[g] = (root * (1 - b) - (1 - a)) / Math.sqrt(a + root * root * b);
  }
  return f;
}

function squaresAbout(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i];
  const mean = sum / (to - from);
  let squares = 0;
  for (let i = from; i < to; i++) squares += (values[i] - mean) ** 2;
  return squares;
}
