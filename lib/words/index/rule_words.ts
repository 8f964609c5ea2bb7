import type { Bench } from "../../records/types.ts";
import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import { inertText } from "../summary_words.ts";
import { adviceSentence } from "./recalibration_sentences.ts";
import { historySentence } from "./history_sentence.ts";
import { sayReason } from "../reasons.ts";

/** Paragraphs of a recalibration's page, as Markdown. */
export type RecalibrationWords = {
  readonly gain: string;
  readonly link: string;
  readonly history: string;
  readonly titles: Readonly<Record<string, string>>;
  /** The new rule's offset, which every score holds. */
  readonly base: number;
};

/** What does the page say between a recalibration's tables? */
export function recalibrationWords(
  bench: Pick<Bench, "metrics" | "rules">,
  result: IndexRecalibration,
  history: RuleHistory,
): RecalibrationWords {
  const { link, rule, draft } = result;
  const versions = history.versions.flatMap(({ version, link_to_next }, place) =>
    link_to_next === null || link_to_next.slope === null ? [] : [
      `A score s of version ${inertText(version)} reads ${
        scaleLine(link_to_next)
      } on the scale of version ${
        inertText(history.versions[place + 1].version)
      } (rank correlation ${link_to_next.rank_correlation?.toFixed(2) ?? "unknown"}).`,
    ]
  );
  return {
    gain: inertText(adviceSentence(result)),
    link: link.slope === null
      ? `There is no link: ${sayReason(link.link_reason)}.`
      : `With the new weights a score s becomes ${
        scaleLine(link)
      } on the published scale, from ${link.shoes} shoes.`,
    history: [historySentence(history), ...versions].join(" "),
    titles: titlesOf(bench),
    base: draft?.rule.offset ?? rule?.offset ?? 0,
  };
}

/** A score's way from one scale to another, as one writes it down. */
export function scaleLine(
  { intercept, slope }: { intercept: number | null; slope: number | null },
): string {
  return `${intercept!.toFixed(3)} + ${slope!.toFixed(3)} · s`.replaceAll("-", "−");
}

/** Metric id → title. */
export function titlesOf({ metrics }: Pick<Bench, "metrics">): Record<string, string> {
  return Object.fromEntries(metrics.map(({ id, title }) => [id, title]));
}
