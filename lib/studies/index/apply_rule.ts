import { mean, sampleStandardDeviation, sum } from "simple-statistics";
import type { Bench, IndexRule, Metric, Shoe } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Metric id → shoe id → value in the metric's unit. */
export type MetricTable = ReadonlyMap<string, ReadonlyMap<string, number>>;

/** How one term of a rule contributed to a shoe's score. */
export type TermContribution = {
  readonly metric: string;
  readonly value: number | null;
  readonly value_reason: Reason | null;
  /** After scaling: 0 to 1 on a range, a z-score on the standard scale. */
  readonly scaled: number | null;
  readonly weight: number;
  /** In points of the index. */
  readonly points: number | null;
};

/** What a rule makes of one shoe. */
export type RuleScore = {
  readonly shoe_id: string;
  readonly score: number | null;
  readonly score_reason: Reason | null;
  readonly terms: readonly TermContribution[];
  readonly missing_terms: readonly string[];
  /** True when the score stands on the terms present, as the rule allows. */
  readonly reweighted: boolean;
  readonly bonuses: readonly { readonly feature: string; readonly points: number }[];
  /** Features the rule rewards that nobody has checked on this shoe. */
  readonly unchecked_features: readonly string[];
};

/**
 * What does a rule make of every shoe?
 *
 * Index = offset + multiplier × Σ weight × scaled value + Σ points of the features present. A feature
 * that is unknown or never checked earns nothing and is named. With `missing: "reweight"` the weights
 * of the terms present are raised to the rule's whole weight; with `"withhold"` there is no score. A shoe
 * that the rule isn't for (`where`) has none either.
 *
 * @param table every metric's values
 * @param options `catalogue`: where the `standard` scaling takes its mean and spread from, if elsewhere
 * @returns one row a shoe of the bench, in the bench's order
 */
export function applyRule(
  bench: Pick<Bench, "shoes" | "features" | "metrics">,
  rule: IndexRule,
  table: MetricTable,
  { catalogue = table }: { readonly catalogue?: MetricTable } = {},
): readonly RuleScore[] {
  const isFor = shoesOf(rule);
  const scales = termScales(bench.metrics, rule, catalogue);
  const features = Map.groupBy(bench.features, ({ shoe_id }) => shoe_id);
  const wholeWeight = sum(rule.terms.map((term) => term.weight));

  return bench.shoes.map(({ shoe_id, surface }): RuleScore => {
    const read = rule.terms.map((term, index) => {
      const value = table.get(term.metric)?.get(shoe_id) ?? null;
      return { ...term, value, scaled: value === null ? null : scales[index](value) };
    });
    const missing_terms = [
      ...new Set(
        read.filter((term) => term.scaled === null).map((term) => term.metric),
      ),
    ];
    const weightPresent = sum(
      read.filter((term) => term.scaled !== null).map((term) => term.weight),
    );
    const withheld = missing_terms.length > 0 && rule.missing === "withhold";
    const reason: Reason | null = !isFor({ surface })
      ? {
        code: "rule-for-other-courts",
        courts: rule.where!.surface,
        ...(surface === null ? {} : { court: surface }),
      }
      : withheld
      ? { code: "score-withheld", metrics: missing_terms }
      : weightPresent === 0
      ? { code: "no-term-has-a-value" }
      : null;
    const factor = rule.missing === "reweight" && weightPresent > 0
      ? wholeWeight / weightPresent
      : 1;
    const terms = read.map((term): TermContribution => ({
      metric: term.metric,
      value: term.value,
      value_reason: term.value === null
        ? { code: "not-benched" }
        : term.scaled === null
        ? { code: "no-spread-to-scale-by" }
        : null,
      scaled: term.scaled,
      weight: term.scaled === null ? term.weight : term.weight * factor,
      points: term.scaled === null ? null : rule.multiplier * term.weight * factor * term.scaled,
    }));
    const known = features.get(shoe_id) ?? [];
    const state = (feature: string) =>
      known.findLast(({ feature_id }) => feature_id === feature)?.present ?? "unknown";
    const bonuses = rule.bonuses.filter((bonus) => state(bonus.feature) === "yes");
    return {
      shoe_id,
      score: reason !== null ? null : rule.offset + sum(terms.map((term) => term.points ?? 0)) +
        sum(bonuses.map((bonus) => bonus.points)),
      score_reason: reason,
      terms,
      missing_terms,
      reweighted: reason === null && missing_terms.length > 0,
      bonuses: bonuses.map(({ feature, points }) => ({ feature, points })),
      unchecked_features: rule.bonuses.map((bonus) => bonus.feature)
        .filter((feature) => state(feature) === "unknown"),
    };
  });
}

