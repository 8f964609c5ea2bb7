import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributePrediction, PredictionPair } from "../studies/prediction/types.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { predictionModelChart } from "./prediction_model_chart.ts";
import { predictionScatterChart } from "./prediction_scatter_chart.ts";
import { predictionSharesChart } from "./prediction_shares_chart.ts";
import { chartColumns, stackCharts } from "./stack_charts.ts";
import { type ChartOptions, pageWidth } from "./theme.ts";

/** How do the shoes lie in each of these pairs? One scatter a pair, side by side where the width allows. */
export function predictionScattersChart(
  pairs: readonly PredictionPair[],
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.predictionScatters", arguments[1], chartOptions);
  const title = "Pairs of a metric and an impression, shoe by shoe";
  if (pairs.length === 0) {
    return drawNothing("No pair to show: nothing is claimed.", { title, ...options });
  }
  const { columns, width } = chartColumns(options.width ?? pageWidth);
  return stackCharts(
    pairs.map((pair) =>
      predictionScatterChart(pair, {
        ...options,
        width,
        heading: `${pair.metric_title} against ${pair.attribute_title}`,
      })
    ),
    title,
    { columns },
  );
}

/** How near does a model come to shoes that it has not seen? One chart an impression that has a model. */
export function predictionModelsChart(
  attributes: readonly Pick<AttributePrediction, "title" | "model">[],
  options: ChartOptions & { readonly model?: "ridge" | "nnls" } = {},
): SvgElement {
  option.check("charts.predictionModels", arguments[1], {
    ...chartOptions,
    model: option.oneOf("ridge", "nnls"),
  });
  const title = "Impressions foretold and felt";
  const shown = attributes.filter(({ model }) => model !== null && model.reason === null);
  if (shown.length === 0) {
    return drawNothing("No impression can be foretold from several metrics.", {
      title,
      ...options,
    });
  }
  const { columns, width } = chartColumns(options.width ?? pageWidth);
  return stackCharts(
    shown.map((attribute) =>
      predictionModelChart(attribute, {
        ...options,
        width,
        heading: `${attribute.title}: foretold and felt`,
      })
    ),
    title,
    { columns },
  );
}

/** Whose is what is explained? One chart an impression that has shares. */
export function predictionAllSharesChart(
  attributes: readonly Pick<AttributePrediction, "title" | "model">[],
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.predictionAllShares", arguments[1], chartOptions);
  const title = "What is explained, metric by metric";
  const shown = attributes.filter(({ model }) => (model?.shares.metrics.length ?? 0) > 0);
  if (shown.length === 0) {
    return drawNothing("No metric has a share in any impression.", { title, ...options });
  }
  const { columns, width } = chartColumns(options.width ?? pageWidth);
  return stackCharts(
    shown.map((attribute) =>
      predictionSharesChart(attribute, {
        ...options,
        width,
        rows: 5,
        heading: `${attribute.title}, metric by metric`,
      })
    ),
    title,
    { columns },
  );
}
