import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { IndexRecalibration } from "../studies/index/index_recalibration.ts";
import { drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import { type ChartOptions, colour } from "./theme.ts";

/**
 * Which weights move, and how firm is what they were fitted to?
 *
 * A row a term: the best fit on its interval, below it the new weight (filled), then the weight in force (hollow).
 */
export function weightsChart(
  { weights, rule, confidence, advice }: Pick<
    IndexRecalibration,
    "weights" | "rule" | "confidence" | "advice"
  >,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.weights", arguments[1], chartOptions);
  const title = "Weights, in force and new";
  if (rule === null || weights.length === 0) {
    return drawNothing("No weights to show: no index rule is in force.", { title, ...options });
  }
  const ends = weights.flatMap((weight) =>
    [weight.old, weight.new.estimate, weight.best_fit, weight.new.upper].filter((value) =>
      value !== null
    )
  );
  const high = Math.max(...ends) * 1.05;
  const shown = (value: number) => String(Number(value.toFixed(3)));
  const inWords = ({ old, new: { estimate }, kept }: typeof weights[number]) =>
    estimate === null
      ? `${shown(old)}, no estimate`
      : `${shown(old)} → ${shown(estimate)}${kept ? "" : ", the old one is off"}`;
  return drawIntervalRows(
    weights.map((weight) => ({
      title: weight.title,
      aside: inWords(weight),
      intervals: [
        {
          ...weight.new,
          estimate: weight.best_fit,
          estimate_reason: { code: "no-interval" },
          name: "best fit",
          style: "quiet" as const,
        },
        {
          ...weight.new,
          lower: null,
          upper: null,
          name: "new",
          style: "filled" as const,
        },
        {
          estimate: weight.old,
          estimate_reason: null,
          lower: null,
          upper: null,
          name: "in force",
          style: "hollow" as const,
        },
      ],
    })),
    {
      ...options,
      title,
      alt: `Advice: ${advice}. ${
        weights.map((weight) => `${weight.title} ${inWords(weight)}`).join("; ")
      }.`,
      domain: [0, high],
      label: "Weight in the index",
      key: [
        intervalKey("best fit, with its interval", { style: "quiet" }),
        {
          label: "new weight",
          mark: svgElement("circle", { r: 3.5, fill: colour.mark }),
        },
        {
          label: "weight in force",
          mark: svgElement("circle", {
            r: 3,
            fill: colour.card,
            stroke: colour.mark,
            "stroke-width": 2,
          }),
        },
      ],
      notes: [
        `Bars are ${
          Math.round(100 * confidence)
        }% intervals of the best fit, which nothing holds back. The new weight is held near the one in force, and may lie outside the bar.`,
      ],
    },
  );
}
