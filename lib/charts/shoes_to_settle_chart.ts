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
  const now = Math.max(...unsettled.map(({ n }) => n));
  const scale = scaleOf(known, now, width - 2 * space.card);
  const heading = type.small * 1.6;
  const rows = attributes.map((attribute) => ({
    name: attribute.title,
    pairs: unsettled.filter((pair) => pair.attribute === attribute.attribute),
  })).filter(({ pairs }) => pairs.length > 0);
  const parts: Part[] = [];
  let y = heading;
  for (const row of rows) {
    const part = rowOf(row, { y, now, scale });
    parts.push(part);
    y = part.below;
  }
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
  }, {
    height: y + 44,
    content: [
      todayWords(now, heading, scale),
      ...parts.flatMap(({ ground }) => ground),
      ...parts.flatMap(({ marks }) => marks),
      ...axis(y, scale),
    ],
  });
}

/** The logarithmic scale of shoes. */
type Scale = {
  readonly inner: number;
  readonly left: number;
  readonly right: number;
  readonly low: number;
  readonly high: number;
  readonly px: (shoes: number) => number;
};

function scaleOf(known: readonly UnsettledPair[], now: number, inner: number): Scale {
  const low = Math.max(4, Math.min(now, ...known.map(({ shoes }) => shoes!)) * 0.85);
  const high = 1.05 *
    Math.max(2 * now, ...known.map(({ shoes }) => Math.min(MOST_SHOES, shoes!)));
  const [left, right] = [10, 16];
  const px = (shoes: number) =>
    left + Math.log(shoes / low) / Math.log(high / low) * (inner - left - right);
  return { inner, left, right, low, high, px };
}

function text(words: string, attributes: Record<string, string | number>): SvgElement {
  return svgElement(
    "text",
    { dy: "0.32em", "font-size": type.small, fill: colour.ink, ...attributes },
    words,
  );
}

function todayWords(now: number, y: number, { px, inner, right }: Scale): SvgElement {
  const words = `${now} today`;
  return text(words, {
    x: Math.min(Math.max(px(now), textWidth(words, type.small) / 2), inner - right),
    y: y - type.small * 0.9,
    "text-anchor": "middle",
    fill: colour.quiet,
  });
}

/** What one impression adds to the picture, and how far down it reaches. */
type Part = {
  readonly ground: readonly SvgElement[];
  readonly marks: readonly SvgElement[];
  readonly below: number;
};

/** Heading, line of today, base line and a mark a metric. */
function rowOf(
  { name, pairs }: { readonly name: string; readonly pairs: readonly UnsettledPair[] },
  { y, now, scale: { inner, left, right, high, px } }: {
    readonly y: number;
    readonly now: number;
    readonly scale: Scale;
  },
): Part {
  const shown = pairs.filter(({ shoes }) => shoes !== null && shoes <= high);
  const beyond = pairs.length - shown.length;
  const aside = `${pairs.length} open${beyond === 0 ? "" : `, ${beyond} beyond ${MOST_SHOES}`}`;
  const room = inner - textWidth(aside, type.small) - 14;
  const [line] = limitLines(name, 1, room, type.label, "bold");
  const stacks = stack(shown.map((pair) => px(pair.shoes!)));
  const base = y + 32 + Math.max(0, ...stacks) * 11;
  return {
    ground: [
      svgElement("line", { x1: 0, x2: inner, y1: y, y2: y, stroke: colour.grid }),
      text(line, { x: 0, y: y + 13, "font-size": type.label, "font-weight": 700 }),
      text(aside, { x: inner, y: y + 13, "text-anchor": "end", fill: colour.quiet }),
      // Below the heading, so that no line runs through words.
      svgElement("line", {
        x1: px(now),
        x2: px(now),
        y1: y + 23,
        y2: base + 7,
        stroke: colour.line,
        "stroke-width": 2,
      }),
      svgElement("line", {
        x1: left,
        x2: inner - right,
        y1: base + 7,
        y2: base + 7,
        stroke: colour.edge,
      }),
    ],
    marks: shown.map((pair, i) =>
      svgElement("g", {
        transform: `translate(${px(pair.shoes!)},${base - stacks[i] * 11})`,
      }, outcomeSign(pair.outcome))
    ),
    below: base + 16,
  };
}

function axis(y: number, { inner, left, right, low, high, px }: Scale): SvgElement[] {
  let last = -Infinity;
  const ticks = [5, 10, 20, 50, 75, 100, 150, 200, 300, 500, 1000]
    .filter((tick) => tick >= low && tick <= high)
    .filter((tick) => {
      const half = textWidth(String(tick), type.tick) / 2;
      if (px(tick) - half < last + 10 || px(tick) + half > inner) return false;
      last = px(tick) + half;
      return true;
    });
  const words = { "text-anchor": "middle", "font-size": type.tick };
  return [
    svgElement("line", { x1: left, x2: inner - right, y1: y, y2: y, stroke: colour.ink }),
    ...ticks.flatMap((tick) => [
      svgElement("line", { x1: px(tick), x2: px(tick), y1: y, y2: y + 4, stroke: colour.ink }),
      text(String(tick), { x: px(tick), y: y + 13, ...words }),
    ]),
    text("Shoes with both values", { x: inner / 2, y: y + 34, ...words }),
  ];
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
