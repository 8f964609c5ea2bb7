import type { Bench } from "../../records/types.ts";
import { asSentence, midSentence } from "../comparison/answer_words.ts";
import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import { type Provenance, provenance } from "../../studies/review/provenance.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import type { RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import { markdownList } from "../summary_words.ts";

/** What a reader with one minute takes away of a proposal or a recalibration. */
export type RuleSummary = {
  readonly know: readonly string[];
  readonly act: readonly string[];
  /** The same as Markdown: two headings, each with its list. */
  readonly markdown: string;
};

/** What is the verdict on a proposal, and what follows from it? */
export function proposalSummary(result: RuleVerdict): RuleSummary {
  const { verdict, coverage, flips, rank_moves, rebench } = result;
  const outruns = result.bonuses.filter(({ outruns_bench }) => outruns_bench);
  const piled = result.pile_ups.filter(({ piled, table }) => piled && table === "proposed");
  const settles = result.criteria.flatMap(({ settles }) => settles ?? []);
  const know = [
    // What would settle it stands among the things to do.
    `Verdict: ${verdict}. ${result.verdict_reason.replace(settles.join(" "), "").trim()}`,
    `${coverage.scorable_new} of ${coverage.shoes} shoes can be scored under it (${coverage.scorable_old} under the rule in force); ${rank_moves.more_than_three} of ${rank_moves.compared} move more than three places.`,
    flips.flipped === 0
      ? "No two shoes change their order."
      : `${flips.flipped} of ${flips.pairs} pairs of shoes change their order; ${
        flips.real.length === 0 ? "none" : flips.real.length
      } of them can be told apart in both tables.`,
  ];
  const act = [
    ...(verdict === "adopt"
      ? [
        `Put the rule into rules/ with a day from which it holds, and publish the old and the new table together.`,
      ]
      : verdict === "keep"
      ? ["Keep the rule in force. A new proposal needs criteria of its own, set before the data."]
      : settles),
    ...(rebench.length > 0
      ? [
        `Bench what is missing on ${
          rebench.length === 1 ? "1 shoe" : `${rebench.length} shoes`
        }; the page lists them.`,
      ]
      : []),
    ...outruns.map(({ feature, points, share_of_pairs }) =>
      `Think again about ${points} points for ${feature}: that is more than the whole bench puts between ${
        Math.round(100 * share_of_pairs!)
      }% of all pairs of shoes.`
    ),
    ...piled.map(({ title }) =>
      `Widen the range of ${title.toLowerCase()}: too many shoes stand at one end of it.`
    ),
  ].slice(0, 4);
  return { know, act, markdown: inMarkdown(know, act) };
}

/** Are other weights worth it, and what follows from that? */
export function recalibrationSummary(result: IndexRecalibration): RuleSummary {
  const { advice, weights, rank_moves, left_out, shoes_needed } = result;
  const moved = weights.filter(({ kept }) => !kept);
  const know = [
    `Advice: ${advice}. ${result.advice_reason}`,
    moved.length === 0 ? "All weights stay as they are." : asSentence(
      moved.map((weight) =>
        `${midSentence(weight.title)} from ${shown(weight.old)} to ${shown(weight.new.estimate!)}`
      ).join(", "),
    ) + (moved.length === weights.length ? "." : "; the other weights stay."),
    moved.length === 0
      ? `${
        result.shoes === 1 ? "1 shoe has" : `${result.shoes} shoes have`
      } a rating and every term.`
      : `${rank_moves.more_than_three} of ${rank_moves.compared} shoes would move more than three places.`,
  ];
  const act = [
    ...(result.draft === null ? [] : [
      `A draft stands in the out folder: set its criteria, put it into proposals/ and let deno task proposal judge it.`,
    ]),
    // Where the reason for the advice names them, they are named once.
    ...(shoes_needed === null || result.advice_reason.includes("more shoes with a rating") ? [] : [
      `About ${shoes_needed} more shoes with a rating and every term would settle the question.`,
    ]),
    ...(left_out.length === 0 ? [] : [
      `${left_out.length === 1 ? "1 shoe has" : `${left_out.length} shoes have`} no part in this: ${
        reasons(left_out)
      }.`,
    ]),
  ];
  if (act.length === 0) act.push("Nothing: the weights in force serve.");
  return { know, act, markdown: inMarkdown(know, act) };
}

/** The whole of a verdict, as its JSON file holds it. */
export type ProposalResult =
  & Provenance
  & Omit<RuleVerdict, "warnings">
  & { readonly proposal_file: { readonly file: string; readonly sha256: string } };

/** How does a verdict become one file? */
export function proposalResult(
  bench: Bench,
  { seed, verdict, file, sha256 }: {
    readonly seed: number;
    readonly verdict: RuleVerdict;
    readonly file: string;
    readonly sha256: string;
  },
): ProposalResult {
  return {
    ...provenance(bench, { kind: "proposal", seed, warnings: verdict.warnings }),
    proposal_file: { file, sha256 },
    ...withoutWarnings(verdict),
  };
}

/** The whole of a recalibration, as its JSON file holds it. */
export type RecalibrationResult =
  & Provenance
  & Omit<IndexRecalibration, "warnings">
  & { readonly history: RuleHistory };

/** How does a recalibration become one file? */
export function recalibrationResult(
  bench: Bench,
  { seed, recalibration, history }: {
    readonly seed: number;
    readonly recalibration: IndexRecalibration;
    readonly history: RuleHistory;
  },
): RecalibrationResult {
  return {
    ...provenance(bench, { kind: "recalibration", seed, warnings: recalibration.warnings }),
    ...withoutWarnings(recalibration),
    history,
  };
}

function withoutWarnings<T extends { readonly warnings: readonly string[] }>(
  result: T,
): Omit<T, "warnings"> {
  const { warnings: _said, ...rest } = result;
  return rest;
}

function reasons(left_out: IndexRecalibration["left_out"]): string {
  const groups = [...Map.groupBy(left_out, ({ reason }) => reason)]
    .toSorted((a, b) => b[1].length - a[1].length);
  return groups.length === 1
    ? groups[0][0]
    : groups.map(([reason, shoes]) => `${reason} (${shoes.length})`).join("; ");
}

function shown(weight: number): string {
  return String(Number(weight.toFixed(3)));
}

function inMarkdown(know: readonly string[], act: readonly string[]): string {
  return `## What to know\n\n${markdownList(know)}\n\n## What to do next\n\n${markdownList(act)}\n`;
}
