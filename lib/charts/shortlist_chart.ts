import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { Shortlist, ShortlistShoe } from "../studies/comparison/shortlist.ts";
import {
  conditionWords,
  foundWords,
  openWords,
  shortlistWords,
} from "../words/comparison/shortlist_words.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneText } from "./lane_marks.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Which shoes meet the conditions, and how certain is each?
 *
 * A row a shoe: what was found for each condition, and the chance that it meets them all as a bar from 0 to
 * 100%. Right of the dashed line a shoe is on the list. Where a record is silent a word stands for the bar.
 *
 * @param options `most` rows; all on the list or in doubt unless given; `height` room in pixels
 */
export function shortlistChart(
  result: Shortlist,
  { width = pageWidth, most, height: _, ...options }:
    & ChartOptions
    & { readonly most?: number; readonly height?: number } = {},
): SvgElement {
  option.check("charts.shortlist", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    height: option.positive,
  });
  const { shoes, confidence, asked } = result;
  const inner = width - 2 * space.card;
  const relevant = shoes.filter(({ word }) => word !== "off the list");
  const candidates = relevant.length > 0 ? relevant : shoes.slice(0, 3);
  const shown = candidates.slice(0, Math.max(1, most ?? candidates.length));
  const found = shown.map((shoe) =>
    shoe.conditions.map((met, index) => foundWords(met, asked[index])).join(" · ")
  );
  const foundRoom = Math.max(...found.map((text) => textWidth(text, type.small)));
  const nameRoom = Math.max(...shown.map(({ name }) => textWidth(name, type.small, "bold")));
  // In a wide picture name, bar and findings stand in one line.
  const inline = inner - nameRoom - foundRoom - 90 >= 150;
  const left = inline ? nameRoom + 14 : 0;
  const right = inner - 46 - (inline ? foundRoom + 16 : 0);
  const px = (chance: number) => left + chance * (right - left);
  const content: SvgElement[] = [];
  let y = 4;
  const heading = `Chance of ${asked.map(conditionWords).join(", ")}`;
  for (const line of limitLines(heading, 3, inner, type.label, "bold")) {
    content.push(laneText(line, { x: 0, y: y + 8, size: type.label, weight: "bold" }));
    y += 18;
  }
  const limit = `on the list from ${Math.round(confidence * 100)}%`;
  content.push(
    laneText(limit, { x: px(confidence) + 3, y: y + 8, anchor: "end", fill: colour.quiet }),
  );
  y += 20;
  shown.forEach((shoe, index) => {
    const name = shortenText(shoe.name, inline ? nameRoom : right, type.small, "bold");
    content.push(laneText(name, { x: 0, y: y + 6, weight: "bold" }));
    const beside = inline ||
      textWidth(name, type.small, "bold") + textWidth(found[index], type.small) + 14 <= inner;
    if (!beside) y += 16;
    content.push(
      laneText(shortenText(found[index], inner, type.small), {
        x: beside ? inner : 0,
        y: y + 6,
        anchor: beside ? "end" : "start",
        fill: colour.quiet,
      }),
    );
    if (!inline) y += 16;
    content.push(
      svgElement("rect", { x: left, y, width: right - left, height: 12, fill: colour.band }),
      ...chanceMarks(shoe, { lane: y, px, end: right + 42 }),
      svgElement("line", {
        x1: px(confidence),
        x2: px(confidence),
        y1: y - 2,
        y2: y + 14,
        stroke: colour.ink,
        "stroke-width": 1.25,
        "stroke-dasharray": "3,2.5",
      }),
    );
    y += 22;
  });
  const rest = relevant.length > 0 ? relevant.length - shown.length : 0;
  const off = shoes.length - relevant.length;
  return drawCard({
    ...options,
    alt: shortlistWords(result).alt,
    title: "Shortlist",
    width,
    notes: [
      [
        ...(rest > 0 ? [`${rest} more on the list or in doubt are not drawn.`] : []),
        ...(relevant.length > 0
          ? [
            `Of ${shoes.length} shoes ${result.on_the_list} are on the list, ${result.cant_tell} can't be told, ${off} are off it.`,
          ]
          : [`No shoe of ${shoes.length} is on the list or in doubt; the first three are drawn.`]),
      ].join(" "),
    ],
  }, { height: y, content });
}

function chanceMarks(
  shoe: ShortlistShoe,
  { lane, px, end }: {
    readonly lane: number;
    readonly px: (chance: number) => number;
    readonly end: number;
  },
): SvgElement[] {
  const { probability, word } = shoe;
  if (probability === null) {
    return [
      laneText(shortenText(`can't tell: ${openWords(shoe)}`, px(0.94) - px(0) - 8, type.small), {
        x: px(0) + 5,
        y: lane + 6.5,
      }),
    ];
  }
  const sure = word === "on the list";
  return [
    svgElement("rect", {
      x: px(0),
      y: lane,
      width: Math.max(1.5, px(probability) - px(0)),
      height: 12,
      fill: sure ? colour.mark : colour.context,
    }),
    laneText(percent(probability), {
      x: end,
      y: lane + 6.5,
      anchor: "end",
      weight: sure ? "bold" : "regular",
    }),
  ];
}

/** Never a full 0 or 100: draws can't show that. */
function percent(chance: number): string {
  return chance > 0.99 ? ">99%" : chance < 0.01 ? "<1%" : `${Math.round(100 * chance)}%`;
}
