import * as option from "../options.ts";
import type { IndexRecalibration } from "../studies/index/index_recalibration.ts";
import { sayReason } from "../words/reasons.ts";
import { drawCard, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, type LaneScale, laneScale, laneText } from "./lane_marks.ts";
import { limitLines, textWidth } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";

type Weight = IndexRecalibration["weights"][number];

/**
 * Which weights move, and how firm is what they were fitted to?
 *
 * A row a term, two lines each: the best fit (a diamond) on its interval, and below it an arrow from the weight in force
 * (hollow) to the new one (filled).
 */
export function weightsChart(
  { weights, rule, confidence, advice }: Pick<
    IndexRecalibration,
    "weights" | "rule" | "confidence" | "advice"
  >,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.weights", arguments[1], chartOptions);
  const title = "Weights, in force and new";
  if (rule === null || weights.length === 0) {
    return drawNothing("No weights to show: no index rule is in force.", {
      title,
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const scale = laneScale(
    [
      0,
      ...weights.flatMap((weight) =>
        [weight.old, weight.new.estimate, weight.best_fit, weight.new.lower, weight.new.upper]
          .filter((value) => value !== null)
      ),
    ],
    { left: 10, right: inner - 10, possible: { low: 0, high: null } },
  );
  const content: SvgElement[] = [];
  let y = 2;
  for (const weight of weights) {
    const row = weightRow(weight, { scale, inner, top: y });
    content.push(...row.content);
    y = row.bottom;
  }
  return drawCard({
    ...options,
    width,
    title,
    alt: `Advice: ${advice}. ${
      weights.map((weight) => `${weight.title} ${inWords(weight)}`).join("; ")
    }.`,
    key: weightKey(),
    notes: weights.every(({ best_fit }) => best_fit === null)
      ? ["The new weight is held near the one in force."]
      : [
        `Bars are ${
          Math.round(100 * confidence)
        }% intervals of the best fit, which nothing holds back, each looked at alone. The new weight is held near the one in force, and may lie outside the bar.`,
      ],
  }, {
    height: y + 44,
    content: [
      ...content,
      ...laneAxis(scale, { y: y + 2 }),
      laneText("Weight in the index", {
        x: inner / 2,
        y: y + 34,
        anchor: "middle",
        size: type.tick,
      }),
    ],
  });
}

function weightRow(
  weight: Weight,
  { scale, inner, top }: {
    readonly scale: LaneScale;
    readonly inner: number;
    readonly top: number;
  },
): { readonly content: readonly SvgElement[]; readonly bottom: number } {
  const aside = inWords(weight);
  const beside = textWidth(weight.title, type.label, "bold") + textWidth(aside, type.small) + 14 <=
    inner;
  const lines = limitLines(weight.title, 2, inner, type.label, "bold");
  let y = top + 10;
  const content: SvgElement[] = lines.map((line, index) =>
    laneText(line, { x: 0, y: y + 18 * index, size: type.label, weight: "bold" })
  );
  if (!beside) y += 18 * lines.length - 1;
  content.push(
    laneText(aside, { x: beside ? inner : 0, y, anchor: beside ? "end" : "start" }),
  );
  const { estimate, lower, upper, estimate_reason } = weight.new;
  const [fit, move] = [y + 20, y + 37];
  if (weight.best_fit !== null) {
    content.push(
      ...(lower === null || upper === null
        ? []
        : laneBar(scale.px(lower), scale.px(upper), fit, colour.context)),
      diamond(scale.px(weight.best_fit), fit),
    );
  } else {
    const why = estimate_reason === null
      ? "no best fit: too few shoes"
      : `no fit: ${sayReason(estimate_reason)}`;
    const [line] = limitLines(why, 1, inner - 20, type.small);
    content.push(laneText(line, { x: 10, y: fit, fill: colour.quiet }));
  }
  content.push(...moveMarks(weight.old, estimate, { scale, y: move }));
  const bottom = move + 14;
  return {
    content: [
      ...content,
      svgElement("line", { x1: 0, x2: inner, y1: bottom, y2: bottom, stroke: colour.grid }),
    ],
    bottom: bottom + 2,
  };
}

/** From the weight in force to the new one, with an arrow where they lie far enough apart for it. */
function moveMarks(
  old: number,
  estimate: number | null,
  { scale, y }: { readonly scale: LaneScale; readonly y: number },
): SvgElement[] {
  const from = scale.px(old);
  if (estimate === null) return [hollow(from, y)];
  const to = scale.px(estimate);
  const way = Math.sign(to - from);
  const arrow = Math.abs(to - from) < 16 ? [] : [
    svgElement("path", {
      d: `M${from + way * 5},${y}H${to - way * 6}M${to - way * 11},${y - 4}L${to - way * 6},${y}L${
        to - way * 11
      },${y + 4}`,
      stroke: colour.mark,
      "stroke-width": 1.75,
      fill: "none",
    }),
  ];
  return [...arrow, hollow(from, y), filled(to, y)];
}

function weightKey(): KeyEntry[] {
  return [
    {
      label: "best fit, with its interval",
      mark: svgElement("g", {}, ...laneBar(-9, 9, 0, colour.context), diamond(0, 0)),
    },
    { label: "weight in force", mark: hollow(0, 0) },
    { label: "new weight", mark: filled(0, 0) },
  ];
}

function diamond(x: number, y: number): SvgElement {
  return svgElement("path", {
    d: `M${x},${y - 5}L${x + 5},${y}L${x},${y + 5}L${x - 5},${y}Z`,
    fill: colour.context,
    stroke: colour.card,
  });
}

function hollow(cx: number, cy: number): SvgElement {
  return svgElement("circle", {
    cx,
    cy,
    r: 4,
    fill: colour.card,
    stroke: colour.mark,
    "stroke-width": 2,
  });
}

function filled(cx: number, cy: number): SvgElement {
  return svgElement("circle", { cx, cy, r: 4.5, fill: colour.mark });
}

function inWords({ old, new: { estimate }, kept }: Weight): string {
  const shown = (value: number) => String(Number(value.toFixed(3)));
  return estimate === null
    ? `${shown(old)}, no estimate`
    : `${shown(old)} → ${shown(estimate)}${kept ? "" : ", the old one outside its interval"}`;
}
