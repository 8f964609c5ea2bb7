import { boundArrows, boundNote } from "./prediction_scatter_chart.ts";
import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import type { MetricLink } from "../studies/questions/metric_link.ts";
import { linkWords } from "../words/questions/link_words.ts";
import { atStep } from "./build_up.ts";
import { draw, overlay, type SvgElement, svgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
import { onAxisWords } from "./on_axis_words.ts";
import { shortenText } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { padded } from "./scatter_frame.ts";

/**
 * Do shoes that read high on a metric rate high on an impression?
 *
 * A dot a shoe, with a thin line from its most severe to its most lenient tester; the four that lie furthest out are
 * named. What claims rest on, such as makers and editions, is in the review's scatter.
 *
 * @param options `height` room in pixels
 */
export function linkChart(
  result: MetricLink,
  { width = pageWidth, height: room, ...options }: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.link", arguments[1], { ...chartOptions, height: option.positive });
  const { pair: { points }, metric, attribute } = result;
  const inner = width - 2 * space.card;
  const height = Math.round(
    Math.min(680, Math.max(170, room === undefined ? inner * 0.64 : room - 46)),
  );
  const [marginLeft, marginRight, marginTop, marginBottom] = [36, 14, 24, 42];
  const x = padded(points.map((point) => point.metric_value));
  const y = padded(points.flatMap(({ panel_low, panel_high }) => [panel_low, panel_high]));
  const px = (value: number) =>
    marginLeft + (value - x[0]) / (x[1] - x[0]) * (inner - marginLeft - marginRight);
  const py = (value: number) =>
    height - marginBottom - (value - y[0]) / (y[1] - y[0]) * (height - marginTop - marginBottom);
  const [cx, cy] = [(x[0] + x[1]) / 2, (y[0] + y[1]) / 2];
  const distance = (point: typeof points[number]) =>
    Math.hypot(
      (point.metric_value - cx) / (x[1] - x[0]),
      (point.panel_value - cy) / (y[1] - y[0]),
    );
  const named = points.toSorted((a, b) => distance(b) - distance(a)).slice(0, 4);
  const { mark: labels } = labelMarks(
    named.map((point) => ({
      x: px(point.metric_value),
      y: py(point.panel_value),
      text: shortenText(point.name, inner * 0.4, type.small),
      radius: 5,
    })),
    {
      bounds: {
        left: marginLeft + 2,
        right: inner - 2,
        top: marginTop,
        bottom: height - marginBottom - 2,
      },
      occupied: points.map((point) => ({
        left: px(point.metric_value) - 4,
        right: px(point.metric_value) + 4,
        top: py(point.panel_value) - 4,
        bottom: py(point.panel_value) + 4,
      })),
    },
  );
  return draw({
    ...options,
    width,
    title: `${metric.title} against ${attribute.title}`,
    alt: linkWords(result).alt,
    height,
    marginLeft,
    marginRight,
    marginTop,
    marginBottom,
    x: { domain: x, label: null },
    y: { domain: y, label: null },
    notes: [
      "One dot a shoe; lines from its lowest to its highest tester, leniency taken out.",
      ...boundNote(points),
    ],
    marks: [
      ...linkAxes(result, { inner, height, marginLeft }),
      ...shoeMarks(points),
      ...boundArrows(points),
      labels,
    ],
  });
}

/** A dot a shoe, over its testers' line; built up, the dots come first. */
function shoeMarks(points: MetricLink["pair"]["points"]): Plot.Markish[] {
  return [
    overlay((scale) =>
      points.map((point) => {
        const x = scale.x(point.metric_value);
        return atStep(
          3,
          svgElement("line", {
            x1: x,
            x2: x,
            y1: scale.y(point.panel_low),
            y2: scale.y(point.panel_high),
            stroke: colour.context,
            "stroke-width": 1,
            "stroke-opacity": 0.55,
          }),
        );
      })
    ),
    overlay((scale) =>
      points.map((point) =>
        atStep(
          2,
          svgElement("circle", {
            cx: scale.x(point.metric_value),
            cy: scale.y(point.panel_value),
            r: 4.25,
            fill: colour.mark,
            stroke: colour.card,
            "stroke-width": 1,
          }),
        )
      )
    ),
  ];
}

function linkAxes(
  { metric, attribute }: MetricLink,
  { inner, height, marginLeft }: {
    readonly inner: number;
    readonly height: number;
    readonly marginLeft: number;
  },
): Plot.Markish[] {
  const ticks = Math.max(3, Math.floor(inner / 90));
  const tall = Math.max(3, Math.floor(height / 60));
  return [
    Plot.gridX({ stroke: colour.grid, strokeOpacity: 1, ticks }),
    Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: tall }),
    Plot.axisX({
      ticks,
      label: shortenText(onAxisWords(metric), inner - 20, type.tick),
      labelAnchor: "center",
      labelArrow: "none",
      labelOffset: 38,
      tickSize: 4,
      fontSize: type.tick,
    }),
    Plot.axisY({
      ticks: tall,
      label: shortenText(`↑ ${attribute.title} (rating points)`, inner - 20, type.tick),
      labelAnchor: "top",
      labelArrow: "none",
      labelOffset: marginLeft - 2,
      tickSize: 4,
      fontSize: type.tick,
    }),
  ];
}
