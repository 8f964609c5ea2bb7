import type { Reason } from "../../statistics/reason.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** What every answer to a viewer's question says beside its figures. */
export type AnswerParts = {
  /** Trials used. */
  readonly trials: number;
  /** Day of the last of them. */
  readonly last_trial: string | null;
  readonly warnings: readonly Reason[];
};

/** Is this answer said of the pairs benched, since no model had a second one on some of its metrics? */
export function isOfPairs({ warnings }: Pick<AnswerParts, "warnings">): boolean {
  return warnings.some(({ code }) => code === "said-of-one-pair");
}

/**
 * Of which of an answer's metrics was one pair of each shoe benched, so that it speaks of these pairs?
 *
 * @param metrics ids; those without a study are passed over
 * @returns one warning, with their titles unless it is of all of them; none where pairs of one shoe were told apart
 */
export function onePairWarnings(
  reliability: Pick<TrialReliability, "metrics">,
  metrics: readonly string[],
): Reason[] {
  const studied = reliability.metrics.filter(({ metric }) => metrics.includes(metric));
  const single = studied.filter(({ unseen }) => unseen?.includes("pairs"));
  return single.length === 0 ? [] : [{
    code: "said-of-one-pair",
    titles: single.length === studied.length ? [] : single.map(({ title }) => title),
  }];
}
