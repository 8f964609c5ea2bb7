import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench, IndexRule } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import type {
  MetricReliability,
  ReliabilityVerdict,
  TrialReliability,
} from "../repeatability/trial_reliability.ts";
import { ruleProposal, type RuleVerdict } from "./rule_proposal.ts";

/** One proposal of the bench and what becomes of it. */
export type ProposalOnFile = {
  readonly id: string;
  readonly title: string;
  readonly asked_on: string;
  /** Code of its registration; null where it was never registered. */
  readonly registered: string | null;
  /** Null where it can't be judged. */
  readonly verdict: RuleVerdict["verdict"] | null;
  readonly verdict_reason: Reason | null;
  readonly gain: Estimate | null;
};

/**
 * What becomes of every proposal in the bench's `proposals/`?
 *
 * Each is judged as `ruleProposal` judges it alone; one that can't be judged says why.
 *
 * @returns newest asked first
 */
export function proposalsOnFile(
  bench: Bench,
  { reliability, seed }: {
    readonly reliability: TrialReliability;
    readonly seed: number;
  },
): ProposalOnFile[] {
  option.check("studies.proposalsOnFile", arguments[1], {
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
  });
  const filed = bench.proposals.toSorted((a, b) =>
    a.asked_on < b.asked_on ? 1 : a.asked_on > b.asked_on ? -1 : a.id < b.id ? -1 : 1
  );
  return filed.map((proposal): ProposalOnFile => {
    const { id, title, asked_on } = proposal;
    try {
      const { verdict, gain, registered } = ruleProposal(bench, proposal, { reliability, seed });
      const code = registered?.code ?? null;
      return { id, title, asked_on, registered: code, verdict, verdict_reason: null, gain };
    } catch (error) {
      if (!(error instanceof CantAnswer)) throw error;
      const verdict_reason = error.reason;
      return { id, title, asked_on, registered: null, verdict: null, verdict_reason, gain: null };
    }
  });
}

/** How much of an index rests on a metric that the review would not publish, or can't judge. */
export type UnfitWeight = {
  readonly metric: string;
  readonly title: string;
  readonly verdict: ReliabilityVerdict;
  /** Of the sum of the rule's weights. */
  readonly share: number;
};

/**
 * Which weights of a rule rest on metrics that aren't fit to publish or can't be judged yet, and how much
 * of the rule is that?
 *
 * @param rule the rule in force; null gives an empty list
 * @returns the heaviest first
 */
export function unfitWeights(
  rule: Pick<IndexRule, "terms"> | null,
  metrics: readonly Pick<MetricReliability, "metric" | "title" | "verdict">[],
): UnfitWeight[] {
  const terms = rule?.terms ?? [];
  const whole = terms.reduce((sum, { weight }) => sum + weight, 0);
  const weightOf = (id: string) =>
    terms.filter(({ metric }) => metric === id).reduce((sum, { weight }) => sum + weight, 0);
  const unfit: readonly ReliabilityVerdict[] = [
    "not fit to publish",
    "too few shoes to tell",
    "can't tell",
  ];
  return metrics.filter(({ metric, verdict }) => unfit.includes(verdict) && weightOf(metric) > 0)
    .map(({ metric, title, verdict }) => ({
      metric,
      title,
      verdict,
      share: weightOf(metric) / whole,
    })).toSorted((a, b) => b.share - a.share);
}
