import { mean, sum } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Visit } from "../../records/selection.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Attribute, Bench, Better, Metric } from "../../records/types.ts";
import { normalQuantile, normalUpper, tQuantile, tUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { AnswerParts } from "./answer_parts.ts";
import {
  askedAttribute,
  askedMetric,
  type AskedShoe,
  askedShoes,
  label,
} from "../shoes/asked_shoes.ts";
import { comparisonCautions, comparisonNotes } from "../../words/comparison/comparison_notes.ts";
import { comparisonAlt, comparisonSentence } from "../../words/comparison/comparison_sentence.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { holmLevels } from "../../statistics/holm_levels.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { panelValues } from "../panel/panel_values.ts";
import { betterDirection, type Standing, standing } from "../../statistics/percentile.ts";
import { sayReason } from "../../words/reasons.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import { testerPairs } from "../panel/tester_pairs.ts";
import type { MetricReliability, TrialReliability } from "../repeatability/trial_reliability.ts";

/** What the numbers let one say of two shoes. */
export type ComparisonWord = "differ" | "differ by enough to feel" | "alike" | "can't tell";

/** A bench metric or an impression that shoes are compared on. */
export type ComparedOn = {
  /** One of the two is null. */
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly title: string;
  /** UCUM code of a metric; null on the rating scale. */
  readonly unit: string | null;
  readonly decimals: number;
  readonly better: Better;
  readonly smallest_difference: number | null;
  /** Metric whose trials it is computed from, where that is compared too: the same evidence twice. */
  readonly same_evidence_as: string | null;
};

/** One shoe on one metric or impression. */
export type ComparedValue = Standing & {
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly shoe_id: string;
  /** With an interval from all the noise of the value by itself. */
  readonly value: Estimate;
  /** Trials, or ratings. */
  readonly readings: number;
  /** Visits, or testers. */
  readonly occasions: number;
  readonly last_benched: string | null;
};

/** Two shoes on one metric or impression. */
export type Comparison = {
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly a: string;
  readonly b: string;
  /** `a` minus `b`, with the interval that Holm's adjustment over everything asked leaves it. */
  readonly difference: Estimate;
  readonly standard_error: number | null;
  /** Degrees of freedom of the standard error; null stands for a normal distribution. */
  readonly freedom: number | null;
  /** As if nothing else had been asked. */
  readonly unadjusted: {
    readonly lower: number | null;
    readonly upper: number | null;
    readonly p: number | null;
  };
  readonly p_adjusted: number | null;
  /** Smallest difference of these two that would not be noise, as if nothing else had been asked. */
  readonly mdc: number | null;
  readonly mdc_reason: string | null;
  readonly word: ComparisonWord;
  /** The shoe that is shown to be better; null where none is, or more is neither good nor bad. */
  readonly ahead: string | null;
};

/** Two to six shoes compared. */
export type ShoeComparison = AnswerParts & {
  readonly question: "comparison";
  readonly confidence: number;
  readonly adjustment: string;
  readonly shoes: readonly {
    readonly shoe_id: string;
    readonly name: string;
    /** The name without the maker, where that is enough to tell the shoes apart. */
    readonly label: string;
    readonly size: number | null;
    readonly size_system: string | null;
    readonly width: string | null;
  }[];
  /** What they are compared on, in the order asked: metrics, then impressions. */
  readonly compared_on: readonly ComparedOn[];
  readonly values: readonly ComparedValue[];
  readonly comparisons: readonly Comparison[];
  /** Comparisons that share Holm's adjustment. */
  readonly family: number;
  readonly ratings: number;
};

/** What is asked, and on whose noise it is answered. */
export type ShoeComparisonOptions = {
  /** Two to six ids; the first is the one that the others are set against. */
  readonly shoes: readonly string[];
  /** Metric ids; all that at least two of the shoes have, unless named. */
  readonly metrics?: readonly string[];
  /** Impressions to compare too; none unless named. */
  readonly attributes?: readonly string[];
  readonly reliability: Pick<TrialReliability, "metrics">;
  readonly confidence?: number;
};

/**
 * How do these shoes differ, and is the difference more than noise?
 *
 * On the bench: difference of the shoes' values (means of visits) with a standard error from the
 * metric's variance components, each visit's number of trials, and what sessions and operators the two
 * share (`pairNoise`), on t with Satterthwaite's degrees of freedom. On court: mean difference of the
 * testers who wore both, paired t. Holm's adjustment runs over every pair and everything asked, and
 * each interval is drawn at the risk of its step, so that it leaves out 0 when Holm rejects.
 *
 * Words: *differ* when the interval leaves out 0; *differ by enough to feel* when all of it lies past
 * the metric's smallest difference; *alike* when it lies within plus or minus that; else *can't tell*.
 * No false *differ* in 95 of 100 questions at a confidence of 0.95; for the other two words the risk is
 * that of each interval.
 *
 * A shoe with a single trial on a metric is not compared on it: nothing could tell that trial from a slip.
 *
 * @param bench cut at a date with `benchUntil` if need be
 * @returns one comparison for each pair and each thing asked, null with a reason where it can't be made
 * @throws {RangeError} if shoes are fewer than two, more than six or unknown (nearest ids offered), a
 * metric or attribute is unknown, or the shoes have nothing in common to compare
 */
export function shoeComparison(
  bench: Bench,
  { shoes: ids, metrics, attributes = [], reliability, confidence = bench.settings.confidence }:
    ShoeComparisonOptions,
): ShoeComparison {
  if (!(confidence > 0.5 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0.5 and 1, was given ${confidence}`);
  }
  const shoes = askedShoes(bench, ids);
  if (shoes.length < 2 || shoes.length > 6) {
    throw new CantAnswer(
      { code: "asked-count", what: "shoe", least: 2, given: shoes.length },
      `A comparison takes two to six shoes, was given ${
        shoes.length === 0 ? "none" : shoes.length === 1 ? `only ${ids[0]}` : shoes.length
      }`,
    );
  }
  const asked = [
    ...wanted(metrics ?? bench.metrics.map(({ id }) => id)).map((id) =>
      onBench(bench, askedMetric(bench, id), { shoes, reliability, confidence })
    ),
    ...wanted(attributes).map((id) => onCourt(bench, askedAttribute(bench, id), shoes, confidence)),
  ];
  // Where everything is asked, what only one of the shoes has is named in a note and left out.
  const kept = asked.filter(({ on, values }) =>
    metrics !== undefined || on.metric === null || values.length > 1
  );
  const apart = asked.filter((side) => !kept.includes(side)).map(({ on }) => on.title);
  const derived = derivedMetrics(
    bench.metrics.filter(({ id }) => kept.some(({ on }) => on.metric === id)),
  );
  const sides = kept.map((side): ComparedSide => ({
    ...side,
    on: { ...side.on, same_evidence_as: derived.get(side.on.metric ?? "") ?? null },
  }));
  requireCommon(shoes, sides);

  const raw = sides.flatMap((side) => side.pairs);
  const testable = raw.filter((pair) => pair.p !== null);
  const levels = holmLevels(testable.map((pair) => pair.p!), 1 - confidence);
  const levelOf = new Map(testable.map((pair, index) => [pair, levels[index]]));
  const comparisons = sides.flatMap(({ on, pairs }) =>
    pairs.map((pair) =>
      settle(pair, on, { level: levelOf.get(pair), family: testable.length, confidence })
    )
  );
  const values = sides.flatMap((side) => side.values);
  const visits = sides.flatMap((side) => side.visits);
  const about = {
    question: "comparison" as const,
    confidence,
    adjustment: `Holm over ${testable.length} comparisons; each interval at the risk of its step, ${
      Math.round(confidence * 100)
    }% together`,
    shoes: shoes.map(({ shoe_id, name, shoe }) => ({
      shoe_id,
      name,
      label: label(shoes, shoe_id),
      size: shoe.size,
      size_system: shoe.size_system,
      width: shoe.width,
    })),
    compared_on: sides.map(({ on }) => on),
    values,
    comparisons,
    family: testable.length,
    trials: sum(visits.map((visit) => visit.values.length)),
    ratings: sum(values.filter((row) => row.attribute !== null).map((row) => row.readings)),
    last_trial: visits.map((visit) => visit.date).sort().at(-1) ?? null,
  };
  return {
    ...about,
    sentence: comparisonSentence(about),
    alt: comparisonAlt(about),
    notes: comparisonNotes(bench, { shoes, sides, apart, reliability }),
    cautions: comparisonCautions(bench, sides.map(({ on }) => on)),
    warnings: [...new Set(sides.flatMap((side) => side.warnings))],
  };
}

/** One metric or impression, its values and its pairs before they are adjusted for each other. */
export type ComparedSide = {
  readonly on: ComparedOn;
  readonly values: readonly ComparedValue[];
  readonly pairs: readonly RawPair[];
  readonly visits: readonly Visit[];
  readonly warnings: readonly string[];
};

/** Two shoes, before the adjustment. */
export type RawPair = {
  readonly a: string;
  readonly b: string;
  readonly difference: number | null;
  readonly reason: string | null;
  readonly standard_error: number | null;
  readonly freedom: number;
  readonly p: number | null;
  readonly n: number;
  readonly method: string;
};

function wanted(ids: readonly string[]): string[] {
  return [...new Set(ids)];
}

function onBench(
  bench: Bench,
  metric: Metric,
  { shoes, reliability, confidence }: {
    readonly shoes: readonly AskedShoe[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence: number;
  },
): ComparedSide {
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  const visits = publishedVisits(bench, metric.id);
  const byShoe = Map.groupBy(visits, (visit) => visit.shoe_id);
  const catalogue = shoeValues(bench, metric.id, metricNoise(about));
  const values = shoes.flatMap(({ shoe_id }): ComparedValue[] => {
    const own = catalogue.find((row) => row.shoe_id === shoe_id);
    if (own === undefined) return [];
    return [{
      metric: metric.id,
      attribute: null,
      shoe_id,
      value: valueEstimate(own.value, byShoe.get(shoe_id)!, about, confidence),
      readings: own.trials,
      occasions: own.visits,
      last_benched: own.last_benched,
      ...standing(
        own.value,
        catalogue.map((row) => row.value),
        betterDirection(metric.better),
      ),
    }];
  });
  return {
    on: {
      metric: metric.id,
      attribute: null,
      title: metric.title,
      unit: metric.unit,
      decimals: metric.decimals,
      better: metric.better,
      smallest_difference: metric.smallest_difference,
      same_evidence_as: null,
    },
    values,
    pairs: pairsOf(shoes).map(([a, b]) => benchPair([a, b], byShoe, about, metric)),
    visits: visits.filter((visit) => shoes.some(({ shoe_id }) => shoe_id === visit.shoe_id)),
    warnings: [],
  };
}

function valueEstimate(
  value: number,
  visits: readonly Visit[],
  about: MetricReliability | undefined,
  confidence: number,
): Estimate {
  const noise = pairNoise(visits, [], about);
  const n = sum(visits.map((visit) => visit.values.length));
  const half = noise === null
    ? null
    : tQuantile((1 + confidence) / 2, noise.freedom) * Math.sqrt(noise.variance);
  return {
    estimate: value,
    estimate_reason: null,
    lower: half === null ? null : value - half,
    upper: half === null ? null : value + half,
    confidence,
    method: half === null
      ? "mean of visits; no interval, since no shoe was read twice"
      : "mean of visits, t interval from the metric's variance components",
    n,
    warnings: [],
  };
}

function benchPair(
  [a, b]: readonly [AskedShoe, AskedShoe],
  byShoe: ReadonlyMap<string, readonly Visit[]>,
  about: MetricReliability | undefined,
  metric: Metric,
): RawPair {
  const [own, other] = [a, b].map(({ shoe_id }) => byShoe.get(shoe_id) ?? []);
  const trialsOf = (visits: readonly Visit[]) => sum(visits.map((visit) => visit.values.length));
  const pair = {
    a: a.shoe_id,
    b: b.shoe_id,
    n: trialsOf(own) + trialsOf(other),
    method:
      "difference of means of visits, t from the metric's variance components (Satterthwaite)",
  };
  const none = (reason: string): RawPair => ({
    ...pair,
    difference: null,
    reason,
    standard_error: null,
    freedom: 0,
    p: null,
  });
  for (const [shoe, visits] of [[a, own], [b, other]] as const) {
    const trials = trialsOf(visits);
    if (trials === 0) return none(`${shoe.name} has no trial on ${metric.id}`);
    if (trials === 1) {
      return none(`${shoe.name} has one trial on ${metric.id}, which nothing can tell from a slip`);
    }
  }
  const noise = pairNoise(own, other, about);
  if (noise === null) {
    return none(
      sayReason(about?.components_reason ?? null) ??
        "the noise of the metric is unknown, since no shoe was read twice",
    );
  }
  const valueOf = (visits: readonly Visit[]) =>
    mean(visits.map((visit) => mean([...visit.values])));
  return withP({
    ...pair,
    difference: valueOf(own) - valueOf(other),
    reason: null,
    standard_error: Math.sqrt(noise.variance),
    freedom: noise.freedom,
  });
}

function onCourt(
  bench: Bench,
  attribute: Attribute,
  shoes: readonly AskedShoe[],
  confidence: number,
): ComparedSide {
  const panel = panelValues(bench, attribute.id);
  const { step } = bench.settings.rating;
  const values = shoes.flatMap(({ shoe_id }): ComparedValue[] => {
    const own = panel.shoes.find((row) => row.shoe_id === shoe_id);
    if (own === undefined) return [];
    const half = own.standard_error === null
      ? null
      : normalQuantile((1 + confidence) / 2) * own.standard_error;
    return [{
      metric: null,
      attribute: attribute.id,
      shoe_id,
      value: {
        estimate: own.value,
        estimate_reason: null,
        lower: half === null ? null : own.value - half,
        upper: half === null ? null : own.value + half,
        confidence,
        method: "panel value adjusted for the testers' leniency, normal interval",
        n: own.ratings,
        warnings: panel.connected ? [] : panel.warnings,
      },
      readings: own.ratings,
      occasions: own.testers,
      last_benched: null,
      ...standing(
        own.value,
        panel.shoes.map((row) => row.value),
        betterDirection(attribute.better),
      ),
    }];
  });
  return {
    on: {
      metric: null,
      attribute: attribute.id,
      title: `${attribute.title} on court`,
      unit: null,
      decimals: step < 1 ? 1 : 0,
      better: attribute.better,
      smallest_difference: null,
      same_evidence_as: null,
    },
    values,
    pairs: pairsOf(shoes).map(([a, b]) => {
      const { difference, reason, standard_error, freedom, testers } = testerPairs(
        bench,
        attribute.id,
        [a.shoe_id, b.shoe_id],
      );
      return withP({
        a: a.shoe_id,
        b: b.shoe_id,
        difference,
        reason: reason === null ? null : `${reason} ${a.name} and ${b.name}`,
        standard_error,
        freedom,
        n: testers,
        method: "mean difference of the testers who rated both, paired t",
      });
    }),
    visits: [],
    warnings: panel.warnings,
  };
}

function pairsOf(shoes: readonly AskedShoe[]): [AskedShoe, AskedShoe][] {
  return shoes.flatMap((a, index) =>
    shoes.slice(index + 1).map((b): [AskedShoe, AskedShoe] => [a, b])
  );
}

function withP(pair: Omit<RawPair, "p">): RawPair {
  const { difference, standard_error, freedom } = pair;
  if (difference === null || standard_error === null) return { ...pair, p: null };
  if (standard_error === 0) return { ...pair, p: difference === 0 ? 1 : 0 };
  const t = Math.abs(difference) / standard_error;
  const p = freedom === Infinity ? 2 * normalUpper(t) : 2 * tUpper(t, freedom);
  return { ...pair, p: Math.min(1, p) };
}

function settle(
  pair: RawPair,
  on: ComparedOn,
  { level, family, confidence }: {
    readonly level: { readonly p_adjusted: number; readonly alpha: number } | undefined;
    readonly family: number;
    readonly confidence: number;
  },
): Comparison {
  const { a, b, difference, standard_error, freedom, n, method } = pair;
  const shared = { metric: on.metric, attribute: on.attribute, a, b };
  if (difference === null || standard_error === null || level === undefined) {
    const reason = pair.reason ?? "the noise is unknown";
    return {
      ...shared,
      difference: noEstimate(reason, { confidence, method, n }),
      standard_error: null,
      freedom: null,
      unadjusted: { lower: null, upper: null, p: null },
      p_adjusted: null,
      mdc: null,
      mdc_reason: reason,
      word: "can't tell",
      ahead: null,
    };
  }
  const reach = (risk: number) =>
    standard_error === 0 ? 0 : standard_error * quantile(1 - risk / 2, freedom);
  const [plain, adjusted] = [reach(1 - confidence), reach(level.alpha)];
  const [lower, upper] = [difference - adjusted, difference + adjusted];
  const word = wordFor({ lower, upper }, level.p_adjusted <= 1 - confidence, on);
  const direction = betterDirection(on.better);
  const differs = word === "differ" || word === "differ by enough to feel";
  return {
    ...shared,
    difference: {
      estimate: difference,
      estimate_reason: null,
      lower,
      upper,
      confidence,
      method: family === 1 ? method : `${method}; Holm over ${family} comparisons`,
      n,
      warnings: [],
    },
    standard_error,
    freedom: freedom === Infinity ? null : freedom,
    unadjusted: { lower: difference - plain, upper: difference + plain, p: pair.p },
    p_adjusted: level.p_adjusted,
    mdc: plain,
    mdc_reason: null,
    word,
    ahead: !differs || direction === 0 ? null : difference * direction > 0 ? a : b,
  };
}

function quantile(p: number, freedom: number): number {
  return freedom === Infinity ? normalQuantile(p) : tQuantile(p, freedom);
}

function wordFor(
  { lower, upper }: { readonly lower: number; readonly upper: number },
  differs: boolean,
  { smallest_difference: margin }: ComparedOn,
): ComparisonWord {
  if (differs) {
    return margin !== null && (lower > margin || upper < -margin)
      ? "differ by enough to feel"
      : "differ";
  }
  return margin !== null && lower > -margin && upper < margin ? "alike" : "can't tell";
}

/** A question that no number can be given to is a wrong call, not a finding. */
function requireCommon(shoes: readonly AskedShoe[], sides: readonly ComparedSide[]): void {
  const pairs = sides.flatMap((side) => side.pairs);
  if (pairs.some((pair) => pair.p !== null)) return;
  const names = shoes.map(({ name }) => name).join(", ");
  const reasons = [...new Set(pairs.map((pair) => pair.reason ?? ""))].filter((text) =>
    text !== ""
  );
  throw new CantAnswer(
    { code: "not-comparable", shoes: shoes.map(({ shoe_id }) => shoe_id) },
    reasons.length === 0
      ? `${names} have no metric in common to be compared on`
      : `${names} can't be compared on what was asked: ${reasons.slice(0, 4).join("; ")}${
        reasons.length > 4 ? `; and ${reasons.length - 4} more reasons` : ""
      }`,
  );
}
