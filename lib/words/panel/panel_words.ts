import type { AttributeAgreement, PanelAgreement } from "../../studies/panel/panel_agreement.ts";
import type { PanelSplit } from "../../studies/panel/panel_splits.ts";
import { sayReason, sayWarning } from "../reasons.ts";
import { counted, pText } from "../phrases.ts";

/** Agreement of the panel with its sentences, as a result file has it. */
export type PanelResult = Omit<PanelAgreement, "attributes" | "warnings"> & {
  readonly attributes: readonly (Omit<AttributeAgreement, "splits" | "dropped"> & {
    readonly dropped: readonly string[];
    readonly splits: readonly (PanelSplit & { readonly words: string })[];
    readonly sentence: string;
  })[];
  readonly warnings: readonly string[];
};

/** What does agreement of the panel look like in a result file: the numbers, each claim with its sentence? */
export function panelResult(agreement: PanelAgreement): PanelResult {
  return {
    ...agreement,
    attributes: agreement.attributes.map((attribute) => ({
      ...attribute,
      dropped: attribute.dropped.map(({ term, reason }) => `${term}: ${sayReason(reason)}`),
      splits: attribute.splits.map((split) => ({ ...split, words: splitWords(split) })),
      sentence: agreementSentence(attribute),
    })),
    warnings: agreement.warnings.map(sayWarning),
  };
}

/** Does the panel agree on an attribute, and is it the shoe's or the player's? */
export function agreementSentence(
  { title, icc_single, icc_mean, value_reliability, testers_per_shoe: k, ...attribute }:
    AttributeAgreement,
): string {
  if (icc_single.estimate === null || icc_mean.estimate === null) {
    return `${title}: whether testers agree can't be told, ${
      sayReason(icc_single.estimate_reason)
    }.`;
  }
  const percent = (share: number) => `${Math.max(0, Math.round(100 * share))}%`;
  const { player_dependence: own, splits, divided } = attribute;
  const over = splits.filter(({ found }) => found);
  const split = divided.filter(({ found }) => found).length;
  return `${
    [
      `${title}: one tester's rating is ${
        percent(icc_single.estimate)
      } the shoe, the panel value of ${counted(k, "tester")}, leniency taken out, ${
        percent(value_reliability.estimate!)
      }`,
      ...(own.estimate === null
        ? []
        : [`${percent(own.estimate)} of a rating is that tester with that shoe`]),
      ...over.map(splitWords),
      ...(split === 0 ? [] : [`${counted(split, "shoe divides", "shoes divide")} the panel`]),
    ].join("; ")
  }.`;
}

/** Do testers part over a metric, and which trait of theirs goes with it? */
export function splitWords(
  { metric_title, found, traits, p_familywise, shoes, lines, makers }: PanelSplit,
): string {
  const metric = metric_title.toLowerCase();
  if (!found) return `no sign that testers part over ${metric}`;
  const explained = traits.filter((trait) => trait.found)
    .map(({ title, effect }) =>
      effect.estimate === null
        ? title
        : `testers with more ${title} like more ${metric} ${
          effect.estimate > 0 ? "better" : "less"
        }`
    );
  return `testers part over ${metric} (${pText(p_familywise)}, ${counted(shoes, "shoe")}, ${
    counted(lines, "line")
  } and ${counted(makers, "maker")})${explained.length === 0 ? "" : `: ${explained.join("; ")}`}`;
}
