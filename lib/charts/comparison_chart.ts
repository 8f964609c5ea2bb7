import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import { type ComparedOn, isOn } from "../studies/comparison/compared_on.ts";
import type { ComparedValue } from "../studies/comparison/compared_side.ts";
import type { Comparison } from "../studies/comparison/settle_pairs.ts";
import type { ShoeComparison } from "../studies/comparison/shoe_comparison.ts";
import { listed, measured } from "../words/comparison/answer_words.ts";
import { comparedStanding } from "../words/comparison/answer_rows.ts";
import { comparisonWords } from "../words/comparison/comparison_sentence.ts";
import { betterWords } from "./better_words.ts";
import { drawCard, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { seriesColour, seriesSymbol } from "./series_symbol.ts";
import { limitLines, shortenApart, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { unitWords } from "../words/unit_words.ts";

/** How much room a comparison's picture has. */
export type ComparisonChartOptions = ChartOptions & {
  /** Room in pixels, to choose the number of columns by; as many as fit the width unless given. */
  readonly height?: number;
  /** Draw only the so many most telling of what was compared; the others are named below. */
  readonly most?: number;
};

/**
 * How do the shoes compare, each metric on an axis of its own?
 *
 * A panel a metric, a row a shoe at its value. The dashed line is the first shoe's value; the grey band
 * around it is what noise alone reaches (MDC), and the bar is the interval of the difference, hung on
 * that line: it leaves the line out when the two differ. Words beside each value say what may be said.
 */
export function comparisonChart(
  result: ShoeComparison,
  { width = pageWidth, height, most, ...options }: ComparisonChartOptions = {},
): SvgElement {
  option.check("charts.comparison", arguments[1], {
    ...chartOptions,
    height: option.positive,
    most: option.howMany,
  });
  const comparable = result.compared_on.filter((on) =>
    result.comparisons.some((pair) => isOn(pair, on) && pair.difference.estimate !== null)
  );
  const title = result.shoes.map(({ label }) => label).join(" against ");
  if (comparable.length === 0) {
    return drawNothing("These shoes have nothing in common to be compared on.", {
      title,
      width,
      ...options,
    });
  }
  const shown = mostTelling(comparable, result, most ?? comparable.length);
  const left_out = result.compared_on.filter((on) => !shown.includes(on));
  const inner = width - 2 * space.card;
  const card = {
    ...options,
    alt: comparisonWords(result).alt,
    title,
    width,
    key: comparisonKey(result, shown.some((on) => baseShoe(on, result) !== result.shoes[0])),
    notes: left_out.length === 0 ? [] : [
      `Not drawn: ${listed(left_out.map((on) => `${on.title} (${wordsOf(on, result)})`), 9)}.`,
    ],
  };
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  const grid = chooseGrid(shown, result, {
    inner,
    height: height === undefined ? undefined : height - around,
  });
  const content = shown.flatMap((on, index) => {
    const column = index % grid.columns;
    const row = Math.floor(index / grid.columns);
    const panel = comparisonPanel(on, result, grid.panelWidth);
    return [
      svgElement(
        "g",
        { transform: `translate(${column * (grid.panelWidth + gap)},${grid.tops[row]})` },
        ...panel.content,
      ),
    ];
  });
  return drawCard(card, { height: grid.height, content });
}

const gap = 26;
const leastPanel = 232;

type Grid = {
  readonly columns: number;
  readonly panelWidth: number;
  readonly tops: readonly number[];
  readonly height: number;
};

/** The fewest columns that fit the height; where none does, those that make the chart lowest. */
function chooseGrid(
  shown: readonly ComparedOn[],
  result: ShoeComparison,
  { inner, height }: { readonly inner: number; readonly height?: number },
): Grid {
  const most = Math.max(1, Math.min(shown.length, Math.floor((inner + gap) / (leastPanel + gap))));
  const grids = Array.from({ length: most }, (_, index): Grid => {
    const columns = index + 1;
    const panelWidth = (inner - (columns - 1) * gap) / columns;
    const heights = shown.map((on) => comparisonPanel(on, result, panelWidth).height);
    const tops: number[] = [];
    let y = 4;
    for (let row = 0; row * columns < shown.length; row++) {
      tops.push(y);
      y += Math.max(...heights.slice(row * columns, (row + 1) * columns)) + 14;
    }
    return { columns, panelWidth, tops, height: y - 10 };
  });
  if (height === undefined) {
    return grids.find(({ panelWidth }) => panelWidth <= 460) ?? grids.at(-1)!;
  }
  return grids.find((grid) => grid.height <= height) ??
    grids.toSorted((a, b) => a.height - b.height)[0];
}

function comparisonPanel(
  on: ComparedOn,
  result: ShoeComparison,
  width: number,
): { readonly height: number; readonly content: readonly SvgElement[] } {
  const unit = on.unit === null ? "points" : unitWords(on.unit);
  const heading = unit === "" ? on.title : `${on.title} (${unit})`;
  const better = betterWords(on);
  const titleLines = limitLines(heading, 2, width, type.label, "bold");
  const beside = titleLines.length === 1 &&
    textWidth(heading, type.label, "bold") + textWidth(better, type.small) + 16 <= width;
  const content: SvgElement[] = [];
  let y = 0;
  for (const line of titleLines) {
    content.push(laneText(line, { x: 0, y: y + 9, size: type.label, weight: "bold" }));
    y += 18;
  }
  if (beside) {
    content.push(laneText(better, { x: width, y: 9, anchor: "end", fill: colour.quiet }));
  } else {
    content.push(laneText(better, { x: 0, y: y + 7, fill: colour.quiet }));
    y += 16;
  }
  y += 2;

  const rows = panelRows(on, result);
  const inline = width >= 430;
  const names = rows.map(({ label }) => label);
  // A name is not cut short for a word that goes without saying.
  const tight = (name: string, aside: string) =>
    !inline && 17 + textWidth(name, type.small, "bold") + 10 +
          textWidth(aside, type.small, "bold") > width;
  const asides = rows.map((row) => asideWords(row, on, inline && width >= 560))
    .map((aside, index) => tight(names[index], aside) ? aside.replace("differ, ", "") : aside);
  const asideRoom = Math.max(...asides.map((text) => textWidth(text, type.small, "bold")));
  const nameRoom = inline
    ? Math.min(
      Math.max(...names.map((name) => textWidth(name, type.small, "bold"))),
      Math.max(60, width * 0.3),
    )
    : width;
  const plot = inline
    ? { left: nameRoom + 24, right: Math.max(nameRoom + 120, width - asideRoom - 14) }
    : { left: 8, right: width - 8 };
  const scale = laneScale(valuesInSight(rows), plot);
  const lane = inline ? 24 : 36;
  const at = (index: number) => y + index * lane + (inline ? lane / 2 : 27);

  const base = baseValue(rows);
  const marks: SvgElement[] = [];
  rows.forEach((row, index) => {
    const middle = at(index);
    if (row.pair?.mdc !== undefined && row.pair.mdc !== null && base !== null) {
      const [x1, x2] = [scale.px(base - row.pair.mdc), scale.px(base + row.pair.mdc)];
      marks.push(
        svgElement("rect", {
          x: x1,
          y: middle - 8,
          width: x2 - x1,
          height: 16,
          fill: colour.bandStrong,
        }),
      );
    }
  });
  const bottom = y + rows.length * lane + 2;
  if (base !== null) {
    const x = scale.px(base);
    // Where names stand above their lanes the line is broken, so that it runs through no words.
    const stretches = inline
      ? [[y + 2, bottom]]
      : rows.map((_, index) => [at(index) - 9, at(index) + 9]);
    for (const [y1, y2] of stretches) {
      marks.push(
        svgElement("line", {
          x1: x,
          x2: x,
          y1,
          y2,
          stroke: colour.ink,
          "stroke-width": 1.25,
          "stroke-dasharray": "3,2.5",
        }),
      );
    }
  }
  const shortNames = inline
    ? shortenApart(names, nameRoom, type.small, "bold")
    : names.map((name, index) =>
      shortenApart(
        names,
        width - 18 - textWidth(asides[index], type.small, "bold") - 10,
        type.small,
        "bold",
      )[index] ?? name
    );
  rows.forEach((row, index) => {
    const middle = at(index);
    const words = inline ? middle : middle - 17;
    marks.push(
      seriesSymbol(row.series, 6, words),
      laneText(shortNames[index], { x: 17, y: words, weight: "bold" }),
      laneText(asides[index], {
        x: width,
        y: words,
        anchor: "end",
        weight: row.strong ? "bold" : "regular",
        fill: row.value === null || row.quiet ? colour.quiet : colour.ink,
      }),
    );
    const { pair } = row;
    if (pair !== null && base !== null && row.from !== null && row.to !== null) {
      marks.push(
        ...laneBar(
          scale.px(base + row.from),
          scale.px(base + row.to),
          middle,
          seriesColour(row.series),
        ),
      );
    }
    if (row.value !== null) marks.push(seriesSymbol(row.series, scale.px(row.value), middle));
  });
  return {
    height: bottom + 20,
    content: [...content, ...laneAxis(scale, { y: bottom }), ...marks],
  };
}

/** One shoe of a panel; `from` and `to` are the limits of its difference from the first. */
type PanelRow = {
  readonly series: number;
  readonly label: string;
  readonly value: number | null;
  readonly standing: ComparedValue | null;
  readonly pair: Comparison | null;
  readonly from: number | null;
  readonly to: number | null;
  readonly strong: boolean;
  readonly quiet: boolean;
};

function panelRows(on: ComparedOn, result: ShoeComparison): PanelRow[] {
  const first = baseShoe(on, result);
  return result.shoes.map(({ shoe_id, label }, series): PanelRow => {
    const own = result.values.find((row) => isOn(row, on) && row.shoe_id === shoe_id) ?? null;
    const pair = result.comparisons.find((other) =>
      isOn(other, on) && other.a === first.shoe_id && other.b === shoe_id
    ) ?? null;
    // Kept as the first minus the other; the picture hangs the other on the first.
    const { lower = null, upper = null } = pair?.difference ?? {};
    const shift = (limit: number | null) =>
      limit === null ? null : -limit;
    const value = own?.value.estimate ?? null;
    return {
      series,
      label,
      value,
      standing: own,
      pair,
      from: shift(upper),
      to: shift(lower),
      strong: pair?.word.startsWith("differ") ?? false,
      quiet: pair?.word === "can't tell",
    };
  });
}

/** The shoe that the others are hung on: the first one asked about, or else the first with a value. */
function baseShoe(
  on: ComparedOn,
  { shoes, values }: ShoeComparison,
): ShoeComparison["shoes"][number] {
  return shoes.find(({ shoe_id }) =>
    values.some((row) => isOn(row, on) && row.shoe_id === shoe_id)
  ) ?? shoes[0];
}

function baseValue(rows: readonly PanelRow[]): number | null {
  return rows.find(({ value }) => value !== null)?.value ?? null;
}

function valuesInSight(rows: readonly PanelRow[]): number[] {
  const base = baseValue(rows);
  return rows.flatMap(({ value, from, to, pair }) => [
    ...(value === null ? [] : [value]),
    ...(base === null || from === null || to === null ? [] : [base + from, base + to]),
    ...(base === null || pair?.mdc == null ? [] : [base - pair.mdc, base + pair.mdc]),
  ]);
}

function asideWords(
  { value, pair, standing, series }: PanelRow,
  on: ComparedOn,
  wide: boolean,
): string {
  if (value === null) return on.attribute === null ? "not benched" : "not rated";
  const words = [
    measured(value, on),
    ...(series === 0 || pair === null
      ? []
      : [pair.difference.estimate === null ? "can't compare" : shortWord(pair)]),
    ...(wide && standing !== null && comparedStanding(standing) !== ""
      ? [comparedStanding(standing).slice(2)]
      : []),
  ];
  return words.join(" · ");
}

function shortWord({ word }: Comparison): string {
  return word === "differ by enough to feel" ? "differ, enough to feel" : word;
}

function comparisonKey(
  { shoes, family, confidence }: ShoeComparison,
  otherBase: boolean,
): KeyEntry[] {
  const base = otherBase ? `${shoes[0].label} (else the first with a value)` : shoes[0].label;
  const percent = `${Math.round(confidence * 100)}%`;
  return [
    {
      label: `value of ${base}`,
      mark: svgElement("line", {
        y1: -8,
        y2: 8,
        stroke: colour.ink,
        "stroke-width": 1.25,
        "stroke-dasharray": "3,2.5",
      }),
    },
    {
      label: "this close is noise (MDC)",
      mark: svgElement("rect", { x: -9, y: -6, width: 18, height: 12, fill: colour.bandStrong }),
    },
    {
      label: family === 1
        ? `difference from ${shoes[0].label}, ${percent} interval`
        : `difference from ${shoes[0].label}, ${percent} for all ${family} together`,
      mark: svgElement("g", {}, ...laneBar(-9, 9, 0, colour.mark)),
    },
  ];
}

/** The most telling in the order asked: shown differences first, then those nearest to being shown. */
function mostTelling(
  comparable: readonly ComparedOn[],
  result: ShoeComparison,
  most: number,
): ComparedOn[] {
  if (comparable.length <= most) return [...comparable];
  const telling = (on: ComparedOn) =>
    Math.max(
      ...result.comparisons.filter((pair) => isOn(pair, on)).map((pair) =>
        ["can't tell", "alike", "differ", "differ by enough to feel"].indexOf(pair.word) * 1e6 +
        (pair.mdc === null || pair.mdc === 0
          ? 0
          : Math.min(1e5, Math.abs(pair.difference.estimate ?? 0) / pair.mdc))
      ),
    );
  const chosen = new Set(
    comparable.toSorted((a, b) => telling(b) - telling(a)).slice(0, Math.max(1, most)),
  );
  return comparable.filter((on) => chosen.has(on));
}

function wordsOf(on: ComparedOn, { comparisons }: ShoeComparison): string {
  const words = comparisons.filter((pair) => isOn(pair, on)).map(({ word }) => word);
  return [...new Set(words)].join(", ");
}
