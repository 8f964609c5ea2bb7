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
  /** Satterthwaite's degrees of freedom of the difference's standard error. */
  readonly freedom: number;
};

/** What the panel says of every two of some shoes. */
type PanelContrasts = {
  /** In the order of the pairs given. */
  readonly pairs: readonly PanelContrast[];
  /** Of the pairs that have a difference, in their order. */
  readonly covariance: readonly (readonly number[])[];
  readonly testers: number;
  readonly ratings: number;
};

/** How much the panel's scatter counts beside a shoe's own, in degrees of freedom. */
const PANEL_FREEDOM = 2;

/**
 * How do shoes differ in the eyes of the panel, whoever tested which?
 *
 * Least squares of rating = shoe + tester over every rating of the impression, those of other shoes too:
 * they tell how lenient each tester is and how far ratings scatter. A difference holds for two shoes
 * that no tester has in common, as long as testers and shoes link them. Its variance is that of the
 * two-way layout. A shoe that divides the panel scatters more than the others, so each shoe's ratings bring
 * their own scatter, drawn in toward the panel's, which counts as two more degrees of freedom (a moderated
 * variance); what leniency adds goes by the panel's. The freedom of t is Satterthwaite's. Scatter is at
 * least what rounding to the step of the scale leaves (step² / 12 a rating).
 *
 * @param pairs ids of shoes, each the first minus the second
 * @see textbook intra-block analysis of an incomplete two-way layout; checked against R's `lm`. Smyth 2004, Statistical
 * Applications in Genetics and Molecular Biology 3(1), for moderated variances; he fits the weight from
 * all, which one divided shoe among many can't move, so it is held here. Satterthwaite 1946
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
  const scatter = scatterOf(layout.squaresOf, byShoe, {
    freedom,
    least: step ** 2 / 12 / meanRepeats(opinions),
  });
  const found = pairs.map(([a, b]): PanelContrast => {
    const silent = [a, b].find((shoe) => !byShoe.has(shoe));
    if (silent !== undefined) {
      return {
        difference: null,
        reason: { code: "shoe-not-rated", shoe: silent, attribute },
        freedom: 0,
      };
    }
    if (freedom < 1) return { difference: null, reason: { code: "no-spare-ratings" }, freedom: 0 };
    const [one, other] = [a, b].map((shoe) => groupOf.get(byShoe.get(shoe)![0].tester)!);
    if (one !== other) {
      return { difference: null, reason: { code: "panel-not-linked" }, freedom: 0 };
    }
    return {
      difference: layout.valueOf(a) - layout.valueOf(b),
      reason: null,
      freedom: satterthwaite(layout.product([a, b], [a, b]), scatter),
    };
  });
  const kept = pairs.filter((_, index) => found[index].difference !== null);
  return {
    pairs: found,
    covariance: kept.map((one) =>
      kept.map((other) => {
        const { shoes, leniency } = layout.product(one, other);
        return sum(shoes.map(({ shoe, weight }) => weight * scatter.of(shoe).variance)) +
          leniency * scatter.panel;
      })
    ),
    testers: testers.length,
    ratings: sum(opinions.map((row) => row.ratings)),
  };
}

/** How far ratings of one shoe scatter, and how well that is known. */
type Scatter = {
  readonly of: (shoe: string) => { readonly variance: number; readonly freedom: number };
  readonly panel: number;
  readonly freedom: number;
};

function scatterOf(
  squaresOf: ReadonlyMap<string, number>,
  byShoe: ReadonlyMap<string, readonly Opinion[]>,
  { freedom, least }: { readonly freedom: number; readonly least: number },
): Scatter {
  const squares = sum([...squaresOf.values()]);
  const panel = Math.max(freedom > 0 ? squares / freedom : 0, least);
  const spare = sum([...byShoe.values()].map((rows) => rows.length - 1));
  return {
    panel,
    freedom,
    of: (shoe) => {
      // What testers' leniency takes is shared out over the shoes by their ratings.
      const own = spare === 0 ? 0 : (byShoe.get(shoe)!.length - 1) * freedom / spare;
      if (!(own > 0)) return { variance: panel, freedom };
      const whole = own + PANEL_FREEDOM;
      const variance = (squaresOf.get(shoe)! + PANEL_FREEDOM * panel) / whole;
      // The panel's part is known far better than a shoe's own, which alone makes the variance uncertain.
      return { variance: Math.max(variance, least), freedom: Math.min(freedom, whole ** 2 / own) };
    },
  };
}

/** Degrees of freedom of a sum of variances, each with its own; all hold some of the panel's, so never more than that has. */
function satterthwaite({ shoes, leniency }: Product, { of, panel, freedom }: Scatter): number {
  const parts = [
    ...shoes.map(({ shoe, weight }) => ({
      variance: weight * of(shoe).variance,
      freedom: of(shoe).freedom,
    })),
    { variance: leniency * panel, freedom },
  ];
  const whole = sum(parts.map(({ variance }) => variance));
  const spread = sum(parts.map((part) => part.variance ** 2 / part.freedom));
  return spread > 0 ? Math.min(freedom, Math.max(1, whole ** 2 / spread)) : freedom;
}

function meanRepeats(opinions: readonly Opinion[]): number {
  return opinions.length === 0 ? 1 : mean(opinions.map(({ ratings }) => ratings));
}

type Pair = readonly [string, string];

/** Of two differences: what each shoe's scatter counts in it, and what leniency adds in the panel's. */
type Product = {
  readonly shoes: readonly { readonly shoe: string; readonly weight: number }[];
  readonly leniency: number;
};

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
  const squaresOf = new Map(
    [...byShoe].map(([shoe, rows]) => {
      const value = valueOf(shoe);
      return [
        shoe,
        sum(rows.map((row) => (row.rating - shifts[indexOf.get(row.tester)!] - value) ** 2)),
      ];
    }),
  );
  const product = ([a, b]: Pair, [c, d]: Pair): Product => {
    const lean = (one: string, other: string) =>
      shares.get(one)!.map((share, tester) => share - shares.get(other)![tester]);
    const [own, others] = [lean(a, b), lean(c, d)];
    const leniency = sum(
      own.map((part, i) => part * sum(others.map((other, j) => solved.get(i, j) * other))),
    );
    const counts = (shoe: string, sign: number) => ({
      shoe,
      weight: (c === shoe ? sign : d === shoe ? -sign : 0) / byShoe.get(shoe)!.length,
    });
    return { shoes: [counts(a, 1), counts(b, -1)], leniency };
  };
  return { valueOf, squaresOf, product };
}
