import { stageNotes } from "../coverage/stage_words.ts";
import * as option from "../../options.ts";
import type { Bench, FiledProposal } from "../../records/types.ts";
import type { JudgedCriterion, RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import { type Provenance, provenance } from "../../studies/review/provenance.ts";
import type { RuleSummary } from "../index/rule_summaries.ts";
import {
  type CriterionWords,
  criterionWords,
  gainBasisWords,
  gainSentence,
  openWords,
  settlesWords,
  standingNotes,
  verdictReason,
  verdictSentence,
} from "./proposal_sentences.ts";
import { sayWarning } from "../reasons.ts";
import { markdownList } from "../summary_words.ts";

/** What is the verdict on a proposal, and what follows from it? */
export function proposalSummary(result: RuleVerdict): RuleSummary {
  const { verdict, coverage, flips, rank_moves, rebench } = result;
  const outruns = result.bonuses.filter(({ outruns_bench }) => outruns_bench);
  const piled = result.pile_ups.filter(({ piled, table }) => piled && table === "proposed");
  const gainSaid = result.criteria.some(({ name, outcome }) =>
    name === "min_gain" && outcome !== "passes"
  ); // the reason of the verdict then holds it
  const know = [
    `${VERDICTS[verdict]}. ${verdictReason(result)}${
      result.registered === null ? " The proposal isn't registered." : ""
    }`,
    ...(gainSaid ? [] : [gainSentence(result)]),
    `${coverage.scorable_new} of ${coverage.shoes} shoes can be scored under it (${coverage.scorable_old} under the rule in force); ${rank_moves.more_than_three} of ${rank_moves.compared} move more than three places.`,
    flips.flipped === 0
      ? "No two shoes change their order."
      : `${flips.flipped} of ${flips.pairs} pairs of shoes change their order; ${
        flips.real.length === 0 ? "none" : flips.real.length
      } of them can be told apart in both tables.`,
  ];
  const act = [
    ...standingNotes(result).slice(0, result.in_force === null ? 0 : 1),
    ...(result.in_force !== null ? [] : verdict === "adopt"
      ? [
        `Write it down, which puts the rule into rules/: deno task decide -- --proposal ${result.proposal.id} --because "…" (a minute). Publish the old and the new table together.`,
      ]
      : verdict === "keep"
      ? ["Keep the rule in force. A new proposal needs criteria of its own, set before the data."]
      : openWords(result)),
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
  const markdown = `## The verdict\n\n${markdownList(know)}\n\n## What to do next\n\n${
    markdownList(act)
  }\n`;
  return { know, act, markdown };
}

const VERDICTS = {
  adopt: "Adopt it",
  keep: "Keep the rule in force",
  "not enough evidence": "Not enough evidence",
} as const;

/** A verdict as its JSON file holds it: criteria in words too. */
export type ProposalResult =
  & Provenance
  & Omit<RuleVerdict, "warnings" | "criteria" | "gain_basis">
  & {
    readonly sentence: string;
    readonly verdict_reason: string;
    readonly gain_basis: string;
    readonly criteria: readonly (Pick<JudgedCriterion, "name" | "outcome"> & CriterionWords & {
      readonly settles: string | null;
      readonly wanted_value: number;
      readonly found_value: number | null;
      readonly lower: number | null;
      readonly upper: number | null;
    })[];
    readonly proposal_file: { readonly file: string; readonly sha256: string };
  };

/** How does a verdict become one file? */
export function proposalResult(
  bench: Bench,
  { seed, verdict, proposal }: {
    readonly seed: number;
    readonly verdict: RuleVerdict;
    readonly proposal: Pick<FiledProposal, "file" | "sha256">;
  },
): ProposalResult {
  option.check("words.proposal.result", arguments[1], {
    seed: option.needed(option.seed),
    verdict: option.needed(option.thing),
    proposal: option.needed(option.thing),
  });
  const { file, sha256 } = proposal;
  const { warnings, criteria, gain_basis, ...rest } = verdict;
  return {
    ...provenance(bench, {
      kind: "proposal",
      seed,
      warnings: [...stageNotes(bench, "proposal"), ...warnings.map(sayWarning)],
    }),
    proposal_file: { file, sha256 },
    sentence: verdictSentence(verdict),
    ...rest,
    verdict_reason: verdictReason(verdict),
    gain_basis: gainBasisWords(gain_basis),
    criteria: criteria.map((criterion) => ({
      name: criterion.name,
      ...criterionWords(criterion, verdict.confidence),
      outcome: criterion.outcome,
      settles: criterion.settles === null ? null : settlesWords(criterion.settles),
      wanted_value: criterion.wanted,
      found_value: criterion.found,
      lower: criterion.lower,
      upper: criterion.upper,
    })),
  };
}
