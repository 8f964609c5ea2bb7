import { CantAnswer } from "../../records/cant_answer.ts";
import type { Reason } from "../../statistics/reason.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import type { MetricReliability, TrialReliability } from "./trial_reliability.ts";

/** One reading, as it stands among the others. */
export type DrawnTrial = {
  readonly trial: number;
  readonly value: number;
  /** Line in trials.csv. */
  readonly line: number;
  readonly flagged: boolean;
};

/** One visit of a shoe. */
export type DrawnVisit = {
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly rig: string | null;
  readonly mean: number;
  readonly trials: readonly DrawnTrial[];
};

/** One shoe with all its readings. */
export type DrawnShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly reference: boolean;
  /** Mean of its visits' means. */
  readonly value: number;
  readonly visits: readonly DrawnVisit[];
};

/** Every reading of one metric, shoe by shoe. */
export type MetricTrials = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly confidence: number;
  /** Highest value first. */
  readonly shoes: readonly DrawnShoe[];
  /** Smallest difference of two published means that is not noise, and what kind of means. */
  readonly mdc: number | null;
  readonly mdc_reason: Reason | null;
  readonly mdc_of: "two sessions" | "one session";
  /** The shoe in the middle, from which the MDC is drawn; null without shoes. */
  readonly middle: {
    readonly shoe_id: string;
    readonly name: string;
    readonly value: number;
  } | null;
  /** Shoes whose value is less than the MDC away from the middle one's, itself left out. */
  readonly like_the_middle: number;
};

/**
 * What was read of one metric, trial by trial, and how far must a shoe be away to differ?
 *
 * @param reliability as `trialReliability` found it; must hold the metric
 * @throws {RangeError} if it does not
 */
export function metricTrials(
  bench: Bench,
  reliability: TrialReliability,
  metric: string,
): MetricTrials {
  const study = metricOf(reliability, metric);
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const flagged = new Set(
    study.outliers.map((flag) => flagKey(flag.session_id, flag.shoe_id, flag)),
  );
  const shoes = [...Map.groupBy(visitsOf(bench, metric), ({ shoe_id }) => shoe_id)]
    .map(([shoe_id, visits]): DrawnShoe => {
      const drawn = visits.map((visit): DrawnVisit => ({
        session_id: visit.session_id,
        date: visit.date,
        operator: visit.operator,
        rig: visit.rig,
        mean: momentsOf(visit.values).mean,
        trials: visit.trials.map((trial): DrawnTrial => ({
          trial: trial.trial,
          value: trial.value!,
          line: trial.line,
          flagged: flagged.has(flagKey(visit.session_id, shoe_id, trial)),
        })),
      }));
      return {
        shoe_id,
        name: names.get(shoe_id) ?? shoe_id,
        reference: bench.settings.reference_shoes.includes(shoe_id),
        value: momentsOf(drawn.map(({ mean }) => mean)).mean,
        visits: drawn,
      };
    })
    .toSorted((a, b) => b.value - a.value || (a.shoe_id < b.shoe_id ? -1 : 1));
  const across = study.mdc.mean_across_sessions.estimate;
  const used = across === null ? study.mdc.mean : study.mdc.mean_across_sessions;
  const middle = shoes[Math.floor((shoes.length - 1) / 2)] ?? null;
  return {
    metric,
    title: study.title,
    unit: study.unit,
    decimals: study.decimals,
    confidence: reliability.confidence,
    shoes,
    mdc: used.estimate,
    mdc_reason: used.estimate_reason,
    mdc_of: across === null ? "one session" : "two sessions",
    middle: middle === null
      ? null
      : { shoe_id: middle.shoe_id, name: middle.name, value: middle.value },
    like_the_middle: middle === null || used.estimate === null
      ? 0
      : shoes.filter((shoe) =>
        shoe !== middle && Math.abs(shoe.value - middle.value) < used.estimate!
      ).length,
  };
}

/** One metric's study, by its id. */
export function metricOf(reliability: TrialReliability, metric: string): MetricReliability {
  const found = reliability.metrics.find((one) => one.metric === metric);
  if (found === undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "metric", id: metric },
      `The study holds no metric "${metric}", but ${
        reliability.metrics.map((one) => one.metric).join(", ")
      }`,
    );
  }
  return found;
}

function flagKey(
  session: string,
  shoe: string,
  { trial, pair, side }: {
    readonly trial: number;
    readonly pair: number;
    readonly side: string | null;
  },
): string {
  return JSON.stringify([session, shoe, pair, side, trial]);
}