/**
 * What would a rule make of every shoe, if the catalogue were all the others?
 *
 * As `applyRule`, but each shoe is set against a mean and spread that it had no part in. Without a
 * `standard` scaling that changes nothing.
 */
export function applyRuleToNewcomers(
  bench: Pick<Bench, "shoes" | "features" | "metrics">,
  rule: IndexRule,
  table: MetricTable,
): readonly RuleScore[] {
  if (rule.terms.every(({ scaling }) => scaling.kind !== "standard")) {
    return applyRule(bench, rule, table);
  }
  const features = Map.groupBy(bench.features, ({ shoe_id }) => shoe_id);
  return bench.shoes.flatMap((shoe) => {
    const catalogue = new Map(
      [...table].map(([metric, byShoe]) => [
        metric,
        new Map([...byShoe].filter(([id]) => id !== shoe.shoe_id)),
      ]),
    );
    const own = { ...bench, shoes: [shoe], features: features.get(shoe.shoe_id) ?? [] };
    return applyRule(own, rule, table, { catalogue });
  });
}

/**
 * How does each term of a rule turn a value into its scaled part?
 *
 * @returns one function a term: 0 to 1 and clamped on a `range`; of the last step reached on `steps`; a z-score against the catalogue on
 * `standard`, turned so that more is better; null where the catalogue has no spread
 */
export function termScales(
  metrics: readonly Metric[],
  rule: IndexRule,
  table: MetricTable,
): readonly ((value: number) => number | null)[] {
  return rule.terms.map(({ metric, scaling }) => {
    if (scaling.kind === "range") {
      const { low, high } = scaling;
      return (value) => Math.min(1, Math.max(0, (value - low) / (high - low)));
    }
    if (scaling.kind === "steps") {
      return (value) => stepScore(scaling.at, value);
    }
    const about = metrics.find(({ id }) => id === metric)!;
    const goodness = moreIsBetter(about);
    const catalogue = [...table.get(metric)?.values() ?? []].map(goodness);
    const spread = catalogue.length < 2 ? 0 : sampleStandardDeviation(catalogue);
    if (!(spread > 0)) return () => null;
    const centre = mean(catalogue);
    return (value) => (goodness(value) - centre) / spread;
  });
}

/** Which shoes a rule is for, by its `where`. */
export function shoesOf(
  { where }: IndexRule,
): (shoe: Pick<Shoe, "surface">) => boolean {
  return where === null
    ? () => true
    : ({ surface }) => surface !== null && where.surface.includes(surface);
}

/** The score of the last step reached: upward where the steps rise, downward where they fall. */
function stepScore(
  steps: readonly (readonly [number, number])[],
  value: number,
): number {
  const down = steps.length > 1 && steps[1][0] < steps[0][0];
  const reached = steps.filter(([at]) => down ? value <= at : value >= at);
  return reached.at(-1)?.[1] ?? 0;
}

/** Turns a metric so that more is better: away from a target range counts against it. */
function moreIsBetter({ better, target }: Metric): (value: number) => number {
  if (better === "lower") return (value) => -value;
  if (better === "target" && target !== null) {
    return (value) => -Math.max(0, target.low - value, value - target.high);
  }
  return (value) => value;
}
