import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { CourtPrediction, UnsettledPair } from "../studies/prediction/types.ts";
import { shoesText } from "../words/phrases.ts";
import { sayReason } from "../words/reasons.ts";
import { drawCard, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/** Pairs that need more shoes than this are counted, not drawn. */
const MOST_SHOES = 1000;

/**
 * How many shoes would settle what these can't tell?
 *
 * A row an impression, a mark a metric, on a logarithmic axis of shoes: a dot where so many shoes would find the
 * correlation, a hollow square where they would show that there is none to speak of. The thick line is the bench of today.
 */
export function shoesToSettleChart(
  { unsettled, attributes }: Pick<CourtPrediction, "unsettled" | "attributes">,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.shoesToSettle", arguments[1], chartOptions);
  const title = "How many shoes would settle what is open";
  if (unsettled.every(({ n }) => n === 0)) {
    return drawNothing(
      attributes.length === 0 || unsettled.length > 0
        ? "No metric can be set against an impression: no shoe has both."
        : "Nothing is left open by these shoes.",
      { title, width, ...options },
    );
  }
  const known = unsettled.filter(({ shoes }) => shoes !== null);
  if (known.length === 0) {
    return drawNothing(
      `For ${unsettled.length} open pairs it can't be said how many shoes would settle them: ${
        sayReason(unsettled[0].reason ?? { code: "no-interval" })
      }.`,
      { title, width, ...options },
    );
  }
  const inner = width - 2 * space.card;
  const now = Math.max(...unsettled.map(({ n }) => n));
  const low = Math.max(4, Math.min(now, ...known.map(({ shoes }) => shoes!)) * 0.85);
  const high = 1.05 *
    Math.max(2 * now, ...known.map(({ shoes }) => Math.min(MOST_SHOES, shoes!)));
  const [left, right] = [10, 16];
  const px = (shoes: number) =>
    left + Math.log(shoes / low) / Math.log(high / low) * (inner - left - right);

  const content: SvgElement[] = [];
  const text = (words: string, attributes: Record<string, string | number>) =>
    svgElement(
      "text",
      { dy: "0.32em", "font-size": type.small, fill: colour.ink, ...attributes },
      words,
    );
  let y = type.small * 1.6;
  content.push(text(`${now} today`, {
    x: Math.min(Math.max(px(now), textWidth(`${now} today`, type.small) / 2), inner - right),
    y: y - type.small * 0.9,
    "text-anchor": "middle",
    fill: colour.quiet,
  }));
  const marks: SvgElement[] = [];
  for (const { attribute, title: name } of attributes) {
    const own = unsettled.filter((pair) => pair.attribute === attribute);
    if (own.length === 0) continue;
    const shown = own.filter(({ shoes }) => shoes !== null && shoes <= high);
    const beyond = own.length - shown.length;
    const aside = `${own.length} open${beyond === 0 ? "" : `, ${beyond} beyond ${MOST_SHOES}`}`;
    const asideWidth = textWidth(aside, type.small);
    const [line] = limitLines(name, 1, inner - asideWidth - 14, type.label, "bold");
    content.push(
      svgElement("line", { x1: 0, x2: inner, y1: y, y2: y, stroke: colour.grid }),
      text(line, { x: 0, y: y + 13, "font-size": type.label, "font-weight": 700 }),
      text(aside, { x: inner, y: y + 13, "text-anchor": "end", fill: colour.quiet }),
    );
    const stacks = stack(shown.map((pair) => px(pair.shoes!)));
    const tallest = Math.max(0, ...stacks);
    const base = y + 32 + tallest * 11;
    // Below the heading, so that no line runs through words.
    content.push(svgElement("line", {
      x1: px(now),
      x2: px(now),
      y1: y + 23,
      y2: base + 7,
      stroke: colour.line,
      "stroke-width": 2,
    }));
    content.push(svgElement("line", {
      x1: left,
      x2: inner - right,
      y1: base + 7,
      y2: base + 7,
      stroke: colour.edge,
    }));
    shown.forEach((pair, i) =>
      marks.push(svgElement("g", {
        transform: `translate(${px(pair.shoes!)},${base - stacks[i] * 11})`,
      }, outcomeSign(pair.outcome)))
    );
    y = base + 16;
  }
  const ticks = [5, 10, 20, 50, 75, 100, 150, 200, 300, 500, 1000]
    .filter((tick) => tick >= low && tick <= high);
  let last = -Infinity;
  const shownTicks = ticks.filter((tick) => {
    const half = textWidth(String(tick), type.tick) / 2;
    if (px(tick) - half < last + 10 || px(tick) + half > inner) return false;
    last = px(tick) + half;
    return true;
  });
  const axis = [
    svgElement("line", { x1: left, x2: inner - right, y1: y, y2: y, stroke: colour.ink }),
    ...shownTicks.flatMap((tick) => [
      svgElement("line", { x1: px(tick), x2: px(tick), y1: y, y2: y + 4, stroke: colour.ink }),
      text(String(tick), {
        x: px(tick),
        y: y + 13,
        "text-anchor": "middle",
        "font-size": type.tick,
      }),
    ]),
    text("Shoes with both values", {
      x: inner / 2,
      y: y + 34,
      "text-anchor": "middle",
      "font-size": type.tick,
    }),
  ];
  const outcomes = (["predicts", "no sign of it"] as const)
    .filter((outcome) => known.some((pair) => pair.outcome === outcome));
  return drawCard({
    ...options,
    width,
    title,
    alt: settleAlt(unsettled, now),
    key: outcomes.map((outcome): KeyEntry => ({
      label: outcome === "predicts"
        ? "would be found to predict"
        : "would be shown to be within ±0.3",
      mark: outcomeSign(outcome),
    })),
    notes: [
      "Each mark is a metric, at the number of shoes that would settle it four times in five if its correlation is what it is here. Over what the correlation may be the number ranges up to tenfold; where it ranges further there is no mark.",
    ],
  }, { height: y + 44, content: [...content, ...marks, ...axis] });
}

/** Lifts each mark above those it would cover; from left to right. */
function stack(places: readonly number[]): number[] {
  const heights = new Array<number>(places.length).fill(0);
  const order = places.map((_, i) => i).sort((a, b) => places[a] - places[b] || a - b);
  order.forEach((i, rank) => {
    const taken = new Set(
      order.slice(0, rank).filter((j) => places[i] - places[j] < 11).map((j) => heights[j]),
    );
    while (taken.has(heights[i])) heights[i]++;
  });
  return heights;
}

function outcomeSign(outcome: UnsettledPair["outcome"]): SvgElement {
  return outcome === "predicts"
    ? svgElement("circle", { r: 4.5, fill: colour.mark })
    : svgElement("rect", {
      x: -4,
      y: -4,
      width: 8,
      height: 8,
      fill: colour.card,
      stroke: colour.context,
      "stroke-width": 1.75,
    });
}

function settleAlt(unsettled: readonly UnsettledPair[], now: number): string {
  const known = unsettled.flatMap(({ shoes }) => shoes === null ? [] : [shoes])
    .sort((a, b) => a - b);
  const until = (limit: number) => known.filter((shoes) => shoes <= limit).length;
  const reach = [2 * now, 4 * now].map((limit) => `${until(limit) || "none"} with ${limit} shoes`);
  return `${unsettled.length} pairs of a metric and an impression are open with ${now} shoes. ${
    known.length === 0
      ? "No number of shoes is known that would settle one."
      : `If each correlation is what it is here, the first would be settled with about ${
        shoesText(known[0])
      } shoes, ${reach.join(", ")}.`
  }`;
}
