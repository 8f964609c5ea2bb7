import type { ProposalOnFile, UnfitWeight } from "../../studies/proposal/proposals_on_file.ts";
import { listed, midSentence } from "../comparison/answer_words.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords, type ReviewRow } from "../review/review_tables.ts";

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

/** How much of the index rests on metrics that aren't fit to publish, in a sentence. */
export function unfitSentence(unfit: readonly UnfitWeight[]): string {
  if (unfit.length === 0) {
    return "Every weight of the rule in force rests on a metric that is fit to publish in some form.";
  }
  const whole = unfit.reduce((sum, { share }) => sum + share, 0);
  return `${percent(whole)} of the weight in force rests on metrics that aren't fit to publish: ${
    listed(unfit.map(({ title, share }) => `${midSentence(title)} (${percent(share)})`))
  }.`;
}

function percent(share: number): string {
  return `${Math.round(100 * share)}%`;
}
