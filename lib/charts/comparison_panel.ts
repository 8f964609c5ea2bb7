import { type ComparedOn, isOn } from "../studies/comparison/compared_on.ts";
import type { Comparison } from "../studies/comparison/settle_pairs.ts";
import type { ShoeComparison } from "../studies/comparison/shoe_comparison.ts";
import { boundedWords, measured } from "../words/comparison/answer_words.ts";
import { axisHeading, WIDE } from "./axis_heading.ts";
import { atStep, LAST_STEP } from "./build_up.ts";
import { type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { hollowSymbol, seriesColour, seriesSymbol } from "./series_symbol.ts";
import { shortenApart, textWidth } from "./text_width.ts";
import { colour, type } from "./theme.ts";

/** What all panels of a picture have in common, so that their axes and rows align. */
export type PanelFrame = {
  readonly width: number;
  /** Names beside the axis, not above it. */
  readonly inline: boolean;
  readonly nameRoom: number;
  readonly asideRoom: number;
  /** Height of a shoe's row. */
  readonly lane: number;
};

/** What marks behind a value mean: the other shoe is shown to be another, by enough to feel or not, or alike. */
export type PairMark = {
  readonly series: number;
  readonly kind: "feel" | "differ" | "alike";
};

/** The least height of a row, and the most that helps. */
export const laneHeights = {
  inline: { least: 15, most: 46 },
  stacked: { least: 34, most: 62 },
} as const;

const markStep = 15;
const axisHeight = 22;

/** Room that the panels of these things need beside one another, at this width. */
export function panelFrame(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
  width: number,
): PanelFrame {
  const inline = width >= WIDE;
  const asides = shown.flatMap((on) => [
    ...panelRows(on, result).map((row) => valueRoom(row) + marksRoom(row.marks)),
    ...differenceWords(on, result).map((words) => textWidth(words, type.small, "bold")),
  ]);
  const names = result.shoes.map(({ label }) => textWidth(label, type.small, "bold"));
  return {
    width,
    inline,
    nameRoom: inline ? Math.min(Math.max(...names), width * 0.3) : width,
    asideRoom: Math.ceil(Math.max(...asides)),
    lane: inline ? laneHeights.inline.least : laneHeights.stacked.least,
  };
}

/** Height of what stands above the rows: the same for all panels of a row of the picture. */
export function headingHeight(shown: readonly ComparedOn[], width: number): number {
  return Math.max(...shown.map((on) => axisHeading(on, width).height)) + 3;
}

/** Height of a panel below its heading. */
export function panelHeight(
  on: ComparedOn,
  result: ShoeComparison,
  { inline, lane }: PanelFrame,
): number {
  return result.shoes.length * lane + axisHeight +
    (differenceOf(on, result) === null ? 0 : differenceHeight(inline));
}

/**
 * How do the shoes compare on one thing?
 *
 * A row a shoe: its value and its own interval. Of two shoes the difference has a line and a scale of its own; of more,
 * marks behind a value are the symbols of the shoes that it is shown to differ from.
 *
 * @param heading height of what stands above the rows
 */
export function comparisonPanel(
  on: ComparedOn,
  result: ShoeComparison,
  frame: PanelFrame,
  heading: number,
): readonly SvgElement[] {
  const { width, inline, nameRoom, asideRoom, lane } = frame;
  const rows = panelRows(on, result);
  const plot = inline
    ? { left: nameRoom + 30, right: Math.max(nameRoom + 110, width - asideRoom - 14) }
    : { left: 8, right: width - 8 };
  const scale = laneScale(valuesInSight(rows, on), { ...plot, possible: on.possible });
  const bottom = heading + rows.length * lane;
  const names = rowNames(rows, frame);
  const content = [...axisHeading(on, width).content, ...laneAxis(scale, { y: bottom })];
  rows.forEach((row, index) => {
    const top = heading + index * lane;
    const words = inline ? top + lane / 2 : top + 8;
    const middle = inline ? words : top + 8 + Math.min(18, lane - 17);
    content.push(
      seriesSymbol(row.series, 6, words),
      laneText(names[index], { x: 17, y: words, weight: "bold" }),
      ...asideMarks(row, { width, y: words, asideRoom, inline }),
    );
    if (row.value === null) return;
    const bar = row.lower === null || row.upper === null ? [] : laneBar(
      scale.px(row.lower),
      scale.px(row.upper),
      middle,
      seriesColour(row.series),
      { edges: [scale.left, scale.right] },
    );
    const symbol = seriesSymbol(row.series, scale.px(row.value), middle);
    content.push(...[...bar, symbol].map((mark) => atStep(stepOf(row), mark)));
  });
  const pair = differenceOf(on, result);
  return pair === null ? content : [
    ...content,
    ...differenceMarks(pair, on, {
      words: differenceWords(on, result),
      frame,
      plot,
      top: bottom + axisHeight,
    }).map((mark) => atStep(LAST_STEP, mark)),
  ];
}

/** Which marks a picture of these things uses. */
export function marksUsed(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
): ReadonlySet<PairMark["kind"]> {
  return new Set(
    shown.flatMap((on) =>
      panelRows(on, result).flatMap(({ marks }) => marks.map(({ kind }) => kind))
    ),
  );
}

/** The pair of two shoes, where their difference is known. */
export function differenceOf(on: ComparedOn, result: ShoeComparison): Comparison | null {
  if (result.shoes.length !== 2) return null;
  const pair = result.comparisons.find((own) => isOn(own, on));
  return pair === undefined || pair.difference.estimate === null ? null : pair;
}

/** How large the difference of two shoes is, and what may be said of it. */
function differenceWords(on: ComparedOn, result: ShoeComparison): string[] {
  const pair = differenceOf(on, result);
  if (pair === null) return [];
  const { word, difference } = pair;
  return [
    measured(difference.estimate!, on, difference),
    word === "differ by enough to feel" ? "enough to feel" : word,
  ];
}

/** The first shoe comes in before those it is set against. */
function stepOf({ series }: PanelRow): number {
  return series === 0 ? 2 : 3;
}

type PanelRow = {
  readonly series: number;
  readonly label: string;
  readonly value: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly valueWords: string;
  readonly marks: readonly PairMark[];
};

function panelRows(on: ComparedOn, result: ShoeComparison): PanelRow[] {
  return result.shoes.map(({ shoe_id, label }, series): PanelRow => {
    const own = result.values.find((row) => isOn(row, on) && row.shoe_id === shoe_id);
    const value = own?.value.estimate ?? null;
    return {
      series,
      label,
      value,
      lower: own?.value.lower ?? null,
      upper: own?.value.upper ?? null,
      valueWords: value === null
        ? boundedWords(shoe_id, on, result.bounded) ??
          (on.attribute === null ? "not benched" : "not rated")
        : measured(value, on, own?.value),
      marks: result.shoes.length === 2 ? [] : pairMarks(shoe_id, on, result),
    };
  });
}

/** The other shoes that this one is shown to differ from or to be alike with, in the order asked. */
function pairMarks(shoe_id: string, on: ComparedOn, result: ShoeComparison): PairMark[] {
  const kinds = { "differ by enough to feel": "feel", differ: "differ", alike: "alike" } as const;
  return result.shoes.flatMap((other, series): PairMark[] => {
    const pair = result.comparisons.find((own) =>
      isOn(own, on) && [own.a, own.b].includes(shoe_id) && [own.a, own.b].includes(other.shoe_id)
    );
    return other.shoe_id === shoe_id || pair === undefined || pair.word === "can't tell"
      ? []
      : [{ series, kind: kinds[pair.word] }];
  });
}

function rowNames(rows: readonly PanelRow[], { inline, nameRoom, width }: PanelFrame): string[] {
  const names = rows.map(({ label }) => label);
  if (inline) return shortenApart(names, nameRoom, type.small, "bold");
  const aside = Math.max(...rows.map((row) => valueRoom(row) + marksRoom(row.marks)));
  return shortenApart(names, width - 17 - aside - 12, type.small, "bold");
}

function valueRoom({ valueWords, value }: PanelRow): number {
  return textWidth(valueWords, type.small, value === null ? "regular" : "bold");
}

/** Shown to differ first, then shown to be alike. */
function marksRoom(marks: readonly PairMark[]): number {
  const alike = marks.filter(({ kind }) => kind === "alike").length;
  const apart = marks.length - alike;
  return [apart, alike].reduce(
    (room, many) => room + (many === 0 ? 0 : 8 + 9 + many * markStep),
    0,
  );
}

/** Value, then the marks; values stand below one another where names stand beside the axis. */
function asideMarks(
  row: PanelRow,
  { width, y, asideRoom, inline }: {
    readonly width: number;
    readonly y: number;
    readonly asideRoom: number;
    readonly inline: boolean;
  },
): SvgElement[] {
  const own = valueRoom(row);
  const start = inline ? width - asideRoom : width - own - marksRoom(row.marks);
  const content = [
    atStep(
      stepOf(row),
      laneText(row.valueWords, {
        x: start,
        y,
        weight: row.value === null ? "regular" : "bold",
        fill: row.value === null ? colour.quiet : colour.ink,
      }),
    ),
  ];
  let x = start + own;
  for (const [sign, alike] of [["≠", false], ["=", true]] as const) {
    const marks = row.marks.filter(({ kind }) => (kind === "alike") === alike);
    if (marks.length === 0) continue;
    content.push(atStep(LAST_STEP, laneText(sign, { x: x + 8, y, weight: "bold" })));
    marks.forEach(({ series, kind }, index) =>
      content.push(
        atStep(LAST_STEP, pairMark({ series, kind }, x + 8 + 9 + 9 + index * markStep, y)),
      )
    );
    x += 8 + 9 + marks.length * markStep;
  }
  return content;
}

/** Filled where the difference is large enough to feel or none is left, hollow where it may be too small. */
export function pairMark({ series, kind }: PairMark, x: number, y: number): SvgElement {
  return kind === "differ" ? hollowSymbol(series, x, y) : seriesSymbol(series, x, y);
}

function valuesInSight(rows: readonly PanelRow[], { possible }: ComparedOn): number[] {
  const inside = (value: number) =>
    Math.min(possible.high ?? Infinity, Math.max(possible.low ?? -Infinity, value));
  return rows.flatMap(({ value, lower, upper }) =>
    [value, lower, upper].flatMap((one) => one === null ? [] : [inside(one)])
  );
}

function differenceHeight(inline: boolean): number {
  return inline ? 52 : 66;
}

/** First minus second on a scale around nought, with what a player can't feel shaded. */
function differenceMarks(
  { difference, word }: Comparison,
  on: ComparedOn,
  { words: [size, verdict], frame: { width, inline }, plot, top }: {
    readonly words: readonly string[];
    readonly frame: PanelFrame;
    readonly plot: { readonly left: number; readonly right: number };
    readonly top: number;
  },
): SvgElement[] {
  const { estimate, lower, upper } = difference;
  const margin = on.smallest_difference;
  const scale = laneScale(
    [0, estimate!, lower!, upper!, ...(margin === null ? [] : [-margin, margin])],
    plot,
  );
  const y = top + (inline ? 16 : 12);
  const middle = inline ? y : y + 18;
  const bottom = middle + 12;
  const said = {
    weight: word === "can't tell" ? "regular" : "bold",
    fill: word === "can't tell" ? colour.quiet : colour.ink,
  } as const;
  return [
    seriesSymbol(0, 6, y),
    laneText("−", { x: 21, y, anchor: "middle", weight: "bold" }),
    seriesSymbol(1, 36, y),
    ...(inline
      ? [
        laneText(size, { x: plot.right + 14, y: y - 8, weight: "bold" }),
        laneText(verdict, { x: plot.right + 14, y: y + 8, ...said }),
      ]
      : [
        laneText(size, { x: 50, y, weight: "bold" }),
        laneText(verdict, { x: width, y, anchor: "end", ...said }),
      ]),
    ...(margin === null ? [] : [
      svgElement("rect", {
        x: scale.px(-margin),
        y: middle - 9,
        width: scale.px(margin) - scale.px(-margin),
        height: 18,
        fill: colour.bandStrong,
      }),
    ]),
    svgElement("line", {
      x1: scale.px(0),
      x2: scale.px(0),
      y1: middle - 11,
      y2: bottom,
      stroke: colour.ink,
      "stroke-width": 1.25,
      "stroke-dasharray": "3,2.5",
    }),
    ...laneBar(scale.px(lower!), scale.px(upper!), middle, colour.ink),
    svgElement("circle", { cx: scale.px(estimate!), cy: middle, r: 4.5, fill: colour.ink }),
    ...laneAxis(scale, { y: bottom }),
  ];
}
