import type { Bench } from "../../records/types.ts";
import type { RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import { scaleLine, titlesOf } from "../index/rule_words.ts";
import { estimateInWords } from "../review/review_tables.ts";
import { inertText } from "../summary_words.ts";
import {
  bonusSentence,
  gainBasisWords,
  openWords,
  rangeSentence,
  registrationWords,
  standingNotes,
  triedWords,
  weightSentence,
} from "./proposal_sentences.ts";
import { counted } from "../phrases.ts";
import { sayWarning } from "../reasons.ts";

/** Paragraphs of a proposal's page, as Markdown. */
export type ProposalWords = {
  readonly criteria: string;
  readonly gain: string;
  readonly coverage: string;
  readonly flips: string;
  /** What the bonuses buy. */
  readonly bonuses: string;
  /** Where shoes pile up at an end of a range. */
  readonly ranges: string;
  /** What another choice of weights would do. */
  readonly weights: string;
  /** Metric id → title, for charts. */
  readonly titles: Readonly<Record<string, string>>;
};

/** What does the page say between a verdict's tables? */
export function proposalWords(bench: Pick<Bench, "metrics">, result: RuleVerdict): ProposalWords {
  const { proposal, coverage, flips, gain_old, gain_new, link } = result;
  const late = coverage.terms.filter(({ before_metric }) => before_metric > 0);
  return {
    criteria: [
      `${inertText(proposal.title)}: asked on ${proposal.asked_on} by ${
        inertText(proposal.asked_by)
      }, against version ${inertText(proposal.against)}.${
        proposal.note === null ? "" : ` “${inertText(proposal.note)}”`
      }`,
      ...[
        ...registrationWords(result),
        ...triedWords(result),
        ...standingNotes(result),
      ]
        .map(inertText),
    ].join("\n\n"),
    gain: [
      `Rank correlation with ${inertText(result.attribute_title.toLowerCase())} on court: ${
        estimateInWords(gain_old, 2)
      } for the rule in force, ${estimateInWords(gain_new, 2)} for the proposed one. ${
        inertText(gainBasisWords(result.gain_basis))
      }`,
      ...openWords(result),
      ...result.warnings.map((warning) => inertText(sayWarning(warning))),
    ].join("\n\n"),
    coverage:
      `${coverage.scorable_new} of ${coverage.shoes} shoes have a score under the proposed rule, ${coverage.whole_new} of them with every term; under the rule in force it is ${coverage.scorable_old}. ${
        coverage.lost.length === 0
          ? "None loses its score."
          : `${coverage.lost.length} would lose theirs.`
      }${
        late.map(({ title, introduced, before_metric }) =>
          ` ${inertText(title)} was introduced on ${introduced}: ${
            before_metric === 1 ? "1 shoe was" : `${before_metric} shoes were`
          } last benched before.`
        ).join("")
      }`,
    flips:
      `${flips.flipped} of ${flips.pairs} pairs of shoes change their order. Of all ${flips.pairs} pairs the table in force tells ${flips.told_apart} apart; of these ${flips.blurred} would no longer be told apart, and ${flips.real.length} would be told apart the other way round: only such a change is more than noise. ${
        flips.leader.changes
          ? leadSentence(flips.leader)
          : flips.leader.old === null
          ? ""
          : `${inertText(flips.leader.old)} keeps the lead.`
      }${
        link.slope === null
          ? ""
          : ` A proposed score s, set on the published scale, reads ${scaleLine(link)}.`
      }`,
    bonuses: inertText(bonusSentence(result)),
    ranges: inertText(rangeSentence(result)),
    weights: inertText(weightSentence(result)),
    titles: titlesOf(bench),
  };
}

/** Another shoe stands first: how many could be, in each table? */
function leadSentence(leader: RuleVerdict["flips"]["leader"]): string {
  const { could_be_old, could_be_new } = leader;
  const goes = `The first row goes from ${inertText(leader.old ?? "nobody")} to ${
    inertText(leader.new ?? "nobody")
  }`;
  return could_be_old === 0 || could_be_new === 0
    ? `${goes}; which shoe is first can't be told, as the noise of scores is unknown.`
    : could_be_old === 1 && could_be_new === 1
    ? `${goes}, and no other shoe could be first in either table.`
    : `${goes}; ${
      counted(could_be_old, "shoe")
    } could be first in the table in force, ${could_be_new} in the proposed one.`;
}
