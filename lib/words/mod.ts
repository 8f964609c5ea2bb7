/**
 * Where results become sentences, tables for people, summaries and explained terms: a room a question, as in `studies`.
 *
 * @module
 */
/** What an audit of the studies comes to, in words. */
export * as audit from "./audit/mod.ts";
/** The uncertainty budget in sentences and rows. */
export * as budget from "./budget/mod.ts";
/** The published catalogue in words and rows. */
export * as catalogue from "./catalogue/mod.ts";
/** What changed since an earlier review, in words and rows. */
export * as changes from "./changes/mod.ts";
/** Answers to viewers in words: rows and summaries. */
export * as comparison from "./comparison/mod.ts";
/** What was measured, in words and rows. */
export * as coverage from "./coverage/mod.ts";
/** Drift of the bench in rows. */
export * as drift from "./drift/mod.ts";
/** The index, its weights and its history in words and rows. */
export * as index from "./index/mod.ts";
/** Agreement of the panel in words and rows. */
export * as panel from "./panel/mod.ts";
/** What predicts the court, in words and rows. */
export * as prediction from "./prediction/mod.ts";
/** The verdict on a proposed rule in words and rows. */
export * as proposal from "./proposal/mod.ts";
/** How far a metric can be trusted, in words and rows. */
export * as repeatability from "./repeatability/mod.ts";
/** What viewers ask about the catalogue, or about one shoe among all, in words. */
export * as questions from "./questions/mod.ts";
/** What to bench next, in rows. */
export * as retest from "./retest/mod.ts";
/** What play does to a shoe. */
export * as wear from "./wear/mod.ts";
/** The first screen of a review. */
export * as review from "./review/mod.ts";
export { glossary, ruleGlossary } from "./glossary.ts";
export { inUnit } from "./unit_words.ts";
export { chosenMetric, chosenShoe, shoeOnMetric } from "./chosen_names.ts";
export { namesIn } from "./names_in.ts";
export type { NotebookSummary } from "./summary_words.ts";
export type { ReviewParts, ReviewSummary } from "./review/review_summary.ts";
export type { ReviewRow } from "./review/review_tables.ts";
export type { RecalibrationWords } from "./index/rule_words.ts";
export type { ProposalWords } from "./proposal/proposal_words.ts";
export type { CriterionWords } from "./proposal/proposal_sentences.ts";
export type { RecalibrationJson } from "./index/rule_summaries.ts";
export type { RuleSummary } from "./index/rule_summaries.ts";
export { type Nouns, sayReason } from "./reasons.ts";
export { resultJson } from "./result_json.ts";
