import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import { sourceWords } from "../words/repeatability/source_words.ts";
import type { MetricReliability } from "../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../words/reasons.ts";
import { droppedWords } from "../words/repeatability/reliability_result.ts";
import { draw, drawNothing, type SvgElement } from "./draw.ts";
import { shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Where does the scatter of a metric's readings come from?
 *
 * A bar a source, as its share of the variance of a single trial. Only the first is what the bench is after.
 */
export function componentsChart(
  metric: Pick<MetricReliability, "title" | "components" | "components_reason" | "dropped">,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.components", arguments[1], chartOptions);
  const heading = `Where the scatter of ${metric.title} comes from`;
  if (metric.components.length === 0) {
    return drawNothing(
      `The scatter of ${metric.title} can't be divided: ${sayReason(metric.components_reason!)}.`,
      { title: heading, width, ...options },
    );
  }
  const step = 44;
  const bars = metric.components.map((component, row) => ({
    ...component,
    words: sourceWords(component.source),
    percent: component.boundary
      ? "none seen"
      : component.share < 0.0005
      ? "below 0.1%"
      : `${(100 * component.share).toFixed(component.share < 0.0995 ? 1 : 0)}%`,
    textY: row * step + 11,
    y1: row * step + 20,
    y2: row * step + 34,
  }));
  return draw({
    ...options,
    width,
    title: heading,
    alt: `Shares of the variance of one trial of ${metric.title}: ${
      bars.map(({ words, percent }) => `${words} ${percent}`).join(", ")
    }.`,
    height: bars.length * step + 4,
    marginLeft: 0,
    marginRight: 0,
    marginTop: 0,
    marginBottom: 4,
    x: { domain: [0, 1], axis: null },
    y: { type: "identity", axis: null },
    notes: droppedWords(metric).map((words) => `Not told apart: ${words}.`),
    marks: [
      Plot.rect(bars, { x1: 0, x2: 1, y1: "y1", y2: "y2", fill: colour.band }),
      Plot.rect(bars.filter(({ share }) => share > 0), {
        x1: 0,
        x2: "share",
        y1: "y1",
        y2: "y2",
        fill: ({ source }) => source === "shoe" ? colour.mark : colour.context,
      }),
      Plot.text(bars, {
        frameAnchor: "left",
        textAnchor: "start",
        y: "textY",
        text: ({ words, percent }) =>
          shortenText(
            words,
            width - 2 * space.card - textWidth(percent, type.label) - 12,
            type.label,
            "bold",
          ),
        fontSize: type.label,
        fontWeight: 700,
        fill: colour.ink,
      }),
      Plot.text(bars, {
        x: 1,
        textAnchor: "end",
        y: "textY",
        text: "percent",
        fontSize: type.label,
        fill: colour.ink,
      }),
    ],
  });
}
