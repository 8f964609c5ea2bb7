import type { Bench } from "../../records/types.ts";
import type { WilliamsT } from "../../statistics/williams_t.ts";
import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import { estimateInWords } from "../review/review_tables.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import type { RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import { sayReason } from "../reasons.ts";
import { inertText } from "../summary_words.ts";

/** Paragraphs of a proposal's page, as Markdown. */
export type ProposalWords = {
  readonly criteria: string;
  readonly gain: string;
  readonly coverage: string;
  readonly flips: string;
  /** Metric id → title, for charts. */
  readonly titles: Readonly<Record<string, string>>;
};

/** What does the page say between a verdict's tables? */
export function ruleWords(bench: Pick<Bench, "metrics">, result: RuleVerdict): ProposalWords {
  const { proposal, coverage, flips, gain_old, gain_new, link } = result;
  const late = coverage.terms.filter(({ before_metric }) => before_metric > 0);
  return {
    criteria: [
      `${inertText(proposal.title)}: asked on ${proposal.asked_on} by ${
        inertText(proposal.asked_by)
      }, against version ${inertText(proposal.against)}.${
        proposal.note === null ? "" : ` “${inertText(proposal.note)}”`
      }`,
      `SHA-256 of the criteria \`${result.criteria_text}\`: \`${result.criteria_sha256}\`. Whoever kept this number can see that they were not changed afterwards.`,
    ].join("\n\n"),
    gain: [
      `Rank correlation with ${inertText(result.attribute_title.toLowerCase())} on court: ${
        estimateInWords(gain_old, 2)
      } for the rule in force, ${estimateInWords(gain_new, 2)} for the proposed one. ${
        williamsWords(result.williams)
      } ${result.gain_basis}`,
      ...result.criteria.flatMap(({ settles }) => settles ?? []),
      ...result.warnings.map(inertText),
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
      `${flips.flipped} of ${flips.pairs} pairs of shoes change their order. The table in force can tell ${flips.told_apart} of these pairs apart; of them ${flips.blurred} would no longer be told apart, and ${flips.real.length} are told apart the other way round: only these are more than noise. ${
        flips.leader.changes
          ? `The lead goes from ${inertText(flips.leader.old ?? "nobody")} to ${
            inertText(flips.leader.new ?? "nobody")
          }.`
          : flips.leader.old === null
          ? ""
          : `${inertText(flips.leader.old)} keeps the lead.`
      }${
        link.slope === null
          ? ""
          : ` A proposed score s, set on the published scale, reads ${line(link)}.`
      }`,
    titles: titlesOf(bench),
  };
}

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
        line(link_to_next)
      } on the scale of version ${
        inertText(history.versions[place + 1].version)
      } (rank correlation ${link_to_next.rank_correlation?.toFixed(2) ?? "unknown"}).`,
    ]
  );
  return {
    gain: `${inertText(result.sentence)} ${williamsWords(result.williams)}`,
    link: link.slope === null
      ? `There is no link: ${sayReason(link.link_reason!)}.`
      : `With the new weights a score s becomes ${
        line(link)
      } on the published scale, from ${link.shoes} shoes.`,
    history: [history.sentence, ...versions].join(" "),
    titles: titlesOf(bench),
    base: draft?.rule.offset ??
      bench.rules.find(({ version }) => version === rule?.version)?.offset ?? 0,
  };
}

/** A score's way from one scale to another, as one writes it down. */
function line({ intercept, slope }: { intercept: number | null; slope: number | null }): string {
  return `${intercept!.toFixed(3)} + ${slope!.toFixed(3)} · s`.replaceAll("-", "−");
}

function williamsWords({ t, df, p, reason }: WilliamsT): string {
  return t === null
    ? `Williams' test can't be made: ${sayReason(reason!)}.`
    : `A check by another method, Williams' test of two correlations over the same shoes: were the two rules equally good, chance would show a gain so large ${
      p! < 0.001
        ? "less than once in 1000 times"
        : `${(100 * p!).toFixed(p! < 0.1 ? 1 : 0)} times in 100`
    } (t = ${t.toFixed(2)}, ${df} degrees of freedom).`;
}

function titlesOf({ metrics }: Pick<Bench, "metrics">): Record<string, string> {
  return Object.fromEntries(metrics.map(({ id, title }) => [id, title]));
}
