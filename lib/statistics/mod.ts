/**
 * Numbers in, numbers out: the statistical methods of the kit, one a file.
 *
 * @module
 */
export { type Estimate, type EstimateAbout, noEstimate } from "./estimate.ts";
export { type RandomStream, randomStream } from "./random_stream.ts";
export * from "./distributions.ts";
export {
  type MixedData,
  type VarianceComponents,
  varianceComponents,
} from "./variance_components.ts";
export {
  type IccForm,
  type IccOptions,
  type IntraclassCorrelation,
  intraclassCorrelation,
} from "./intraclass_correlation.ts";
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
export { type MaxStatisticAdjustment, maxStatisticAdjust } from "./max_statistic_adjust.ts";
export { adjustP } from "./adjust_p.ts";
export { type WilliamsT, williamsT } from "./williams_t.ts";
export { type MengZ, mengZ } from "./meng_z.ts";
export type { CorrelationTriple } from "./dependent_correlations.ts";
export { type Equivalence, equivalence } from "./equivalence.ts";
export { detectableEffect, rankCorrelationPower, rowsToDetect } from "./detectable_effect.ts";
export { type Disattenuated, disattenuate } from "./disattenuate.ts";
