import type { IndexRule } from "../../records/types.ts";
import type { ProposalOnFile, UnfitWeight } from "../../studies/proposal/proposals_on_file.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords, type ReviewRow } from "../review/review_tables.ts";
import { listed, midSentence, percent } from "../phrases.ts";

/** Every proposal on file with its verdict, a row each. */
export function filedRows(filed: readonly ProposalOnFile[]): ReviewRow[] {
  return filed.map(({ title, asked_on, registered, verdict, verdict_reason, gain }) => ({
    proposal: title,
    "asked on": asked_on,
    registered: registered ?? "not registered",
    verdict: verdict ?? (verdict_reason === null ? null : sayReason(verdict_reason)),
    "gain on shoes not seen": gain === null ? null : estimateInWords(gain, 2),
  }));
}

/**
 * How much of the index rests on metrics that aren't fit to publish, and how much on such as nobody can judge
 * yet?
 *
 * @param rule the rule that the weights are of; null if none is in force
 */
export function unfitSentence(
  unfit: readonly UnfitWeight[],
  rule: Pick<IndexRule, "id"> | null,
): string {
  if (rule === null) return "No rule is in force, so no weight rests on anything.";
  if (unfit.length === 0) {
    return "Every weight of the rule in force rests on a metric that is fit to publish in some form.";
  }
  const about = (those: readonly UnfitWeight[], one: string, several: string) => {
    const whole = those.reduce((sum, { share }) => sum + share, 0);
    return those.length === 0 ? [] : [
      `${percent(whole)} of the weight in force rests on ${those.length === 1 ? one : several}: ${
        listed(those.map(({ title, share }) => `${midSentence(title)} (${percent(share)})`))
      }.`,
    ];
  };
  const [bad, open] = [true, false].map((wanted) =>
    unfit.filter(({ verdict }) => (verdict === "not fit to publish") === wanted)
  );
  return [
    ...about(bad, "a metric that isn't fit to publish", "metrics that aren't fit to publish"),
    ...about(open, "a metric that can't be judged yet", "metrics that can't be judged yet"),
  ].join(" ");
}
