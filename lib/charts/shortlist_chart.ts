import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { Shortlist, ShortlistShoe } from "../studies/comparison/shortlist.ts";
import {
  conditionWords,
  foundWords,
  openWords,
  shortlistWords,
} from "../words/comparison/shortlist_words.ts";
import { atStep } from "./build_up.ts";
import { drawCard, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { laneText } from "./lane_marks.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { asSentence } from "../words/phrases.ts";

/**
 * Which shoes meet the conditions, and how certain is each?
 *
 * A row a shoe: what was found for each condition, and the chance that it meets them all as a bar from 0 to
 * 100%, between the dashed limits of what can't be told. The key counts the three states, which together are all shoes.
 * Where a record is silent a word stands for the bar.
 *
 * @param options `most` rows; all on the list or in doubt unless given; `after` rows that an earlier picture has;
 * `height` room in pixels, which rows grow into
 */
export function shortlistChart(
  result: Shortlist,
  { width = pageWidth, most, after = 0, height: room, ...options }:
    & ChartOptions
    & { readonly most?: number; readonly after?: number; readonly height?: number } = {},
): SvgElement {
  option.check("charts.shortlist", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { shoes, asked } = result;
  const inner = width - 2 * space.card;
  const relevant = shoes.filter(({ word }) => word !== "off the list");
  const candidates = relevant.length > 0 ? relevant : shoes.slice(0, 3);
  const shown = candidates.slice(after, after + Math.max(1, most ?? candidates.length));
  const card = {
    ...options,
    alt: shortlistWords(result).alt,
    title: "Shortlist",
    width,
    key: stateKey(result),
    notes: restNote(result, { relevant: relevant.length, shown: shown.length, after }),
  };
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  const heading = limitLines(
    asSentence(asked.map(conditionWords).join("; ")),
    2,
    inner,
    type.label,
    "bold",
  );
  const rows = rowPlaces(shown, result, inner);
  const top = 10 + 18 * heading.length;
  const least = top + shown.length * rows.height + 4;
  const spare = room === undefined ? 0 : Math.max(0, room - around - least) / shown.length;
  const step = rows.height + Math.min(40, spare);
  return drawCard(card, {
    height: top + shown.length * step + 4,
    content: [
      ...heading.map((line, index) =>
        laneText(line, { x: 0, y: 10 + 18 * index, size: type.label, weight: "bold" })
      ),
      ...shown.flatMap((shoe, index) =>
        rowMarks(shoe, result, { rows, inner, y: top + index * step })
      ),
    ],
  });
}

/** Where name, findings and bar of every row stand: in one line where there is width for it. */
type RowPlaces = {
  readonly inline: boolean;
  /** The findings beside the name, not below it. */
  readonly beside: boolean;
  readonly left: number;
  readonly right: number;
  readonly height: number;
};

function rowPlaces(shown: readonly ShortlistShoe[], result: Shortlist, inner: number): RowPlaces {
  const rooms = shown.map((shoe) => ({
    name: textWidth(shoe.name, type.small, "bold"),
    found: textWidth(foundLine(shoe, result), type.small),
    open: shoe.probability === null ? textWidth(openText(shoe), type.small) : null,
  }));
  const names = Math.max(...rooms.map(({ name }) => name));
  const found = Math.max(0, ...rooms.map((room) => room.open === null ? room.found : 0));
  const inline = inner - names - found - 90 >= 150 &&
    rooms.every((room) => room.open === null || inner - names - 14 - room.found - 22 >= room.open);
  const beside = inline || rooms.every((room) => room.name + room.found + 14 <= inner);
  return {
    inline,
    beside,
    left: inline ? names + 14 : 0,
    right: inner - 46 - (inline ? found + 16 : 0),
    height: inline ? 22 : beside ? 38 : 54,
  };
}

/** What is known of each condition; what isn't stands in the bar's place. */
function foundLine({ conditions, probability }: ShortlistShoe, { asked }: Shortlist): string {
  return conditions
    .filter((met) => probability !== null || met.probability !== null)
    .map((met) => foundWords(met, asked[conditions.indexOf(met)])).join(" · ");
}

function rowMarks(
  shoe: ShortlistShoe,
  result: Shortlist,
  { rows: { inline, beside, left, right }, inner, y }: {
    readonly rows: RowPlaces;
    readonly inner: number;
    readonly y: number;
  },
): SvgElement[] {
  const px = (chance: number) => left + chance * (right - left);
  const line = y + 7;
  const lane = inline ? y + 1 : beside ? y + 17 : y + 33;
  const found = shortenText(foundLine(shoe, result), inner, type.small);
  const { confidence } = result;
  // No chance stands beside the bar of a shoe that nothing is known of, so its words may have that room too.
  const end = shoe.probability !== null
    ? right
    : inner - (inline && found !== "" ? textWidth(found, type.small) + 10 : 0);
  return [
    laneText(shortenText(shoe.name, inline ? left : inner, type.small, "bold"), {
      x: 0,
      y: line,
      weight: "bold",
    }),
    atStep(
      2,
      laneText(found, {
        x: beside ? inner : 0,
        y: beside ? line : line + 16,
        anchor: beside ? "end" : "start",
        fill: colour.quiet,
      }),
    ),
    svgElement("rect", { x: left, y: lane, width: end - left, height: 13, fill: colour.band }),
    ...chanceMarks(shoe, { lane, px, end: shoe.probability === null ? end : right + 42 }).map((
      mark,
    ) => atStep(3, mark)),
    ...(shoe.probability === null ? [] : [1 - confidence, confidence]).map((limit) =>
      svgElement("line", {
        x1: px(limit),
        x2: px(limit),
        y1: lane - 2,
        y2: lane + 15,
        stroke: colour.ink,
        "stroke-width": 1.25,
        "stroke-dasharray": "3,2.5",
      })
    ),
  ];
}

/** How many shoes are in each state: together all of them. */
function stateKey({ shoes, confidence }: Shortlist): KeyEntry[] {
  const count = (word: ShortlistShoe["word"]) => shoes.filter((shoe) => shoe.word === word).length;
  const percent = (share: number) => `${Math.round(100 * share)}%`;
  return [
    {
      label: `on the list, ${percent(confidence)} or more: ${count("on the list")}`,
      mark: swatch(SURE),
    },
    { label: `can't tell: ${count("can't tell")}`, mark: swatch(OPEN) },
    {
      label: `off it, ${percent(1 - confidence)} or less: ${count("off the list")}`,
      mark: swatch(OFF),
    },
  ];
}

const SURE = { fill: colour.mark };
/** Hollow, so that it is another in grey print too. */
const OPEN = { fill: colour.card, stroke: colour.mark, "stroke-width": 1.75 };
const OFF = { fill: colour.context };

function swatch(paint: Readonly<Record<string, string | number>>): SvgElement {
  return svgElement("rect", { x: -7, y: -5, width: 14, height: 10, ...paint });
}

function restNote(
  { shoes }: Shortlist,
  { relevant, shown, after }: {
    readonly relevant: number;
    readonly shown: number;
    readonly after: number;
  },
): string[] {
  if (relevant === 0) return [`None of ${shoes.length} is on the list or in doubt.`];
  const rest = relevant - shown - after;
  return rest > 0 ? [`${rest} more on the list or in doubt, not drawn here.`] : [];
}

function chanceMarks(
  { probability, word, ...shoe }: ShortlistShoe,
  { lane, px, end }: {
    readonly lane: number;
    readonly px: (chance: number) => number;
    readonly end: number;
  },
): SvgElement[] {
  if (probability === null) {
    return [
      laneText(shortenText(openText(shoe), end - px(0) - 6, type.small), {
        x: px(0) + 6,
        y: lane + 7,
      }),
    ];
  }
  const paint = word === "on the list" ? SURE : word === "can't tell" ? OPEN : OFF;
  return [
    svgElement("rect", {
      x: px(0) + 1,
      y: lane + 1,
      width: Math.max(1.5, px(probability) - px(0) - 2),
      height: 11,
      ...paint,
    }),
    laneText(percentOf(probability), {
      x: end,
      y: lane + 6.5,
      anchor: "end",
      weight: word === "on the list" ? "bold" : "regular",
    }),
  ];
}

function openText(shoe: Pick<ShortlistShoe, "conditions">): string {
  return `can't tell: ${openWords(shoe)}`;
}

/** Never a full 0 or 100: draws can't show that. */
function percentOf(chance: number): string {
  return chance > 0.99 ? ">99%" : chance < 0.01 ? "<1%" : `${Math.round(100 * chance)}%`;
}
