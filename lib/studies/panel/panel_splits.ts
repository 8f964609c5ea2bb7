import type { Reason } from "../../statistics/reason.ts";
import { mean, sampleStandardDeviation, sum } from "simple-statistics";
import type { Bench, Tester } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { fUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { type ProfilePair, profilePermutation } from "../../statistics/profile_permutation.ts";
import { tieNearEqual } from "../../statistics/tie_near_equal.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";
import {
  countAt,
  type ShoeKin,
  shoeKin,
  withinCourts,
  withoutCommonKin,
  withoutKin,
} from "../shoes/shoe_kin.ts";

/** Whether a trait of the testers goes with how they part. */
export type SplitTrait = {
  readonly trait: "mass_kg" | "foot_length_mm" | "foot_width_mm" | "years_playing" | "style";
  readonly title: string;
  /**
   * By how much more a tester one SD higher on the trait favours a shoe one SD higher on the metric, on
   * the rating scale; null for style, which has no order.
   */
  readonly effect: Estimate;
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Holm's, over all traits of all metrics the panel is sure to part over. */
  readonly p_familywise: number | null;
  readonly found: boolean;
};

/** A bench metric, and whether testers part over it. */
export type PanelSplit = {
  readonly metric: string;
  readonly metric_title: string;
  /** By how much each tester favours a shoe one SD higher on the metric more than the panel does. */
  readonly tastes: readonly { readonly tester: string; readonly taste: number }[];
  readonly shoes: number;
  readonly lines: number;
  readonly makers: number;
  /** How far testers part along the metric, in standard deviations of what chance deals. */
  readonly strength: number;
  readonly p: number;
  /** By the step-down maximum over all metrics and attributes. */
  readonly p_familywise: number;
  readonly found: boolean;
  readonly traits: readonly SplitTrait[];
};

/** A metric's part in how testers differ on one attribute, not yet held against chance. */
export type UnjudgedSplit =
  & Pick<PanelSplit, "metric" | "metric_title" | "tastes" | "lines" | "makers">
  & {
    /** Shoes in the order of the lists in `evidence`: the metric, and what each tester likes. */
    readonly rows: readonly string[];
    readonly evidence: ProfilePair;
    readonly traits: readonly Omit<SplitTrait, "p_familywise" | "found">[];
  };

const traits = [
  ["mass_kg", "body mass"],
  ["foot_length_mm", "foot length"],
  ["foot_width_mm", "foot width"],
  ["years_playing", "years of playing"],
] as const;

/**
 * Over what may testers part on this attribute, and which traits of theirs could go with it?
 *
 * What a tester likes in a shoe is the rating less shoe, tester and the tester's use of the range. What is
 * held against it is the metric less what goes with the shoes' level; likeness of kin is taken out of both,
 * court by court, as `courtPrediction` does it. Chance then deals whole shoes (`judgedSplits`): who
 * likes which shoe has its own order wherever testers divide over anything at all, so the scatter between
 * shoes is no yardstick of noise (an F test against it called metrics that have nothing to do with the ratings
 * a division). How strongly each tester goes along is the slope of a regression; traits are
 * set against these slopes, one point a tester, so that a small panel can't prove much about players at large.
 */
export function panelSplits(
  bench: Pick<Bench, "metrics" | "testers" | "shoes">,
  { table, shoes, testers, values, confidence }: {
    /** One row a shoe, one column a tester. */
    readonly table: readonly (readonly (number | null)[])[];
    readonly shoes: readonly string[];
    readonly testers: readonly string[];
    readonly values: ReadonlyMap<string, ReadonlyMap<string, number>>;
    readonly confidence: number;
  },
): readonly UnjudgedSplit[] {
  const byId = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const likings = new Map<string, Liking>();
  return bench.metrics.flatMap((metric): UnjudgedSplit[] => {
    const known = values.get(metric.id);
    if (known === undefined) return [];
    const used = shoes.flatMap((shoe, i) =>
      known.has(shoe) && table[i].filter((rating) => rating !== null).length > 1 ? [i] : []
    );
    if (used.length < 4) return [];
    const readings = used.map((i) => known.get(shoes[i])!);
    const spread = sampleStandardDeviation(readings);
    if (!(spread > 0)) return [];
    const key = used.join();
    if (!likings.has(key)) {
      const kin = shoeKin(used.map((i) => byId.get(shoes[i])!), used.map(() => true));
      likings.set(key, likingOf(used.map((i) => table[i]), kin));
    }
    const liking = likings.get(key)!;
    if (!(liking.residualSquares > 1e-12)) return [];
    const centre = mean(readings);
    const z = readings.map((value) => (value - centre) / spread);
    const tastes = tastesOver(z, liking, testers);
    if (tastes === null) return [];
    const { kin, levels, profile } = liking;
    const rows = used.map((_, row) => row);
    return [{
      metric: metric.id,
      metric_title: metric.title,
      tastes,
      lines: countAt(kin.lines, rows),
      makers: countAt(kin.makers, rows),
      rows: used.map((i) => shoes[i]),
      evidence: {
        column: withoutKin(withinCourts(beside(z, levels), kin), kin).values,
        profile,
      },
      traits: traitTests(tastes, bench.testers, confidence),
    }];
  });
}

type Cell = { readonly i: number; readonly j: number; readonly rating: number };

/** What each tester likes in these shoes beyond the panel, and what it takes to ask more about it. */
type Liking = {
  readonly kin: ShoeKin;
  readonly cells: readonly Cell[];
  /** Columns of the tables' testers who rated any of these shoes. */
  readonly present: readonly number[];
  /** Mean rating of every shoe, testers' own means taken off. */
  readonly levels: readonly number[];
  readonly residualSquares: number;
  readonly freedom: number;
  /** Kin taken out; one list a tester, one entry a shoe. */
  readonly profile: ProfilePair["profile"];
};

function likingOf(table: readonly (readonly (number | null)[])[], kin: ShoeKin): Liking {
  // Tester by tester, so that a tester's own columns touch neighbouring rows.
  const cells = table[0].flatMap((_, j) =>
    table.flatMap((row, i) => row[j] === null ? [] : [{ i, j, rating: row[j] }])
  );
  const present = [...new Set(cells.map(({ j }) => j))];
  const level = shoeLevels(cells);
  const levels = table.map((_, i) => level.get(i)!);
  const { residuals, residualSquares, freedom } = testerRegression(cells, present, levels, null);
  const liked = present.map((j) => {
    const own = new Array<number | null>(table.length).fill(null);
    cells.forEach((cell, row) => {
      if (cell.j === j) own[cell.i] = residuals[row];
    });
    return withinCourts(tieNearEqual(own), kin);
  });
  const profile = withoutCommonKin(liked, kin);
  return { kin, cells, present, levels, residualSquares, freedom, profile };
}

/** Rating on shoe, tester and the tester's use of the range, with a slope of the tester's own over z if given. */
function testerRegression(
  cells: readonly Cell[],
  present: readonly number[],
  levels: readonly number[],
  z: readonly number[] | null,
) {
  const own = (j: number, value: (cell: Cell) => number) =>
    cells.map((cell) => cell.j === j ? value(cell) : 0);
  // Testers who use more of the scale would part over every metric that goes with the panel's value.
  const columns = Object.fromEntries(present.flatMap((j) => [
    [`tester ${j}`, own(j, () => 1)],
    [`range ${j}`, own(j, ({ i }) => levels[i])],
    ...(z === null ? [] : [[`slope ${j}`, own(j, ({ i }) => z[i])]]),
  ]));
  return weightedRegression(columns, cells.map(({ rating }) => rating), {
    within: cells.map(({ i }) => i),
  });
}

/** How much more than the panel each tester favours more of z; null where the ratings can't tell. */
function tastesOver(
  z: readonly number[],
  { cells, present, levels, freedom }: Liking,
  testers: readonly string[],
): PanelSplit["tastes"] | null {
  const sloped = testerRegression(cells, present, levels, z);
  if (freedom - sloped.freedom < 1 || sloped.freedom < 4) return null;
  // Which tester's columns are left out shifts all slopes alike: only their differences mean something.
  const slopes = present.map((j) => sloped.coefficient(`slope ${j}`) ?? 0);
  const middle = mean(slopes);
  return present.map((j, t) => ({ tester: testers[j], taste: slopes[t] - middle }));
}

/** What of z does not go with the levels. */
function beside(z: readonly number[], levels: readonly number[]): (number | null)[] {
  const line = weightedRegression({ one: z.map(() => 1), level: levels }, z);
  return tieNearEqual([...line.residuals]);
}

/** Every shoe's mean rating after the testers' own means, about 0. */
function shoeLevels(cells: readonly Cell[]): ReadonlyMap<number, number> {
  const testers = new Map(
    [...Map.groupBy(cells, ({ j }) => j)].map(([j, own]) =>
      [j, mean(own.map(({ rating }) => rating))] as const
    ),
  );
  return new Map(
    [...Map.groupBy(cells, ({ i }) => i)].map(([i, own]) =>
      [i, mean(own.map(({ j, rating }) => rating - testers.get(j)!))] as const
    ),
  );
}

function traitTests(
  tastes: PanelSplit["tastes"],
  testers: readonly Tester[],
  confidence: number,
): Omit<SplitTrait, "p_familywise" | "found">[] {
  const byId = new Map(testers.map((tester) => [tester.tester, tester]));
  const numeric = traits.map(([trait, title]) => {
    const points = tastes.flatMap(({ tester, taste }) => {
      const value = byId.get(tester)?.[trait] ?? null;
      return value === null ? [] : [{ value, taste }];
    });
    const about = {
      confidence,
      n: points.length,
      method: "testers' slopes on the trait, Student's t interval",
    };
    const nothing = (reason: Reason) => ({
      trait,
      title,
      effect: noEstimate(reason, about),
      p: null,
      p_reason: reason,
    });
    if (points.length < 4) {
      return nothing({ code: "too-few", of: "testers", needed: 4, found: points.length });
    }
    const spread = sampleStandardDeviation(points.map(({ value }) => value));
    if (!(spread > 0)) return nothing({ code: "testers-alike" });
    const centre = mean(points.map(({ value }) => value));
    const { estimate, p } = weightedRegression({
      level: points.map(() => 1),
      trait: points.map(({ value }) => (value - centre) / spread),
    }, points.map(({ taste }) => taste)).test("trait", confidence);
    return {
      trait,
      title,
      effect: { ...estimate, ...about },
      p,
      p_reason: estimate.estimate_reason,
    };
  });
  return [...numeric, styleTest(tastes, byId, confidence)];
}

/** Style has no order: a one-way F test over its groups. */
function styleTest(
  tastes: PanelSplit["tastes"],
  byId: ReadonlyMap<string, Tester>,
  confidence: number,
): Omit<SplitTrait, "p_familywise" | "found"> {
  const known = tastes.flatMap(({ tester, taste }) => {
    const style = byId.get(tester)?.style ?? null;
    return style === null ? [] : [{ style, taste }];
  });
  const groups = [...Map.groupBy(known, ({ style }) => style).values()];
  const about = { confidence, n: known.length, method: "one-way F over styles" };
  const [df1, df2] = [groups.length - 1, known.length - groups.length];
  const all = mean(known.length === 0 ? [0] : known.map(({ taste }) => taste));
  const within = sum(groups.map((group) => {
    const own = mean(group.map(({ taste }) => taste));
    return sum(group.map(({ taste }) => (taste - own) ** 2));
  }));
  const between = sum(known.map(({ taste }) => (taste - all) ** 2)) - within;
  const p = df1 < 1 || df2 < 1 || !(within > 1e-12)
    ? null
    : fUpper(Math.max(0, between / df1 / (within / df2)), df1, df2);
  const reason = p === null ? { code: "few-of-each-style" } : null;
  return {
    trait: "style",
    title: "style of play",
    effect: noEstimate({ code: "no-order" }, about),
    p,
    p_reason: reason,
  };
}

/**
 * Which splits and traits may be claimed, over all attributes looked at?
 *
 * A split where dealing whole shoes' ratings anew, those of all attributes together, seldom makes any
 * pair of metric and attribute as strong (step-down maximum); a trait by Holm, over all traits of the
 * splits that are sure.
 *
 * @param risk of any false claim, for metrics and again for traits
 * @param permutations orders of the shoes that are tried
 */
export function judgedSplits(
  byAttribute: readonly (readonly UnjudgedSplit[])[],
  { risk, permutations = 999, seed }: {
    readonly risk: number;
    readonly permutations?: number;
    readonly seed: number;
  },
): PanelSplit[][] {
  const all = byAttribute.flat();
  const shoes = [...new Set(all.flatMap(({ rows }) => rows))].sort();
  const place = new Map(shoes.map((shoe, i) => [shoe, i]));
  const chance = profilePermutation(
    all.map(({ rows, evidence: { column, profile } }) => {
      const spread = (values: ProfilePair["column"]) => {
        const over = new Array<number | null>(shoes.length).fill(null);
        rows.forEach((shoe, i) => over[place.get(shoe)!] = values[i]);
        return over;
      };
      return { column: spread(column), profile: profile.map(spread) };
    }),
    { permutations, seed },
  );
  const judged = new Map(all.map((split, i) => [split, chance[i]]));
  const sure = all.filter((split) => judged.get(split)!.p_grid < risk);
  const tests = sure.flatMap(({ traits }) => traits.filter(({ p }) => p !== null));
  const adjusted = adjustP(tests.map(({ p }) => p!), "holm");
  const traitwise = new Map(tests.map((trait, i) => [trait, adjusted[i]]));
  return byAttribute.map((splits) =>
    splits.map((split): PanelSplit => {
      const { metric, metric_title, tastes, rows, lines, makers } = split;
      const { strength, p, p_grid } = judged.get(split)!;
      const traits = split.traits.map((trait): SplitTrait => {
        const own = traitwise.get(trait) ?? null;
        return { ...trait, p_familywise: own, found: own !== null && own < risk };
      });
      return {
        metric,
        metric_title,
        tastes,
        shoes: rows.length,
        lines,
        makers,
        strength,
        p,
        p_familywise: p_grid,
        found: p_grid < risk,
        traits,
      };
    }).toSorted((a, b) => b.strength - a.strength || (a.metric < b.metric ? -1 : 1))
  );
}
