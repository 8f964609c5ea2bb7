/**
 * One question about shoes a file: records in, a plain result out; no drawing, no printing.
 *
 * @module
 */
export * from "./apply_rule.ts";
export * from "./bench_coverage.ts";
export * from "./panel_values.ts";
export * from "./shoe_name.ts";
export * from "./shoe_values.ts";
export * from "./trial_reliability.ts";
export * from "./index_scores.ts";
export * from "./review_tables.ts";
export * from "./court_prediction.ts";
export * from "./prediction_claim.ts";
export * from "./derived_metrics.ts";
export * from "./provenance.ts";
export * from "./review_result.ts";
export * from "./review_summary.ts";
export * from "./reference_drift.ts";
export { inUnit } from "./unit_words.ts";
export * from "./prediction_models.ts";
export * from "./ordinal_check.ts";
export * from "./prediction_audit.ts";
export * from "./bench_tables.ts";
export { benchSummary } from "./bench_summary.ts";
export * from "./chosen_names.ts";
export { comparisonSummary } from "./comparison_summary.ts";
export { predictionSummary } from "./prediction_summary.ts";
export * from "./term_words.ts";
export { trialSummary } from "./trial_summary.ts";
export type { NotebookSummary } from "./summary_words.ts";
export * from "./panel_agreement.ts";
export type { PanelSplit, SplitTrait } from "./panel_splits.ts";
export * from "./repeatability_audit.ts";
export * from "./study_audit.ts";
export {
  type DrawnShoe,
  type DrawnTrial,
  type DrawnVisit,
  type MetricTrials,
  metricTrials,
} from "./metric_trials.ts";
export * from "./order_profile.ts";
export * from "./trials_curve.ts";
export * from "./paired_sources.ts";
export * from "./review_schema.ts";
export {
  type ComparedOn,
  type ComparedValue,
  type Comparison,
  type ComparisonWord,
  type ShoeComparison,
  shoeComparison,
  type ShoeComparisonOptions,
} from "./shoe_comparison.ts";
export type { AnswerParts } from "./answer_parts.ts";
export {
  type CatalogueShoe,
  type CatalogueStanding,
  catalogueStanding,
} from "./catalogue_standing.ts";
export { type MetricPair, metricPair, type PairedShoe } from "./metric_pair.ts";
export { type Edition, type EditionHistory, editionHistory } from "./edition_history.ts";
export {
  type ConditionMet,
  type Shortlist,
  shortlist,
  type ShortlistCondition,
  type ShortlistShoe,
} from "./shortlist.ts";
export { type FootFit, footFit, type ShoeFit } from "./foot_fit.ts";
export {
  type RetestPlan,
  retestPlan,
  type RetestPlanOptions,
  type RetestVisit,
} from "./retest_plan.ts";
export * from "./prediction_tables.ts";
export * from "./trial_tables.ts";
export * from "./bonus_worth.ts";
export * from "./court_gain.ts";
export * from "./index_recalibration.ts";
export * from "./order_flips.ts";
export * from "./pile_ups.ts";
export * from "./rank_moves.ts";
export * from "./recalibration_draft.ts";
export * from "./rule_coverage.ts";
export * from "./rule_history.ts";
export * from "./rule_proposal.ts";
export { dataHash } from "./data_hash.ts";
export * from "./rule_summaries.ts";
export * from "./rule_tables.ts";
export * from "./check_rule_data.ts";
export * from "./rule_words.ts";
export { namesIn } from "./names_in.ts";
export { comparedValueRows, comparisonRows, retestRows, shortlistRows } from "./answer_rows.ts";
export type { Standing } from "./percentile.ts";
