import * as option from "../options.ts";
import { type ComparedOn, isOn } from "../studies/comparison/compared_on.ts";
import type { ShoeComparison } from "../studies/comparison/shoe_comparison.ts";
import { comparisonWords } from "../words/comparison/comparison_sentence.ts";
import {
  comparisonPanel,
  differenceOf,
  headingHeight,
  laneHeights,
  marksUsed,
  type PanelFrame,
  panelFrame,
  panelHeight,
} from "./comparison_panel.ts";
import { drawCard, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { laneBar, laneText } from "./lane_marks.ts";
import { hollowSymbol, seriesSymbol } from "./series_symbol.ts";
import { wrapText } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { listed } from "../words/phrases.ts";

/** How much room a comparison's picture has. */
export type ComparisonChartOptions = ChartOptions & {
  /** Room in pixels, to choose the number of columns by; as many as fit the width unless given. */
  readonly height?: number;
  /** Draw only the so many most telling of what was compared; the others are named below. */
  readonly most?: number;
  /** Leave out the so many most telling: an earlier picture shows them. */
  readonly after?: number;
};

/**
 * How do the shoes compare, each metric on an axis of its own?
 *
 * A panel a metric, a row a shoe with its value and its own interval. The difference of two shoes has a line of its own:
 * its interval leaves out nought when they differ, and the grey band when that is enough to feel. Of three and more, a
 * value is followed by the symbols of the shoes that it is shown to differ from (≠; hollow where that may be too little
 * to feel) or to be alike with (=), every pair judged on its difference and all of them together.
 */
export function comparisonChart(
  result: ShoeComparison,
  { width = pageWidth, height, most, after = 0, ...options }: ComparisonChartOptions = {},
): SvgElement {
  option.check("charts.comparison", arguments[1], {
    ...chartOptions,
    height: option.positive,
    most: option.howMany,
    after: option.whole(0),
  });
  const comparable = result.compared_on.filter((on) =>
    result.comparisons.some((pair) =>
      isOn(pair, on) && (pair.difference.estimate !== null || pair.word !== "can't tell")
    )
  );
  const title = result.shoes.map(({ label }) => label).join(" against ");
  if (comparable.length === 0) {
    return drawNothing("These shoes have nothing in common to be compared on.", {
      title,
      width,
      ...options,
    });
  }
  const order = comparable.toSorted((a, b) => telling(b, result) - telling(a, result));
  const chosen = order.slice(after, after + Math.max(1, most ?? Infinity));
  const shown = comparable.filter((on) => chosen.includes(on));
  const earlier = order.slice(0, after);
  const left_out = result.compared_on.filter((on) => !shown.includes(on) && !earlier.includes(on));
  const inner = width - 2 * space.card;
  const card = {
    ...options,
    alt: comparisonWords(result).alt,
    title,
    width,
    key: comparisonKey(shown, result),
    notes: leftOutNote(left_out, result, { inner, most: (height ?? Infinity) < 300 ? 1 : 2 }),
  };
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  const grid = chooseGrid(shown, result, {
    inner,
    height: height === undefined ? undefined : height - around,
  });
  const content = shown.map((on, index) => {
    const row = grid.rows[Math.floor(index / grid.columns)];
    const x = (index % grid.columns) * (grid.frame.width + gap);
    return svgElement(
      "g",
      { transform: `translate(${x},${row.top})` },
      ...comparisonPanel(on, result, grid.frame, row.heading),
    );
  });
  return drawCard(card, { height: grid.height, content });
}

const gap = 26;
const rowGap = 12;
const leastPanel = 206;

type Grid = {
  readonly columns: number;
  readonly frame: PanelFrame;
  readonly rows: readonly { readonly top: number; readonly heading: number }[];
  readonly height: number;
};

/** The fewest columns that fit the height; where none does, those that make the chart lowest. */
function chooseGrid(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
  { inner, height }: { readonly inner: number; readonly height?: number },
): Grid {
  const most = Math.max(1, Math.min(shown.length, Math.floor((inner + gap) / (leastPanel + gap))));
  const grids = Array.from({ length: most }, (_, index) => {
    const columns = index + 1;
    const width = (inner - (columns - 1) * gap) / columns;
    return laidOut(shown, result, columns, panelFrame(shown, result, width));
  });
  if (height === undefined) {
    return grids.find(({ frame }) => frame.width <= 460) ?? grids.at(-1)!;
  }
  const chosen = grids.find((grid) => grid.height <= height) ??
    grids.toSorted((a, b) => a.height - b.height)[0];
  // What height is left goes to the rows, so that a tall picture isn't half empty.
  const { frame, columns, rows } = chosen;
  const { most: tallest } = laneHeights[frame.inline ? "inline" : "stacked"];
  const spare = (height - chosen.height) / (rows.length * result.shoes.length);
  const lane = Math.floor(Math.min(tallest, frame.lane + Math.max(0, spare)));
  return laidOut(shown, result, columns, { ...frame, lane });
}

function laidOut(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
  columns: number,
  frame: PanelFrame,
): Grid {
  const rows: { top: number; heading: number }[] = [];
  let top = 2;
  for (let start = 0; start < shown.length; start += columns) {
    const own = shown.slice(start, start + columns);
    const heading = headingHeight(own, frame.width);
    rows.push({ top, heading });
    top += heading + Math.max(...own.map((on) => panelHeight(on, result, frame))) + rowGap;
  }
  return { columns, frame, rows, height: top - rowGap };
}

function comparisonKey(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
): KeyEntry[] {
  const { family, confidence, shoes } = result;
  const percent = `${Math.round(confidence * 100)}%`;
  const together = family === 1 ? "" : `, all ${family} together`;
  const bar = (stroke: string) => svgElement("g", {}, ...laneBar(-9, 9, 0, stroke));
  if (shoes.length === 2) {
    const band = shown.some((on) =>
      on.smallest_difference !== null && differenceOf(on, result) !== null
    );
    return [
      { label: `${percent} interval`, mark: bar(colour.mark) },
      { label: `of the difference${together}`, mark: bar(colour.ink) },
      ...(band
        ? [{
          label: "less than a player feels",
          mark: svgElement("rect", {
            x: -9,
            y: -6,
            width: 18,
            height: 12,
            fill: colour.bandStrong,
          }),
        }]
        : []),
    ];
  }
  const used = marksUsed(shown, result);
  const signed = (sign: string, symbol: SvgElement) =>
    svgElement("g", {}, laneText(sign, { x: -9, y: 0, weight: "bold" }), symbol);
  const apart = used.has("feel") || used.has("differ");
  return [
    { label: `${percent} interval`, mark: bar(colour.mark) },
    ...(apart
      ? [{ label: `shown to differ${together}`, mark: signed("≠", seriesSymbol(0, 6, 0)) }]
      : []),
    ...(used.has("differ")
      ? [{ label: "maybe too little to feel", mark: hollowSymbol(0, 4, 0) }]
      : []),
    ...(used.has("alike")
      ? [{ label: "shown alike", mark: signed("=", seriesSymbol(0, 6, 0)) }]
      : []),
    ...(used.size === 0
      ? [{ label: `no two are shown to differ${together}`, mark: svgElement("g") }]
      : []),
  ];
}

/** What isn't drawn, by name where a line or two hold the names. */
function leftOutNote(
  left_out: readonly ComparedOn[],
  result: ShoeComparison,
  { inner, most }: { readonly inner: number; readonly most: number },
): string[] {
  if (left_out.length === 0) return [];
  const named = `Not drawn: ${
    listed(left_out.map((on) => `${on.title} (${wordsOf(on, result)})`), 9)
  }.`;
  return wrapText(named, inner, type.note).length <= most
    ? [named]
    : [`Compared too, not drawn here: ${left_out.length} of ${result.compared_on.length}.`];
}

/** Shown differences tell most, then those nearest to being shown. */
function telling(on: ComparedOn, result: ShoeComparison): number {
  return Math.max(
    ...result.comparisons.filter((pair) => isOn(pair, on)).map((pair) =>
      ["can't tell", "alike", "differ", "differ by enough to feel"].indexOf(pair.word) * 1e6 +
      (pair.mdc === null || pair.mdc === 0
        ? 0
        : Math.min(1e5, Math.abs(pair.difference.estimate ?? 0) / pair.mdc))
    ),
  );
}

function wordsOf(on: ComparedOn, { comparisons }: ShoeComparison): string {
  const words = comparisons.filter((pair) => isOn(pair, on)).map(({ word }) => word);
  const [word, ...others] = new Set(words);
  if (others.length === 0) return word;
  const apart = words.filter((one) => one.startsWith("differ")).length;
  return `${apart} of ${words.length} pairs differ`;
}
