import * as option from "../../options.ts";
import { benchUntil, quarterEnd } from "../../records/quarters.ts";
import { ruleInForce } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { benchCoverage } from "../coverage/bench_coverage.ts";
import { referenceDrift } from "../drift/reference_drift.ts";
import { applyRule } from "../index/apply_rule.ts";
import { indexScores } from "../index/index_scores.ts";
import { ruleValues } from "../index/rule_values.ts";
import { claimsThen, type QuarterLook } from "../prediction/claim_history.ts";
import { trialReliability } from "../repeatability/trial_reliability.ts";
import { type IndexSteps, type ReviewState, reviewState } from "./review_changes.ts";

/** An earlier review as today's files give it, and what its index needs to be held against today's. */
export type EarlierReview = {
  readonly state: ReviewState;
  readonly steps: IndexSteps;
  /** The quarters that its claims look back on and its own, for `courtPrediction` of the later review. */
  readonly looked: readonly QuarterLook[];
};

/**
 * What would the review of an earlier quarter say, from today's files?
 *
 * Readings excluded or mended since are so here too: what that moved shows only against the review that was
 * made then. A correction to the reference shoes counts from the day of its decision, if that is on file.
 *
 * @param everything the whole bench
 * @param options.quarter the earlier one; `until` the day of the later review
 */
export function earlierReview(
  everything: Bench,
  { quarter, until, seed }: {
    readonly quarter: string;
    readonly until: string;
    readonly seed: number;
  },
): EarlierReview {
  option.check("studies.earlierReview", arguments[1], {
    quarter: option.needed(option.text),
    until: option.needed(option.text),
    seed: option.needed(option.seed),
  });
  const bench = benchUntil(everything, quarterEnd(quarter));
  // What is held against today's review are verdicts and variances; no limit of a variance is.
  const reliability = trialReliability(bench, { componentLimits: false, seed });
  // Claims stand on the grid alone: no ceiling, no model of several metrics has a say in them.
  const { pairs, looked } = claimsThen(bench, { seed });
  const state = reviewState({
    coverage: benchCoverage(bench, { quarter }),
    reliability,
    drift: referenceDrift(bench),
    prediction: { pairs },
    scores: indexScores(bench, {
      reliability,
      rule: ruleInForce(bench, quarterEnd(quarter)),
      seed,
    }),
  });
  return { state, steps: indexSteps(everything, { quarter, until }), looked };
}

/**
 * The index tables between two reviews, all under the rule of then: then's data as corrected then and as
 * corrected now, and now's data.
 *
 * @param options.until the day of the later review
 * @param options.corrected metrics that were corrected to the reference shoes then; by the decisions on file
 * unless given
 */
export function indexSteps(
  everything: Bench,
  { quarter, until, corrected }: {
    readonly quarter: string;
    readonly until: string;
    readonly corrected?: readonly string[];
  },
): IndexSteps {
  option.check("studies.indexSteps", arguments[1], {
    quarter: option.needed(option.text),
    until: option.needed(option.text),
    corrected: option.listOf(option.text),
  });
  const end = quarterEnd(quarter);
  const rule = ruleInForce(everything, end);
  // Scores alone: what noise does to them has no part in where they moved to.
  const today = benchUntil(everything, until).settings.corrected_metrics;
  const table = (day: string, corrected_metrics: readonly string[]) => {
    const cut = benchUntil(everything, day);
    const bench = { ...cut, settings: { ...cut.settings, corrected_metrics } };
    if (rule === null) return [];
    return applyRule(
      bench,
      rule,
      ruleValues(bench, rule.terms.map(({ metric }) => metric), null).table,
    );
  };
  const before = corrected ?? benchUntil(everything, end).settings.corrected_metrics;
  return { as_then: table(end, before), then: table(end, today), old_rule: table(until, today) };
}
