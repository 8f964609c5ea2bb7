import type { PanelAgreement } from "../../studies/panel/panel_agreement.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords } from "../review/review_tables.ts";
import { listed, midSentence } from "../phrases.ts";

/** On what does the panel agree most and least, in one sentence? */
export function panelFinding({ attributes }: Pick<PanelAgreement, "attributes">): string {
  if (attributes.length === 0) return "Nobody has rated a shoe yet.";
  const known = attributes.filter(({ icc_mean }) => icc_mean.estimate !== null)
    .toSorted((a, b) => b.icc_mean.estimate! - a.icc_mean.estimate!);
  const [most, least] = [known[0], known.at(-1)];
  if (most === undefined || least === undefined) {
    const reasons = new Set(attributes.map(({ icc_mean }) => sayReason(icc_mean.estimate_reason!)));
    return `How far testers agree can't be told: ${listed([...reasons])}.`;
  }
  const on = ({ title, icc_mean }: typeof most) =>
    `${midSentence(title)}, with an ICC of ${estimateInWords(icc_mean, 2)}`;
  return most === least
    ? `The panel's mean was judged on ${on(most)}.`
    : `The panel's mean is surest on ${on(most)}, and least sure on ${on(least)}.`;
}
