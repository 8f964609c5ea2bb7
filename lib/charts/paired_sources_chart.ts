import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { PairedSources } from "../studies/repeatability/paired_sources.ts";
import { draw, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { axisLabel, roomy } from "./value_words.ts";
import { pairedSentence } from "../words/repeatability/source_sentences.ts";

/**
 * Where do two operators, or two rigs, part over the same shoe?
 *
 * A dot a shoe that both benched in the same weeks: their difference against their mean. The line is the mean
 * difference with its interval as a band, the dashed lines are where 19 of 20 differences are expected. Where
 * the difference changes over time it stands against the month, and the band is that of the last.
 */
export function pairedSourcesChart(
  result: PairedSources,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.pairedSources", arguments[1], chartOptions);
  const { title, unit, a, b, pairs, bias, lower_limit, upper_limit } = result;
  const sentence = pairedSentence(result);
  const heading = a === null || b === null ? title : `${title}: ${b} against ${a}`;
  if (bias.estimate === null || bias.lower === null || bias.upper === null) {
    return drawNothing(sentence, { title: heading, width, ...options });
  }
  const inner = width - 2 * space.card;
  const at = lastDay(pairs);
  const limits = [lower_limit.estimate!, upper_limit.estimate!];
  // What a line that moves with time comes to on a day; the figures are those of the last.
  const rate = result.moves ? result.change.estimate! : 0;
  const on = (level: number, day: number) => level + rate * (day - at) / YEAR;
  const days = pairs.map(({ date }) => Date.parse(date));
  const x = result.moves
    ? [Math.min(...days) - MONTH, at + MONTH]
    : roomy(pairs.map(({ mean }) => mean));
  const [from, to] = result.moves ? [Math.min(...days), at] : x;
  const y = roomy([
    ...pairs.map(({ difference }) => difference),
    ...[...limits, bias.estimate].flatMap((level) => [on(level, from), level]),
    bias.lower,
    bias.upper,
    0,
  ]);
  const line = (level: number, style: Plot.LineOptions) =>
    Plot.line([[from, result.moves ? on(level, from) : level], [to, level]], {
      ...style,
      clip: true,
    });
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
    x: { domain: x, label: null },
    y: { domain: y, label: null },
    key: pairedKey(),
    notes: [sentence],
    marks: [
      Plot.rect([0], {
        x1: result.moves ? at - MONTH / 3 : x[0],
        x2: result.moves ? at + MONTH / 3 : x[1],
        y1: bias.lower,
        y2: bias.upper,
        fill: colour.bandStrong,
      }),
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 6 }),
      Plot.ruleY([0], { stroke: colour.line }),
      line(bias.estimate, { stroke: colour.accent, strokeWidth: 2.5 }),
      ...limits.map((limit) =>
        line(limit, { stroke: colour.ink, strokeDasharray: "4,3", strokeWidth: 1.5 })
      ),
      Plot.dot(pairs, {
        x: result.moves ? ({ date }) => Date.parse(date) : "mean",
        y: "difference",
        r: 4.5,
        fill: colour.mark,
        stroke: colour.card,
        strokeWidth: 1.5,
      }),
      Plot.axisX({
        anchor: "bottom",
        ticks: Math.max(3, Math.floor(inner / 90)),
        tickSize: 4,
        fontSize: type.tick,
        ...(result.moves
          ? { tickFormat: (day: number) => new Date(day).toISOString().slice(0, 7) }
          : {}),
        label: result.moves ? "Month" : axisLabel("Mean of both", unit, inner - 60),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 40,
      }),
      Plot.axisY({
        ticks: 6,
        tickSize: 4,
        fontSize: type.tick,
        label: axisLabel(`${b} minus ${a}`, unit, inner - 20),
        labelAnchor: "top",
        labelArrow: "none",
        labelOffset: 52,
      }),
    ],
  });
}

const DAY = 86400000;
const MONTH = 30 * DAY;
const YEAR = 365.25 * DAY;

function lastDay(pairs: PairedSources["pairs"]): number {
  return Math.max(...pairs.map(({ date }) => Date.parse(date)));
}

function pairedKey(): { readonly label: string; readonly mark: SvgElement }[] {
  return [
    { label: "one shoe", mark: svgElement("circle", { r: 4, fill: colour.mark }) },
    {
      label: "mean difference and its interval",
      mark: svgElement(
        "g",
        {},
        svgElement("rect", { x: -9, y: -5, width: 18, height: 10, fill: colour.bandStrong }),
        svgElement("line", { x1: -9, x2: 9, stroke: colour.accent, "stroke-width": 2.5 }),
      ),
    },
    {
      label: "19 of 20 shoes",
      mark: svgElement("line", {
        x1: -9,
        x2: 9,
        stroke: colour.ink,
        "stroke-dasharray": "4,3",
        "stroke-width": 1.5,
      }),
    },
  ];
}
