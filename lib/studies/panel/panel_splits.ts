import type { Reason } from "../../statistics/reason.ts";
import { mean, sampleStandardDeviation, sum } from "simple-statistics";
import type { Attribute, Bench, Tester } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { fUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";

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
  readonly f: number;
  readonly p: number;
  /** Holm's, over all metrics and attributes. */
  readonly p_familywise: number;
  readonly found: boolean;
  readonly traits: readonly SplitTrait[];
};

type Unadjusted =
  & Omit<PanelSplit, "p_familywise" | "found" | "traits">
  & { readonly traits: readonly Omit<SplitTrait, "p_familywise" | "found">[] };

const traits = [
  ["mass_kg", "body mass"],
  ["foot_length_mm", "foot length"],
  ["foot_width_mm", "foot width"],
  ["years_playing", "years of playing"],
] as const;

/**
 * Over what do testers part, and does a trait of theirs go with it?
 *
 * Step one, metric by metric: rating on shoe, tester, the tester's use of the range and a slope of the
 * tester's own over the metric; F test of these slopes. Step two, for metrics sure to part the panel: the slopes against each trait, one
 * point a tester, so that a small panel can't prove much about players at large. Each step has Holm's
 * adjustment over all attributes (`adjustSplits`).
 */
export function panelSplits(
  bench: Pick<Bench, "metrics" | "testers">,
  { attribute: _, table, shoes, testers, values, confidence }: {
    readonly attribute: Attribute;
    readonly table: readonly (readonly (number | null)[])[];
    readonly shoes: readonly string[];
    readonly testers: readonly string[];
    readonly values: ReadonlyMap<string, ReadonlyMap<string, number>>;
    readonly confidence: number;
  },
): readonly Unadjusted[] {
  return bench.metrics.flatMap((metric): Unadjusted[] => {
    const known = values.get(metric.id);
    if (known === undefined) return [];
    const used = shoes.map((shoe, i) => ({ i, value: known.get(shoe) }))
      .filter((row): row is { i: number; value: number } => row.value !== undefined)
      .filter(({ i }) => table[i].filter((rating) => rating !== null).length > 1);
    if (used.length < 4) return [];
    const spread = sampleStandardDeviation(used.map(({ value }) => value));
    if (!(spread > 0)) return [];
    const centre = mean(used.map(({ value }) => value));
    // Tester by tester, so that a tester's own columns touch neighbouring rows.
    const cells = testers.flatMap((_, j) =>
      used.flatMap(({ i, value }) => {
        const rating = table[i][j];
        return rating === null ? [] : [{ i, j, rating, z: (value - centre) / spread }];
      })
    );
    const present = testers.map((_, j) => j).filter((j) => cells.some((cell) => cell.j === j));
    // Testers who use more of the scale would part over every metric that goes with the panel's value.
    const level = shoeLevels(cells);
    const own = (value: (cell: (typeof cells)[number]) => number) => (j: number) =>
      cells.map((cell) => cell.j === j ? value(cell) : 0);
    const columns = (slopes: boolean) =>
      Object.fromEntries([
        ...present.flatMap((j) => [
          [`tester ${j}`, own(() => 1)(j)] as const,
          [`range ${j}`, own(({ i }) => level.get(i)!)(j)] as const,
          ...(slopes ? [[`slope ${j}`, own(({ z }) => z)(j)] as const] : []),
        ]),
      ]);
    const y = cells.map(({ rating }) => rating);
    const within = cells.map(({ i }) => i);
    const plain = weightedRegression(columns(false), y, { within });
    const sloped = weightedRegression(columns(true), y, { within });
    const extra = plain.freedom - sloped.freedom;
    if (extra < 1 || sloped.freedom < 4 || !(sloped.residualSquares > 1e-12)) return [];
    const f = (plain.residualSquares - sloped.residualSquares) / extra /
      (sloped.residualSquares / sloped.freedom);
    // Which tester's columns are left out shifts all slopes alike: only their differences mean something.
    const slopes = present.map((j) => sloped.coefficient(`slope ${j}`) ?? 0);
    const middle = mean(slopes);
    const tastes = present.map((j, t) => ({ tester: testers[j], taste: slopes[t] - middle }));
    return [{
      metric: metric.id,
      metric_title: metric.title,
      tastes,
      shoes: used.length,
      f,
      p: fUpper(Math.max(0, f), extra, sloped.freedom),
      traits: traitTests(tastes, bench.testers, confidence),
    }];
  });
}

/** Every shoe's mean rating after the testers' own means, about 0. */
function shoeLevels(
  cells: readonly { readonly i: number; readonly j: number; readonly rating: number }[],
): ReadonlyMap<number, number> {
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
 * @param risk of any false claim, for metrics and again for traits
 */
export function adjustSplits(
  byAttribute: readonly (readonly Unadjusted[])[],
  risk: number,
): PanelSplit[][] {
  const all = byAttribute.flat();
  const adjusted = adjustP(all.map(({ p }) => p), "holm");
  const familywise = new Map(all.map((split, i) => [split, adjusted[i]]));
  const sure = all.filter((split) => familywise.get(split)! < risk);
  const tests = sure.flatMap(({ traits }) => traits.filter(({ p }) => p !== null));
  const adjustedTraits = adjustP(tests.map(({ p }) => p!), "holm");
  const traitwise = new Map(tests.map((trait, i) => [trait, adjustedTraits[i]]));
  return byAttribute.map((splits) =>
    splits.map((split): PanelSplit => {
      const p_familywise = familywise.get(split)!;
      const traits = split.traits.map((trait): SplitTrait => {
        const own = traitwise.get(trait) ?? null;
        return { ...trait, p_familywise: own, found: own !== null && own < risk };
      });
      return { ...split, p_familywise, found: p_familywise < risk, traits };
    }).toSorted((a, b) => a.p - b.p || (a.metric < b.metric ? -1 : 1))
  );
}
