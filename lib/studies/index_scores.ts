import { quantileSorted, sampleStandardDeviation } from "simple-statistics";
import type { Bench, IndexRule } from "../records/types.ts";
import { rankIntervals } from "../statistics/rank_intervals.ts";
import { randomStream } from "../statistics/random_stream.ts";
import { applyRule, type MetricTable, type RuleScore, termScales } from "./apply_rule.ts";
import { shoeName } from "./shoe_name.ts";
import { metricNoise, type ShoeValue, shoeValues } from "./shoe_values.ts";
import type { TrialReliability } from "./trial_reliability.ts";

/** One shoe under a rule. */
export type ShoeScore = RuleScore & {
  readonly name: string;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Why there is a score but no interval, or neither. */
  readonly interval_reason: string | null;
  readonly rank: number | null;
  /** Simultaneous over all shoes. */
  readonly rank_lower: number | null;
  readonly rank_upper: number | null;
  /** Shoes that share a band can't be told apart from the best of it; 1 is the best. */
  readonly band: number | null;
};

/** The index table under one rule. */
export type IndexScores = {
  readonly rule: Pick<IndexRule, "id" | "version" | "title" | "effective">;
  readonly confidence: number;
  readonly method: string;
  /** Best first; shoes without a score last. */
  readonly shoes: readonly ShoeScore[];
  readonly bands: number;
  readonly sentence: string;
  readonly warnings: readonly string[];
};
