export { chartPng, type PngOptions } from "./chart_png.ts";
export { chartSvg } from "./chart_svg.ts";
export { type BodySlot, composeSvg, type PictureOptions } from "./compose_svg.ts";
export { coverageChart } from "./coverage_chart.ts";
export type { SvgElement, SvgNode } from "./draw.ts";
export { chartAlt, chartImage, figure, type FigureOptions } from "./figure.ts";
export { indexChart } from "./index_chart.ts";
export { mdcChart } from "./mdc_chart.ts";
export { portableSvg } from "./portable_svg.ts";
export { predictionGridChart } from "./prediction_grid_chart.ts";
export { predictionScatterChart } from "./prediction_scatter_chart.ts";
export { reliabilityChart } from "./reliability_chart.ts";
export { type ChartOptions, pageWidth, phoneWidth } from "./theme.ts";
export { componentsChart } from "./components_chart.ts";
export { dividedShoesChart } from "./divided_shoes_chart.ts";
export { driftChart } from "./drift_chart.ts";
export { driftRatesChart } from "./drift_rates_chart.ts";
export { leniencyChart } from "./leniency_chart.ts";
export { orderEffectChart } from "./order_effect_chart.ts";
export { pairedSourcesChart } from "./paired_sources_chart.ts";
export { panelAgreementChart } from "./panel_agreement_chart.ts";
export { trialDotsChart } from "./trial_dots_chart.ts";
export { trialsNeededChart } from "./trials_needed_chart.ts";
export { predictionInfluenceChart } from "./prediction_influence_chart.ts";
export { predictionModelChart } from "./prediction_model_chart.ts";
export { predictionSharesChart } from "./prediction_shares_chart.ts";
export { shoesToSettleChart } from "./shoes_to_settle_chart.ts";
export {
  predictionAllSharesChart,
  predictionModelsChart,
  predictionScattersChart,
} from "./prediction_stacks.ts";
export { stackCharts } from "./stack_charts.ts";
export { type AnswerChart, answerPicture } from "./answer_picture.ts";
export { comparisonChart, type ComparisonChartOptions } from "./comparison_chart.ts";
export { editionChart } from "./edition_chart.ts";
export { fitChart, type FitChartOptions } from "./fit_chart.ts";
export { metricPairChart } from "./metric_pair_chart.ts";
export { shortlistChart } from "./shortlist_chart.ts";
export { standingChart } from "./standing_chart.ts";
export { contributionsChart } from "./contributions_chart.ts";
export { gainChart, type NamedGain, proposalGains, recalibrationGains } from "./gain_chart.ts";
export { rankSlopeChart } from "./rank_slope_chart.ts";
export { ruleHistoryChart } from "./rule_history_chart.ts";
export { weightsChart } from "./weights_chart.ts";
