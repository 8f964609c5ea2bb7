import * as Plot from "@observablehq/plot";
import type { TrialsCurve } from "../studies/repeatability/trials_curve.ts";
import { sayReason } from "../words/reasons.ts";
import { inUnit } from "../words/unit_words.ts";
import { draw, drawNothing, type SvgElement } from "./draw.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { axisLabel } from "./value_words.ts";

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
  const { title, points, limit, taken, unit, smallest_difference } = curve;
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
  const now = points[taken - 1];
  const most = points.at(-1)!.trials;
  const top = of === "icc" ? 1 : 1.08 * Math.max(points[0].mdc, smallest_difference ?? 0);
  const curveEndsBelow = points.at(-1)!.mdc < (smallest_difference ?? 0);
  const value = (point: { readonly icc: number; readonly mdc: number }) => point[of];
  const bands = of === "icc"
    ? [
      { from: 0, to: 0.5, label: "not fit to publish" },
      { from: 0.5, to: 0.75, label: "groups" },
      { from: 0.75, to: 0.9, label: "tiers" },
      { from: 0.9, to: 1, label: "single shoes" },
    ]
    : [];
  // Rounded as readings are, what trials buy would vanish.
  const finer = { unit: curve.unit, decimals: curve.decimals + 1 };
  const words = of === "icc"
    ? `With ${taken} trials the ICC of the mean is ${now.icc.toFixed(2)}, with trials without end ${
      limit.icc.toFixed(2)
    }. ${
      curve.needed_90 === null
        ? `It does not reach 0.90: ${sayReason(curve.needed_90_reason!)}.`
        : `${curve.needed_90} ${curve.needed_90 === 1 ? "trial reaches" : "trials reach"} 0.90.`
    }`
    : `With ${taken} trials two shoes must differ by ${
      inUnit(now.mdc, finer)
    }, with trials without end by ${inUnit(limit.mdc, finer)}.${
      smallest_difference === null ? "" : ` A player feels ${inUnit(smallest_difference, curve)}.`
    }`;
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
    y: { domain: [0, top], label: null },
    notes: [words],
    marks: [
      ...bands.map(({ from, to }, index) =>
        Plot.rect([0], {
          x1: 0.5,
          x2: most + 0.5,
          y1: from,
          y2: to,
          fill: index % 2 === 0 ? colour.card : colour.band,
        })
      ),
      ...(of === "mdc" ? [Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 5 })] : []),
      ...(of === "mdc" && smallest_difference !== null
        ? [
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
        ]
        : []),
      Plot.ruleY([value(limit)], { stroke: colour.line, strokeDasharray: "4,3" }),
      Plot.line(points, {
        x: "trials",
        y: value,
        stroke: colour.mark,
        strokeWidth: 2,
      }),
      Plot.dot(points, {
        x: "trials",
        y: value,
        r: 2.5,
        fill: colour.mark,
      }),
      Plot.dot([now], {
        x: "trials",
        y: value,
        r: 6,
        fill: colour.accent,
        stroke: colour.card,
        strokeWidth: 1.5,
      }),
      Plot.text([now], {
        x: "trials",
        y: value,
        dy: of === "icc" ? 16 : -14,
        dx: 4,
        textAnchor: "start",
        text: ({ trials }) => `today: ${trials}`,
        fontSize: type.small,
        fill: colour.accent,
        stroke: colour.card,
        strokeWidth: 3,
      }),
      Plot.text(bands, {
        frameAnchor: "right",
        textAnchor: "start",
        dx: 6,
        y: ({ from, to }: { from: number; to: number }) => (from + to) / 2,
        text: "label",
        fontSize: type.small,
        fill: colour.quiet,
      }),
      Plot.axisX({
        anchor: "bottom",
        ticks: points.map(({ trials }) => trials)
          .filter((n) => n === 1 || n % (inner < 460 ? 5 : 2) === (inner < 460 ? 0 : 1)),
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
        label: of === "icc" ? "ICC of the mean" : axisLabel("MDC", unit, inner - 20),
        labelAnchor: "top",
        labelArrow: "none",
        labelOffset: 44,
      }),
    ],
  });
}
