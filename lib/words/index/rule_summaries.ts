import { stageNotes } from "../coverage/stage_words.ts";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type {
  IndexRecalibration,
  RecalibratedWeight,
} from "../../studies/index/index_recalibration.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import { type Provenance, provenance } from "../../studies/review/provenance.ts";
import { sayReason, sayWarning } from "../reasons.ts";
import { markdownList } from "../summary_words.ts";
import {
  adviceReason,
  adviceSentence,
  noDraftReason,
  weightWords,
} from "./recalibration_sentences.ts";
import { asSentence, listed, midSentence } from "../phrases.ts";
import { historySentence } from "./history_sentence.ts";

/** What a reader with one minute takes away of a proposal or a recalibration. */
export type RuleSummary = {
  readonly know: readonly string[];
  readonly act: readonly string[];
  /** The same as Markdown: two headings, each with its list. */
  readonly markdown: string;
};

/** The same lists as a summary, with their Markdown. */
export function ruleSummary(know: readonly string[], act: readonly string[]): RuleSummary {
  const markdown = `## What to know\n\n${markdownList(know)}\n\n## What to do next\n\n${
    markdownList(act)
  }\n`;
  return { know, act, markdown };
}

/** Are other weights worth it, and what follows from that? */
export function recalibrationSummary(result: IndexRecalibration): RuleSummary {
  const { advice, weights, rank_moves, left_out, draft } = result;
  const off = weights.filter(({ kept }) => !kept);
  const know = [
    `Advice: ${advice}. ${asSentence(adviceReason(result))}`,
    ...(weights.length === 0 ? [] : [
      off.length === 0
        ? "No weight in force is shown to be off."
        : `Outside ${
          off.length === 1 ? "its interval" : "their intervals"
        }, each looked at alone: ${
          listed(off.map(moved))
        }. Of ${weights.length} some may be by chance.`,
    ]),
    draft === null
      ? `${
        result.shoes === 1 ? "1 shoe has" : `${result.shoes} shoes have`
      } a rating and every term.`
      : `With the new weights ${rank_moves.more_than_three} of ${rank_moves.compared} shoes would move more than three places.`,
  ];
  const act = [
    ...(draft === null ? [] : [
      advice === "adopt"
        ? "A draft stands in the out folder: set its criteria, put it into proposals/, register it and let deno task proposal judge it."
        : "A draft stands in the out folder, for when more shoes are rated: this evidence doesn't carry it yet.",
    ]),
    ...(left_out.length === 0 ? [] : [
      `${left_out.length === 1 ? "1 shoe has" : `${left_out.length} shoes have`} no part in this: ${
        reasons(left_out)
      }.`,
    ]),
  ];
  if (act.length === 0) act.push("Nothing: the weights in force serve.");
  return ruleSummary(know, act);
}

/** The whole of a recalibration, as its JSON file holds it. */
export type RecalibrationResult = Provenance & RecalibrationJson & {
  readonly history: RuleHistory & { readonly sentence: string };
};

/** A recalibration as JSON holds it: reasons in words too. */
export type RecalibrationJson = Omit<IndexRecalibration, "warnings" | "weights"> & {
  readonly sentence: string;
  readonly advice_reason: string;
  readonly draft_reason: string | null;
  readonly shoes_needed: number | null;
  readonly shoes_needed_reason: Reason | null;
  readonly weights: readonly (RecalibratedWeight & { readonly kept_reason: string })[];
};

/** How does a recalibration become part of a file? */
export function recalibrationJson(recalibration: IndexRecalibration): RecalibrationJson {
  const { warnings: _said, settle, ...rest } = recalibration;
  return {
    sentence: adviceSentence(recalibration),
    advice_reason: adviceReason(recalibration),
    draft_reason: noDraftReason(recalibration),
    shoes_needed: settle.shoes,
    shoes_needed_reason: settle.reason,
    settle,
    ...rest,
    weights: rest.weights.map((weight) => ({ ...weight, kept_reason: weightWords(weight) })),
  };
}

/** How does a recalibration become one file? */
export function recalibrationResult(
  bench: Bench,
  { seed, recalibration, history }: {
    readonly seed: number;
    readonly recalibration: IndexRecalibration;
    readonly history: RuleHistory;
  },
): RecalibrationResult {
  option.check("words.index.recalibrationResult", arguments[1], {
    seed: option.needed(option.seed),
    recalibration: option.needed(option.thing),
    history: option.needed(option.thing),
  });
  return {
    ...provenance(bench, {
      kind: "recalibration",
      seed,
      warnings: [
        ...stageNotes(bench, "recalibrate"),
        ...recalibration.warnings.map(sayWarning),
      ],
    }),
    ...recalibrationJson(recalibration),
    history: { ...history, sentence: historySentence(history) },
  };
}

/** What the data hold of a weight says no more than that the old one lies outside. */
function moved({ title, old, new: { lower, upper } }: RecalibratedWeight): string {
  return `${midSentence(title)} (${shown(old)}, where the data hold ${shown(lower!)} to ${
    shown(upper!)
  })`;
}

function reasons(left_out: IndexRecalibration["left_out"]): string {
  const groups = [...Map.groupBy(left_out, ({ reason }) => sayReason(reason))]
    .toSorted((a, b) => b[1].length - a[1].length);
  return groups.length === 1
    ? groups[0][0]
    : groups.map(([reason, shoes]) => `${reason} (${shoes.length})`).join("; ");
}

function shown(weight: number): string {
  return String(Number(weight.toFixed(3)));
}
