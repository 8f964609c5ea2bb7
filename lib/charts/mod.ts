export { chartPng, type PngOptions } from "./chart_png.ts";
export { chartSvg } from "./chart_svg.ts";
export { type BodySlot, composeSvg, type PictureOptions } from "./compose_svg.ts";
export type { Sender } from "./picture_foot.ts";
export type { PictureGround } from "./picture_ground.ts";
export { coverageChart as coverage } from "./coverage_chart.ts";
export type { SvgElement, SvgNode } from "./draw.ts";
export { chartAlt, chartImage, figure, type FigureOptions } from "./figure.ts";
export { indexChart as index } from "./index_chart.ts";
export { mdcChart as mdc } from "./mdc_chart.ts";
export { plot, type PlotChartOptions, type ShownChart } from "./plot.ts";
export { portableSvg } from "./portable_svg.ts";
export { predictionGridChart as predictionGrid } from "./prediction_grid_chart.ts";
export { predictionScatterChart as predictionScatter } from "./prediction_scatter_chart.ts";
export { reliabilityChart as reliability } from "./reliability_chart.ts";
export { type ChartOptions, pageWidth, phoneWidth } from "./theme.ts";
export { componentsChart as components } from "./components_chart.ts";
export { dividedShoesChart as dividedShoes } from "./divided_shoes_chart.ts";
export { driftChart as drift } from "./drift_chart.ts";
export { budgetChart as budget } from "./budget_chart.ts";
export { driftRatesChart as driftRates } from "./drift_rates_chart.ts";
export { courtChart as court } from "./court_chart.ts";
export { wearChart as wear } from "./wear_chart.ts";
export { leniencyChart as leniency } from "./leniency_chart.ts";
export { orderEffectChart as orderEffect } from "./order_effect_chart.ts";
export { pairedSourcesChart as pairedSources } from "./paired_sources_chart.ts";
export { panelAgreementChart as panelAgreement } from "./panel_agreement_chart.ts";
export { trialDotsChart as trialDots } from "./trial_dots_chart.ts";
export { trialsNeededChart as trialsNeeded } from "./trials_needed_chart.ts";
export { predictionInfluenceChart as predictionInfluence } from "./prediction_influence_chart.ts";
export { predictionModelChart as predictionModel } from "./prediction_model_chart.ts";
export { predictionSharesChart as predictionShares } from "./prediction_shares_chart.ts";
export { shoesToSettleChart as shoesToSettle } from "./shoes_to_settle_chart.ts";
export {
  predictionAllSharesChart as predictionAllShares,
  predictionModelsChart as predictionModels,
  predictionScattersChart as predictionScatters,
} from "./prediction_stacks.ts";
export { stackCharts } from "./stack_charts.ts";
export { type AnswerChart, answerPicture, type AnswerPictureOptions } from "./answer_picture.ts";
export { comparisonChart as comparison, type ComparisonChartOptions } from "./comparison_chart.ts";
export { editionChart as edition } from "./edition_chart.ts";
export { fitChart as fit, type FitChartOptions } from "./fit_chart.ts";
export { metricPairChart as metricPair } from "./metric_pair_chart.ts";
export { shortlistChart as shortlist } from "./shortlist_chart.ts";
export { standingChart as standing } from "./standing_chart.ts";
export { contributionsChart as contributions } from "./contributions_chart.ts";
export {
  gainChart as gain,
  type NamedGain,
  proposalGains,
  recalibrationGains,
} from "./gain_chart.ts";
export { rankSlopeChart as rankSlope } from "./rank_slope_chart.ts";
export { ruleHistoryChart as ruleHistory } from "./rule_history_chart.ts";
export { weightsChart as weights } from "./weights_chart.ts";
export { bestChart as best } from "./best_chart.ts";
export { linkChart as link } from "./link_chart.ts";
export { profileChart as profile } from "./profile_chart.ts";
export { likeChart as like } from "./like_chart.ts";
export { makersChart as makers } from "./makers_chart.ts";
export { divisionChart as division } from "./division_chart.ts";
export { runsChart as runs } from "./runs_chart.ts";
export { versionsChart as versions } from "./versions_chart.ts";
export { testChangeChart as testChange } from "./test_change_chart.ts";
export { sizesChart as sizes } from "./sizes_chart.ts";
export { questionChart as question } from "./question_chart.ts";
