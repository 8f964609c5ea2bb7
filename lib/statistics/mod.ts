/**
 * Numbers in, numbers out: the statistical methods of the kit, one a file.
 *
 * @module
 */
export type { Reason } from "./reason.ts";
export { type Estimate, type EstimateAbout, noEstimate } from "./estimate.ts";
export { type RandomStream, randomStream } from "./random_stream.ts";
export * from "./distributions.ts";
export type { Covariates } from "./mixed_design.ts";
export {
  type MixedData,
  type VarianceComponents,
  varianceComponents,
} from "./variance_components.ts";
export {
  type IccOptions,
  type IntraclassCorrelation,
  intraclassCorrelation,
} from "./intraclass_correlation.ts";
export { type IccForm } from "./icc_form.ts";
export {
  type IccWithBootstrap,
  intraclassCorrelationForms,
} from "./intraclass_correlation_forms.ts";
export { ranks } from "./ranks.ts";
export { type Correlation, spearman, type SpearmanOptions } from "./spearman.ts";
export { type KendallTauB, kendallTauB } from "./kendall_tau_b.ts";
export { pearson } from "./pearson.ts";
export {
  type RankCorrelationCell,
  type RankCorrelationGrid,
  rankCorrelationGrid,
  type RankCorrelationGridOptions,
} from "./rank_correlation_grid.ts";
export { type BootstrapEstimate, bootstrapInterval } from "./bootstrap_interval.ts";
export { type PermutationTest, permutationTest } from "./permutation_test.ts";
export { maxStatisticAdjust, type MaxStatisticAdjustment } from "./max_statistic_adjust.ts";
export { adjustP } from "./adjust_p.ts";
export { combinedP } from "./combined_p.ts";
export { noncentralChiSquaredCdf, noncentralityLimit } from "./noncentral_chi_squared.ts";
export { type WilliamsT, williamsT } from "./williams_t.ts";
export { type MengZ, mengZ } from "./meng_z.ts";
export type { CorrelationTriple } from "./dependent_correlations.ts";
export { type Equivalence, equivalence } from "./equivalence.ts";
export { detectableEffect, rankCorrelationPower, rowsToDetect } from "./detectable_effect.ts";
export { disattenuate, type Disattenuated } from "./disattenuate.ts";
export { repeatabilitySd } from "./repeatability_sd.ts";
export { coefficientOfVariation } from "./coefficient_of_variation.ts";
export { standardErrorOfMeasurement } from "./standard_error_of_measurement.ts";
export { repeatabilityLimit } from "./repeatability_limit.ts";
export {
  type InterlaboratoryPrecision,
  interlaboratoryPrecision,
} from "./interlaboratory_precision.ts";
export { minimalDetectableChange } from "./minimal_detectable_change.ts";
export { distinctCategories } from "./distinct_categories.ts";
export { readingsNeeded, spearmanBrown } from "./spearman_brown.ts";
export {
  type LimitsOfAgreement,
  limitsOfAgreement,
  limitsOfAgreementRepeated,
} from "./limits_of_agreement.ts";
export { type Grubbs, grubbs } from "./grubbs.ts";
export { type GeneralizedEsd, generalizedEsd } from "./generalized_esd.ts";
export { type IndividualsChart, individualsChart } from "./individuals_chart.ts";
export { type Ewma, ewma } from "./ewma.ts";
export { type KrippendorffAlpha, krippendorffAlpha } from "./krippendorff_alpha.ts";
export { type KendallW, kendallW } from "./kendall_w.ts";
export { type OneWayAnova, oneWayAnova } from "./one_way_anova.ts";
export {
  type VarianceComponentIntervals,
  varianceComponentIntervals,
} from "./variance_component_intervals.ts";
export { type RandomSlopes, randomSlopes } from "./random_slopes.ts";
export {
  type NonNegativeLeastSquares,
  nonNegativeLeastSquares,
} from "./non_negative_least_squares.ts";
export {
  type NonNegativeCrossValidation,
  nonNegativeCrossValidation,
} from "./non_negative_cross_validation.ts";
export { type SimplexLeastSquares, simplexLeastSquares } from "./simplex_least_squares.ts";
export { type RankInterval, type RankIntervals, rankIntervals } from "./rank_intervals.ts";
export {
  type ComparisonBlock,
  type SingleStepLevel,
  singleStepLevel,
} from "./single_step_level.ts";
export { type LeastSquares, leastSquares, polynomialLeastSquares } from "./least_squares.ts";
export { type Ridge, ridge } from "./ridge.ts";
export { type RidgeCrossValidation, ridgeCrossValidation } from "./ridge_cross_validation.ts";
export { type RelativeImportance, relativeImportance } from "./relative_importance.ts";
export { type VarianceInflation, varianceInflation } from "./variance_inflation.ts";
export { partialRankCorrelation } from "./partial_rank_correlation.ts";
export { type ProportionalOdds, proportionalOdds } from "./proportional_odds.ts";
export { partialRankCorrelationGrid } from "./partial_rank_correlation_grid.ts";
export { rankCorrelationDraws } from "./rank_correlation_draws.ts";
export { rowsToRuleOut } from "./rows_to_rule_out.ts";
export {
  type NestedRegression,
  nestedRegression,
  type RegressionDraw,
} from "./nested_regression.ts";
export { drawnRankCorrelation } from "./drawn_rank_correlation.ts";
export { FEWEST_ROWS, type RankGain, rankGain } from "./rank_gain.ts";
export {
  type Candidate,
  type CandidateFit,
  type RevisedWeight,
  reviseWeights,
  type WeightRevision,
} from "./revise_weights.ts";
export { boundedRanks } from "./bounded_ranks.ts";
export { type CensoredNormal, censoredNormal, type CensoredReading } from "./censored_normal.ts";
export {
  type CombinedUncertainty,
  combinedUncertainty,
  type UncertaintyPart,
} from "./combined_uncertainty.ts";
export { conformanceProbability, guardBand, type Tolerance } from "./conformance.ts";
export { type GroupScatter, type ScatterLimits, scatterLimits } from "./scatter_limits.ts";
export { correlationInflation, widened, widenedLimits } from "./correlation_inflation.ts";
export { type GridCell, gridPermutation } from "./grid_permutation.ts";
export { type NestedGroups, type NestedShares, nestedShares } from "./nested_shares.ts";
export { normalScores } from "./normal_scores.ts";
export { whitenNested } from "./whiten_nested.ts";
