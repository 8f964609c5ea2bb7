import { inverse, Matrix } from "ml-matrix";
import { mean, sum } from "simple-statistics";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { linkedTesters, type Opinion, panelOpinions } from "../panel/panel_values.ts";

/** How two shoes differ on one impression, by the whole panel. */
type PanelContrast = {
  /** The first minus the second, on the rating scale; leniency taken out. */
  readonly difference: number | null;
  readonly reason: Reason | null;
};

/** What the panel says of every two of some shoes. */
type PanelContrasts = {
  /** In the order of the pairs given. */
  readonly pairs: readonly PanelContrast[];
  /** Of the pairs that have a difference, in their order. */
  readonly covariance: readonly (readonly number[])[];
  readonly freedom: number;
  readonly testers: number;
  readonly ratings: number;
};

/**
 * How do shoes differ in the eyes of the panel, whoever tested which?
 *
 * Least squares of rating = shoe + tester over every rating of the impression, those of other shoes too:
 * they tell how lenient each tester is and how far ratings scatter. A difference holds for two shoes
 * that no tester has in common, as long as testers and shoes link them. Its variance is that of the
 * two-way layout, with the scatter pooled over the panel on its spare ratings (t). Scatter is at least
 * what rounding to the step of the scale leaves (step² / 12 a rating).
 *
 * @param pairs ids of shoes, each the first minus the second
 * @see textbook intra-block analysis of an incomplete two-way layout; checked against R's `lm`
 */
export function panelContrasts(
  bench: Pick<Bench, "impressions" | "settings">,
  attribute: string,
  pairs: readonly (readonly [string, string])[],
): PanelContrasts {
  const opinions = panelOpinions(bench, attribute);
  const byShoe = Map.groupBy(opinions, (row) => row.shoe_id);
  const groups = linkedTesters(opinions);
  const groupOf = new Map(groups.flatMap((group, index) => group.map((tester) => [tester, index])));
  const testers = [...groupOf.keys()].sort();
  const freedom = opinions.length - byShoe.size - testers.length + groups.length;
  const layout = solveLayout(testers, byShoe, groups);
  const { step } = bench.settings.rating;
  const variance = Math.max(
    freedom > 0 ? layout.squares / freedom : 0,
    step ** 2 / 12 / meanRepeats(opinions),
  );
  const found = pairs.map(([a, b]): PanelContrast => {
    const silent = [a, b].find((shoe) => !byShoe.has(shoe));
    if (silent !== undefined) {
      return { difference: null, reason: { code: "shoe-not-rated", shoe: silent, attribute } };
    }
    if (freedom < 1) return { difference: null, reason: { code: "no-spare-ratings" } };
    const [one, other] = [a, b].map((shoe) => groupOf.get(byShoe.get(shoe)![0].tester)!);
    if (one !== other) return { difference: null, reason: { code: "panel-not-linked" } };
    return { difference: layout.valueOf(a) - layout.valueOf(b), reason: null };
  });
  const kept = pairs.filter((_, index) => found[index].difference !== null);
  return {
    pairs: found,
    covariance: kept.map((one) => kept.map((other) => variance * layout.product(one, other))),
    freedom,
    testers: testers.length,
    ratings: sum(opinions.map((row) => row.ratings)),
  };
}

function meanRepeats(opinions: readonly Opinion[]): number {
  return opinions.length === 0 ? 1 : mean(opinions.map(({ ratings }) => ratings));
}

type Pair = readonly [string, string];

/** The two-way layout with shoes eliminated, which leaves a system as small as the panel. */
function solveLayout(
  testers: readonly string[],
  byShoe: ReadonlyMap<string, readonly Opinion[]>,
  groups: readonly (readonly string[])[],
) {
  const size = testers.length;
  const indexOf = new Map(testers.map((tester, index) => [tester, index]));
  const system = Matrix.zeros(size, size);
  const right = Matrix.zeros(size, 1);
  const shares = new Map<string, number[]>();
  for (const [shoe, rows] of byShoe) {
    const share = new Array<number>(size).fill(0);
    const centre = mean(rows.map((row) => row.rating));
    for (const row of rows) {
      const tester = indexOf.get(row.tester)!;
      share[tester] += 1 / rows.length;
      system.set(tester, tester, system.get(tester, tester) + 1);
      right.set(tester, 0, right.get(tester, 0) + row.rating - centre);
    }
    shares.set(shoe, share);
    for (const one of rows) {
      for (const other of rows) {
        const [i, j] = [indexOf.get(one.tester)!, indexOf.get(other.tester)!];
        system.set(i, j, system.get(i, j) - 1 / rows.length);
      }
    }
  }
  // One level is free for each group of testers that shoes link; any value of it gives the same differences.
  for (const group of groups) {
    for (const one of group) {
      for (const other of group) {
        const [i, j] = [indexOf.get(one)!, indexOf.get(other)!];
        system.set(i, j, system.get(i, j) + 1 / group.length);
      }
    }
  }
  const solved = size === 0 ? Matrix.zeros(0, 0) : inverse(system);
  const shifts = size === 0 ? [] : solved.mmul(right).to1DArray();
  const valueOf = (shoe: string) =>
    mean(byShoe.get(shoe)!.map((row) => row.rating - shifts[indexOf.get(row.tester)!]));
  const squares = sum([...byShoe].flatMap(([shoe, rows]) => {
    const value = valueOf(shoe);
    return rows.map((row) => (row.rating - shifts[indexOf.get(row.tester)!] - value) ** 2);
  }));
  /** Of two differences, for a scatter of 1. */
  const product = ([a, b]: Pair, [c, d]: Pair) => {
    const lean = (one: string, other: string) =>
      shares.get(one)!.map((share, tester) => share - shares.get(other)![tester]);
    const [own, others] = [lean(a, b), lean(c, d)];
    const through = sum(
      own.map((part, i) => part * sum(others.map((other, j) => solved.get(i, j) * other))),
    );
    const counts = (shoe: string, sign: number, pair: Pair) =>
      (pair[0] === shoe ? sign : pair[1] === shoe ? -sign : 0) / byShoe.get(shoe)!.length;
    return counts(a, 1, [c, d]) + counts(b, -1, [c, d]) + through;
  };
  return { valueOf, squares, product };
}
