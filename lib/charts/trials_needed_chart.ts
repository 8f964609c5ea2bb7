import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { TrialsCurve } from "../studies/repeatability/trials_curve.ts";
import { sayReason } from "../words/reasons.ts";
import { trialsNeededWords } from "../words/repeatability/trials_needed_words.ts";
import { draw, drawNothing, type SvgElement } from "./draw.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { axisLabel } from "./value_words.ts";
import { iccStretches } from "../studies/repeatability/icc_bands.ts";

/**
 * What would more trials a visit buy?
 *
 * `of: "icc"` draws the ICC of the published mean against the bands of the verdict; `of: "mdc"` the smallest difference
 * that is not noise, against the one that matters to a player. The dot is what the lab takes today; the dashed line what trials without end
 * would come to.
 */
export function trialsNeededChart(
  curve: TrialsCurve,
  { of = "icc", width = pageWidth, ...options }: ChartOptions & {
    readonly of?: "icc" | "mdc";
  } = {},
): SvgElement {
  option.check("charts.trialsNeeded", arguments[1], {
    ...chartOptions,
    of: option.oneOf("icc", "mdc"),
  });
  const { title, points, limit, unit, smallest_difference } = curve;
  const heading = of === "icc"
    ? `What more trials of ${title} would buy`
    : `What difference in ${title} more trials would show`;
  if (points.length === 0 || limit === null) {
    return drawNothing(`There is no curve for ${title}: ${sayReason(curve.reason!)}.`, {
      title: heading,
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const most = points.at(-1)!.trials;
  const highest = Math.max(points[0].mdc, points[0].mdc_sure ?? 0, smallest_difference ?? 0);
  const words = trialsNeededWords(curve, limit, of);
  const sure = points.filter((point) => point[`${of}_sure`] !== null);
  return draw({
    ...options,
    width,
    title: heading,
    alt: `${title}: ${words}`,
    height: 300,
    marginLeft: 46,
    marginRight: of === "icc" ? 112 : 14,
    marginTop: 28,
    marginBottom: 46,
    x: { domain: [0.5, most + 0.5], label: null },
    y: { domain: [0, of === "icc" ? 1 : 1.08 * highest], label: null },
    notes: [
      words,
      ...(sure.length === 0 ? [] : [
        `The dotted line takes noise as large as the limits of today's figures allow: what the verdict goes by.`,
      ]),
    ],
    marks: [
      ...(of === "icc" ? bandMarks(most) : differenceMarks(curve)),
      Plot.ruleY([limit[of]], { stroke: colour.line, strokeDasharray: "4,3" }),
      Plot.line(sure, {
        x: "trials",
        y: (point) => point[`${of}_sure`],
        stroke: colour.mark,
        strokeWidth: 1.5,
        strokeDasharray: "1.5,3",
      }),
      ...curveMarks(curve, of),
      ...axisMarks(curve, of, inner, axisLabel("MDC", unit, inner - 20)),
    ],
  });
}

/** The mark of what is taken today belongs to the curve. */
function curveMarks({ points, taken }: TrialsCurve, of: "icc" | "mdc"): Plot.Markish[] {
  const now = points[taken - 1];
  return [
    Plot.line(points, { x: "trials", y: of, stroke: colour.mark, strokeWidth: 2 }),
    Plot.dot(points, { x: "trials", y: of, r: 2.5, fill: colour.mark }),
    Plot.dot([now], {
      x: "trials",
      y: of,
      r: 6,
      fill: colour.accent,
      stroke: colour.card,
      strokeWidth: 1.5,
    }),
    Plot.text([now], {
      x: "trials",
      y: of,
      dy: of === "icc" ? 16 : -14,
      dx: 4,
      textAnchor: "start",
      text: ({ trials }) => `today: ${trials}`,
      fontSize: type.small,
      fill: colour.accent,
      stroke: colour.card,
      strokeWidth: 3,
    }),
  ];
}

function bandMarks(most: number): Plot.Markish[] {
  const bands = [
    { ...iccStretches[0], label: "not fit to publish" },
    { ...iccStretches[1], label: "groups" },
    { ...iccStretches[2], label: "tiers" },
    { ...iccStretches[3], label: "single shoes" },
  ];
  return [
    ...bands.map(({ from, to }, index) =>
      Plot.rect([0], {
        x1: 0.5,
        x2: most + 0.5,
        y1: from,
        y2: to,
        fill: index % 2 === 0 ? colour.card : colour.band,
      })
    ),
    Plot.text(bands, {
      frameAnchor: "right",
      textAnchor: "start",
      dx: 6,
      y: ({ from, to }: { from: number; to: number }) => (from + to) / 2,
      text: "label",
      fontSize: type.small,
      fill: colour.quiet,
    }),
  ];
}

function differenceMarks({ points, smallest_difference }: TrialsCurve): Plot.Markish[] {
  const grid = Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 5 });
  if (smallest_difference === null) return [grid];
  const curveEndsBelow = points.at(-1)!.mdc < smallest_difference;
  return [
    grid,
    Plot.ruleY([smallest_difference], { stroke: colour.accent, strokeWidth: 2 }),
    Plot.text([smallest_difference], {
      y: (d) => d,
      // On the side of the line that the curve leaves free.
      frameAnchor: curveEndsBelow ? "right" : "left",
      textAnchor: curveEndsBelow ? "end" : "start",
      dy: curveEndsBelow ? -9 : 11,
      dx: curveEndsBelow ? -4 : 4,
      text: () => "what a player feels",
      fontSize: type.small,
      fill: colour.accent,
      stroke: colour.card,
      strokeWidth: 3,
    }),
  ];
}

function axisMarks(
  { points }: TrialsCurve,
  of: "icc" | "mdc",
  inner: number,
  mdcLabel: string,
): Plot.Markish[] {
  const [every, rest] = inner < 460 ? [5, 0] : [2, 1];
  return [
    Plot.axisX({
      anchor: "bottom",
      ticks: points.map(({ trials }) => trials).filter((n) => n === 1 || n % every === rest),
      tickFormat: String,
      tickSize: 4,
      fontSize: type.tick,
      label: "Trials a visit",
      labelAnchor: "center",
      labelArrow: "none",
      labelOffset: 40,
    }),
    Plot.axisY({
      ticks: of === "icc" ? [0, 0.5, 0.75, 0.9, 1] : 5,
      tickFormat: of === "icc" ? String : undefined,
      tickSize: 4,
      fontSize: type.tick,
      label: of === "icc" ? "ICC of the mean" : mdcLabel,
      labelAnchor: "top",
      labelArrow: "none",
      labelOffset: 44,
    }),
  ];
}
