// Shoes by sums of normal draws: a part of the maker's, a part of the line's, a part of the shoe's own. It
// imports nothing, so that it shares nothing with what is judged on it.

/** What is true of the shoes of one row of the yardstick. */
export type Row = {
  readonly shoes: number;
  /** Wanted true gain of the planted weights over those in force; 0: those in force are the planted ones. */
  readonly gain: number;
  readonly twist?:
    | "useless metric"
    | "correlated metrics"
    | "worthless bonus"
    | "half lack a term"
    | "skewed ratings"
    | "weak relation"
    | "nothing is true";
  /** Share of the variance between makers, and between lines of a maker, on the bench and on court alike. */
  readonly tree?: { readonly maker: number; readonly line: number };
};

/** Shoes as a fit gets them. */
export type Shoes = {
  /** Per shoe one column a term; a bonus stands in every column. */
  readonly parts: readonly (readonly number[])[];
  readonly ratings: readonly number[];
  readonly makers: readonly number[];
  readonly lines: readonly number[];
};

/** Draws shoes of a row. */
export type ShoeMaker = {
  readonly planted: readonly number[];
  /** Weights in force at a share of the way from the planted ones to wrong ones. */
  readonly inForce: (away: number) => readonly number[];
  readonly draw: (shoes: number, seed: number, tree: boolean) => Shoes;
};

const PLANTED = [0.35, 0.25, 0.2, 0.1, 0.1, 0];
const WRONG = [0, 0, 0, 0.1, 0.3, 0.6];

/** Six terms with normal values; a panel of five whose ratings are averaged and rounded. */
export function additiveShoes({ twist, tree }: Row): ShoeMaker {
  const planted = twist === "useless metric" ? [0.4, 0.3, 0.2, 0.1, 0, 0] : PLANTED;
  return {
    planted,
    inForce: (away) => {
      const wrong = twist === "useless metric" ? [0, 0, 0, 0, 0.5, 0.5] : WRONG;
      return planted.map((weight, j) => (1 - away) * weight + away * wrong[j]);
    },
    draw: (shoes, seed, useTree) => {
      const normal = normals(seed * 7919 + 13);
      const { makers, lines } = catalogue(shoes, useTree ? tree : undefined, seed);
      const share = useTree && tree ? tree : { maker: 0, line: 0 };
      const one = () => {
        const ofMaker = Array.from({ length: Math.max(...makers) + 1 }, normal);
        const ofLine = Array.from({ length: Math.max(...lines) + 1 }, normal);
        return makers.map((maker, i) =>
          Math.sqrt(share.maker) * ofMaker[maker] + Math.sqrt(share.line) * ofLine[lines[i]] +
          Math.sqrt(1 - share.maker - share.line) * normal()
        );
      };
      const common = one();
      const columns = planted.map(one);
      const loading = twist === "correlated metrics" ? 0.9 : 0.2;
      const scaled = columns.map((column) =>
        column.map((value, i) =>
          0.5 + 0.18 * (Math.sqrt(loading) * common[i] + Math.sqrt(1 - loading) * value)
        )
      );
      const own = one();
      const has = makers.map(() => normal() > 0);
      const index = makers.map((_, i) => scaled.reduce((sum, x, j) => sum + planted[j] * x[i], 0));
      // The index and what is the shoe's own share the variance of what is felt about two to one.
      const spread = 0.18 * Math.sqrt(
        loading + (1 - loading) * planted.reduce((sum, weight) => sum + weight ** 2, 0),
      );
      const ratings = index.map((value, i) => {
        const felt = (twist === "nothing is true" ? 0 : twist === "weak relation" ? 0.5 : 0.8) *
            (value - 0.5) / spread +
          (twist === "weak relation" ? 0.75 : 0.5) * own[i];
        const panel = Array.from({ length: 5 }, () => felt + 0.5 * normal());
        const rated = panel.map((one) =>
          twist === "skewed ratings"
            ? Math.min(10, Math.round(20 - 10 * Math.exp(-0.6 * (one - 0.3))) / 2)
            : Math.round(2 * (6 + 1.2 * one)) / 2
        );
        return rated.reduce((sum, one) => sum + one, 0) / rated.length;
      });
      const parts = makers.map((_, i) =>
        scaled.map((column) => column[i] + (twist === "worthless bonus" && has[i] ? 0.12 : 0))
      );
      const kept = makers.map((_, i) => twist !== "half lack a term" || i % 2 === 0);
      const only = <T>(list: readonly T[]) => list.filter((_, i) => kept[i]);
      return {
        parts: only(parts),
        ratings: only(ratings),
        makers: only(makers),
        lines: only(lines),
      };
    },
  };
}

function catalogue(shoes: number, tree: Row["tree"], seed: number) {
  if (tree === undefined) {
    const each = Array.from({ length: shoes }, (_, i) => i);
    return { makers: each, lines: each };
  }
  const random = uniform(seed * 104729 + 7);
  const perLine = 2.3;
  const lineCount = Math.max(4, Math.round(shoes / perLine));
  const makerOf = Array.from({ length: lineCount }, (_, g) => g < 7 ? g : Math.floor(7 * random()));
  const lines = Array.from(
    { length: shoes },
    (_, i) => i < lineCount ? i : Math.floor(lineCount * random()),
  );
  return { lines, makers: lines.map((line) => makerOf[line]) };
}

function uniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

function normals(seed: number): () => number {
  const random = uniform(seed);
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
