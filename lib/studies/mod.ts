/**
 * One question about shoes a file: records in, a plain result out; no drawing, no printing.
 *
 * @module
 */
export * from "./index/apply_rule.ts";
export * from "./coverage/bench_coverage.ts";
export * from "./panel/panel_values.ts";
export * from "./shoes/shoe_name.ts";
export * from "./shoes/shoe_tree.ts";
export * from "./shoes/shoe_values.ts";
export type { CoarseSteps } from "./repeatability/coarse_steps.ts";
export type { OtherSize } from "./shoes/other_sizes.ts";
export type { BoundedOn, BoundedShare, BoundedShoe } from "./shoes/bounded_readings.ts";
export * from "./repeatability/trial_reliability.ts";
export * from "./index/index_scores.ts";
export * from "./prediction/court_prediction.ts";
export * from "./prediction/types.ts";
export type { PredictionTable } from "./prediction/prediction_table.ts";
export type { QuarterLook } from "./prediction/claim_history.ts";
export type { ClaimMade, ClaimOptions } from "./prediction/claims_made.ts";
export * from "./prediction/prediction_claim.ts";
export type { ShoeKin } from "./shoes/shoe_kin.ts";
export { whoKnew } from "./panel/who_knew.ts";
export * from "./shoes/derived_metrics.ts";
export * from "./review/provenance.ts";
export * from "./budget/uncertainty_budget.ts";
export type { RigCalibration } from "./budget/rig_calibrations.ts";
export type { StruckFigures, StruckTrials } from "./budget/struck_trials.ts";
export * from "./drift/reference_drift.ts";
export * from "./drift/weather_effects.ts";
export * from "./wear/wear_change.ts";
export type { DriftPoint, DriftSignal, ReferenceChart } from "./drift/reference_charts.ts";
export type { BenchStep, DriftVerdict, RigDrift } from "./drift/rig_drift.ts";
export type { MethodChange } from "./drift/rig_time.ts";
export type { DroppedSource } from "./repeatability/noise_model.ts";
export * from "./prediction/prediction_models.ts";
export * from "./prediction/ordinal_check.ts";
export * from "./audit/prediction_audit.ts";
export * from "./panel/panel_agreement.ts";
export type { PanelSplit, SplitTrait } from "./panel/panel_splits.ts";
export * from "./audit/repeatability_audit.ts";
export * from "./audit/study_audit.ts";
export {
  type DrawnShoe,
  type DrawnTrial,
  type DrawnVisit,
  type MetricTrials,
  metricTrials,
} from "./repeatability/metric_trials.ts";
export * from "./repeatability/order_profile.ts";
export * from "./repeatability/run_order.ts";
export * from "./repeatability/trials_curve.ts";
export * from "./repeatability/paired_sources.ts";
export type { AgreementLimits } from "./repeatability/agreement_limits.ts";
export * from "./review/review_schema.ts";
export type { ComparedOn } from "./comparison/compared_on.ts";
export type { BoundedValue, ComparedValue } from "./comparison/compared_side.ts";
export type { ComparisonRemark, RecordEntry } from "./comparison/comparison_remarks.ts";
export type { Comparison, ComparisonWord } from "./comparison/settle_pairs.ts";
export {
  type ShoeComparison,
  shoeComparison,
  type ShoeComparisonOptions,
} from "./comparison/shoe_comparison.ts";
export type { AnswerParts } from "./comparison/answer_parts.ts";
export {
  type CatalogueShoe,
  type CatalogueStanding,
  catalogueStanding,
  type Fineness,
} from "./comparison/catalogue_standing.ts";
export type { CataloguePlace } from "./comparison/catalogue_places.ts";
export { type MetricPair, metricPair, type PairedShoe } from "./comparison/metric_pair.ts";
export { type Edition, type EditionHistory, editionHistory } from "./comparison/edition_history.ts";
export {
  type ConditionMet,
  type Shortlist,
  shortlist,
  type ShortlistShoe,
} from "./comparison/shortlist.ts";
export type { AskedCondition, ShortlistCondition } from "./comparison/shortlist_conditions.ts";
export { type FootFit, footFit, type ShoeFit } from "./comparison/foot_fit.ts";
export {
  type BenchSheet,
  benchSheet,
  type SheetLine,
  type SheetVisit,
} from "./retest/bench_sheet.ts";
export { type PilotPlan, pilotPlan, type PilotVisit, pilotWithin } from "./retest/pilot_plan.ts";
export { type BenchStage, benchStage } from "./coverage/bench_stage.ts";
export { type RatingCard, type RatingCards, ratingCards } from "./retest/rating_cards.ts";
export {
  type RetestPlan,
  retestPlan,
  type RetestPlanOptions,
  type RetestVisit,
  type SettledQuestion,
} from "./retest/retest_plan.ts";
export * from "./proposal/bonus_worth.ts";
export * from "./index/proposal_gain.ts";
export * from "./index/recalibration_data.ts";
export * from "./index/shoes_to_settle.ts";
export * from "./index/index_recalibration.ts";
export * from "./proposal/order_flips.ts";
export * from "./proposal/pile_ups.ts";
export * from "./index/rank_moves.ts";
export * from "./index/recalibration_draft.ts";
export * from "./proposal/rule_coverage.ts";
export * from "./index/rule_history.ts";
export * from "./proposal/proposal_registration.ts";
export * from "./proposal/rule_proposal.ts";
export { dataHash } from "./review/data_hash.ts";
export * from "./index/check_rule_data.ts";
export type { Standing } from "../statistics/percentile.ts";
export * from "./catalogue/published_catalogue.ts";
export * from "./changes/mod.ts";
export * from "./proposal/proposals_on_file.ts";
export type { AskedOn, ShoeOn } from "./questions/shown_order.ts";
export { type CourtGap, courtGap } from "./questions/court_gap.ts";
export { type MetricLink, metricLink } from "./questions/metric_link.ts";
export {
  type BestShoe,
  type BestShoes,
  bestShoes,
  type BestShoesOptions,
} from "./questions/best_shoes.ts";
export {
  type ProfileStrip,
  type ProfileWord,
  type ShoeProfile,
  shoeProfile,
} from "./questions/shoe_profile.ts";
export {
  type LikeShoe,
  type LikeShoes,
  likeShoes,
  type UntoldShoe,
} from "./questions/like_shoes.ts";
export {
  type MakerPair,
  type MakerStanding,
  makerStanding,
  type MakerValue,
} from "./questions/maker_standing.ts";
export { type DividedOn, type PanelDivision, panelDivision } from "./questions/panel_division.ts";
export {
  type LabelFit,
  labelFit,
  type LabelledShoe,
  type LabelWord,
} from "./questions/label_fit.ts";
export {
  type IndexVersions,
  indexVersions,
  type VersionScore,
} from "./questions/index_versions.ts";
export { type TestChange, testChange } from "./questions/test_change.ts";
export { type SizeChange, sizeChange, type SizedPair } from "./questions/size_change.ts";
export { type ViewerAnswer, viewerKinds, viewerQuestion } from "./questions/viewer_question.ts";
