import * as option from "../options.ts";
import * as Plot from "@observablehq/plot";
import type { UncertaintyBudget } from "../studies/budget/uncertainty_budget.ts";
import { budgetSentence, budgetSourceWords } from "../words/budget/budget_words.ts";
import { inUnit } from "../words/unit_words.ts";
import { draw, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Which sources make up the uncertainty of a published value?
 *
 * A bar a source, as long as its standard uncertainty; what all shoes share, which cancels between two of them, is
 * hatched by its outline.
 */
export function budgetChart(
  budget: UncertaintyBudget,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.budget", arguments[1], chartOptions);
  const heading = `What makes ${budget.title} uncertain`;
  const sentence = budgetSentence(budget);
  if (budget.comparing === null) {
    return drawNothing(sentence, { title: heading, width, ...options });
  }
  const step = 44;
  const finer = { unit: budget.unit, decimals: budget.decimals + 2 };
  const bars = budget.parts.toSorted((a, b) => b.standard - a.standard).map((part, row) => ({
    ...part,
    words: budgetSourceWords(part.source),
    figure: `${inUnit(part.standard, finer)}, type ${part.type}`,
    textY: row * step + 11,
    y1: row * step + 20,
    y2: row * step + 34,
  }));
  const most = Math.max(...bars.map(({ standard }) => standard), Number.MIN_VALUE);
  return draw({
    ...options,
    width,
    title: heading,
    alt: `${sentence} Standard uncertainties: ${
      bars.map(({ words, figure }) => `${words} ${figure}`).join("; ")
    }.`,
    height: bars.length * step + 4,
    marginLeft: 0,
    marginRight: 0,
    marginTop: 0,
    marginBottom: 4,
    x: { domain: [0, most], axis: null },
    y: { type: "identity", axis: null },
    key: [
      {
        label: "counts between two shoes",
        mark: svgElement("rect", { x: -9, y: -5, width: 18, height: 10, fill: colour.mark }),
      },
      {
        label: "shared by all, cancels",
        mark: svgElement("rect", {
          x: -9,
          y: -5,
          width: 18,
          height: 10,
          fill: colour.card,
          stroke: colour.mark,
          "stroke-width": 2,
        }),
      },
    ],
    notes: [sentence],
    marks: [
      Plot.rect(bars, {
        x1: 0,
        x2: "standard",
        y1: "y1",
        y2: "y2",
        fill: ({ shared }) => shared ? colour.card : colour.mark,
        stroke: colour.mark,
        strokeWidth: 2,
      }),
      Plot.text(bars, {
        frameAnchor: "left",
        textAnchor: "start",
        y: "textY",
        text: ({ words, figure }) =>
          shortenText(
            words,
            width - 2 * space.card - textWidth(figure, type.label) - 12,
            type.label,
            "bold",
          ),
        fontSize: type.label,
        fontWeight: 700,
        fill: colour.ink,
      }),
      Plot.text(bars, {
        frameAnchor: "right",
        textAnchor: "end",
        y: "textY",
        text: "figure",
        fontSize: type.label,
        fill: colour.ink,
      }),
    ],
  });
}
