import * as option from "../options.ts";
import { drawnRankCorrelation } from "./drawn_rank_correlation.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { nestedRegression } from "./nested_regression.ts";
import type { NestedGroups } from "./nested_shares.ts";
import { normalScores } from "./normal_scores.ts";
import { orderStatistics } from "./order_statistics.ts";
import { ranks } from "./ranks.ts";
import type { Reason } from "./reason.ts";

/** How much closer one list of scores goes with a list of values than another does. */
export type RankGain = {
  /** Rank correlation of the new scores with the values, less that of the old ones. */
  readonly gain: Estimate;
  readonly old: Estimate;
  readonly new: Estimate;
};

/** Below this many rows nothing is estimated. */
export const FEWEST_ROWS = 6;

/**
 * Which of two lists of scores orders new rows more as the values do, and how sure is that?
 *
 * Values and scores are put in normal scores, the values regressed on both lists with groups of kin rows
 * (`nestedRegression`, nothing pulled), and the two rank correlations read off each draw; estimates are
 * medians, limits percentiles. Neither list may have been fitted to the values.
 *
 * @param lists values, old and new scores, one entry a row
 */
export function rankGain(
  { values, old, updated }: {
    readonly values: readonly number[];
    readonly old: readonly number[];
    readonly updated: readonly number[];
  },
  { groups, confidence, seed, draws = 4000 }: {
    readonly groups: NestedGroups;
    readonly confidence: number;
    readonly seed: number;
    readonly draws?: number;
  },
): RankGain {
  option.check("statistics.rankGain", arguments[0], {
    values: option.needed(option.listOf(option.number)),
    old: option.needed(option.listOf(option.number)),
    updated: option.needed(option.listOf(option.number)),
  });
  option.check("statistics.rankGain", arguments[1], {
    groups: option.needed(option.thing),
    confidence: option.needed(option.share),
    seed: option.needed(option.seed),
    draws: option.whole(0),
  });
  const n = values.length;
  const about = { confidence, n, method: `regression on both scores, rows kin, ${draws} draws` };
  const constant = [values, old, updated].map((list) => list.every((value) => value === list[0]));
  const reason: Reason | null = n < FEWEST_ROWS
    ? { code: "too-few", of: "rows", needed: FEWEST_ROWS, found: n }
    : constant[0]
    ? { code: "constant", which: "outcome" }
    : constant[1] || constant[2]
    ? { code: "constant", which: "scores" }
    : null;
  if (reason !== null) {
    const none = noEstimate(reason, about);
    return { gain: none, old: none, new: none };
  }
  const same = sameOrder(old, updated);
  const [y, before, after] = [values, old, updated].map(normalScores);
  const columns = same
    ? before.map((score) => [score])
    : before.map((score, i) => [score, after[i]]);
  const fit = nestedRegression(columns, y, { groups, toward: null, seed, draws })!;
  const oldDraws = drawnRankCorrelation(same ? [1] : [1, 0], fit.draws);
  const newDraws = same ? oldDraws : drawnRankCorrelation([0, 1], fit.draws);
  return {
    gain: estimateOf(newDraws.map((value, d) => value - oldDraws[d]), about),
    old: estimateOf(oldDraws, about),
    new: estimateOf(newDraws, about),
  };
}

/** Median and percentile limits of draws. */
export function estimateOf(
  draws: Float64Array,
  about: Pick<Estimate, "confidence" | "n" | "method">,
): Estimate {
  const sorted = orderStatistics(draws);
  const tail = (1 - about.confidence) / 2;
  return {
    estimate: sorted.quantile(0.5),
    estimate_reason: null,
    lower: sorted.quantile(tail),
    upper: sorted.quantile(1 - tail),
    ...about,
    warnings: [],
  };
}

function sameOrder(a: readonly number[], b: readonly number[]): boolean {
  const [first, second] = [ranks(a), ranks(b)];
  return first.every((rank, i) => rank === second[i]);
}
