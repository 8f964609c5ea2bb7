import type { PanelAgreement } from "../../studies/panel/panel_agreement.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords } from "../review/review_tables.ts";
import { listed, midSentence } from "../phrases.ts";

/** On what does the panel agree most and least, in one sentence? */
export function panelFinding({ attributes }: Pick<PanelAgreement, "attributes">): string {
  if (attributes.length === 0) return "Nobody has rated a shoe yet.";
  const known = attributes.filter(({ value_reliability }) => value_reliability.estimate !== null)
    .toSorted((a, b) => b.value_reliability.estimate! - a.value_reliability.estimate!);
  const [most, least] = [known[0], known.at(-1)];
  if (most === undefined || least === undefined) {
    const reasons = new Set(attributes.map(({ icc_mean }) => sayReason(icc_mean.estimate_reason!)));
    return `How far testers agree can't be told: ${listed([...reasons])}.`;
  }
  const on = ({ title, value_reliability }: typeof most) =>
    `${midSentence(title)}, with a reliability of ${estimateInWords(value_reliability, 2)}`;
  return most === least
    ? `The panel's value was judged on ${on(most)}.`
    : `The panel's value is surest on ${on(most)}, and least sure on ${on(least)}.`;
}
