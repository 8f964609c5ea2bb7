/** Sentences and tables about the verdict on a proposed rule. @module */
export { proposalResult as result, proposalSummary as summary } from "../index/rule_summaries.ts";
export {
  bonusRows,
  criteriaRows,
  flipRows,
  pileUpRows,
  rebenchRows,
  sensitivityRows,
} from "../index/rule_tables.ts";
export { ruleWords as paragraphs } from "../index/rule_words.ts";
export type { ProposalResult } from "../index/rule_summaries.ts";
