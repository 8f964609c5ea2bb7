import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { OrderProfile } from "../studies/repeatability/order_profile.ts";
import { draw, drawNothing, type KeyEntry, overlay, type SvgElement, svgElement } from "./draw.ts";
import { crossBar } from "./lane_marks.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { axisLabel, roomy } from "./value_words.ts";
import { orderSentence } from "../words/repeatability/source_sentences.ts";

/**
 * Do readings change from trial to trial within a visit?
 *
 * A faint dot a reading, as its distance from the mean of its visit; the mean of each trial number with its interval. The
 * slope is drawn where the study claims an order effect.
 */
export function orderEffectChart(
  result: OrderProfile,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.orderEffect", arguments[1], chartOptions);
  const { title, unit, means, residuals, slope, found } = result;
  const sentence = orderSentence(result);
  const heading = `${title} within a visit`;
  if (residuals.length === 0) {
    return drawNothing(sentence, { title: heading, width, ...options });
  }
  const inner = width - 2 * space.card;
  const numbers = means.map(({ trial }) => trial);
  const [first, last] = [Math.min(...numbers), Math.max(...numbers)];
  const middle = residuals.reduce((sum, { trial }) => sum + trial, 0) / residuals.length;
  // Dots of one trial number stand side by side, in the order they came.
  const spread = residuals.map((point, i) => ({
    x: point.trial + ((i * 0.618034) % 1 - 0.5) * 0.5,
    y: point.residual,
  }));
  const y = roomy(residuals.map(({ residual }) => residual));
  const atTrial = (trial: number) => slope.estimate! * (trial - middle);
  return draw({
    ...options,
    width,
    title: heading,
    alt: `${title}: ${sentence}`,
    height: 320,
    marginLeft: 54,
    marginRight: 12,
    marginTop: 28,
    marginBottom: 46,
    x: { domain: [first - 0.5, last + 0.5], type: "linear", label: null },
    y: { domain: y, label: null },
    key: signs(),
    notes: [sentence],
    marks: [
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 6 }),
      Plot.ruleY([0], { stroke: colour.line }),
      Plot.dot(spread, { x: "x", y: "y", r: 2.2, fill: colour.context, fillOpacity: 0.35 }),
      ...(found && slope.estimate !== null
        ? [Plot.link([0], {
          x1: first,
          x2: last,
          y1: atTrial(first),
          y2: atTrial(last),
          stroke: colour.accent,
          strokeWidth: 2.5,
        })]
        : []),
      overlay((scale) =>
        means.flatMap(({ trial, lower, upper }) =>
          lower === null || upper === null ? [] : crossBar(
            [scale.x(trial), scale.y(lower)],
            [scale.x(trial), scale.y(upper)],
            colour.mark,
          )
        )
      ),
      Plot.dot(means, {
        x: "trial",
        y: "mean",
        r: 3.5,
        fill: colour.mark,
        stroke: colour.card,
        strokeWidth: 1,
      }),
      ...axes(numbers, axisLabel("Above the visit's mean", unit, inner - 20)),
    ],
  });
}

function signs(): KeyEntry[] {
  return [
    {
      label: "one trial",
      mark: svgElement("circle", { r: 3, fill: colour.context, "fill-opacity": 0.5 }),
    },
    {
      label: "mean, with interval",
      mark: svgElement(
        "g",
        {},
        ...crossBar([0, -7], [0, 7], colour.mark),
        svgElement("circle", { r: 3.5, fill: colour.mark }),
      ),
    },
  ];
}

function axes(numbers: readonly number[], label: string): Plot.Markish[] {
  return [
    Plot.axisX({
      anchor: "bottom",
      ticks: numbers.filter((n) => numbers.length < 20 || n % 5 === 0),
      tickFormat: String,
      tickSize: 4,
      fontSize: type.tick,
      label: "Trial within the visit",
      labelAnchor: "center",
      labelArrow: "none",
      labelOffset: 40,
    }),
    Plot.axisY({
      ticks: 6,
      tickSize: 4,
      fontSize: type.tick,
      label,
      labelAnchor: "top",
      labelArrow: "none",
      labelOffset: 52,
    }),
  ];
}
