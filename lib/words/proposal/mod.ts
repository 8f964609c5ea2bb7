/** Sentences and tables about the verdict on a proposed rule. @module */
export { proposalResult as result, proposalSummary as summary } from "./proposal_summary.ts";
export {
  bonusRows,
  criteriaRows,
  flipRows,
  pileUpRows,
  rebenchRows,
  sensitivityRows,
} from "./proposal_tables.ts";
export { filedRows, unfitSentence } from "./filed_words.ts";
export { proposalWords as paragraphs } from "./proposal_words.ts";
export { verdictSentence as sentence } from "./proposal_sentences.ts";
export type { ProposalResult } from "./proposal_summary.ts";
