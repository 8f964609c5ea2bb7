import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import type { FootFit, ShoeFit } from "../studies/comparison/foot_fit.ts";
import { fitWords } from "../words/comparison/fit_words.ts";
import { atStep } from "./build_up.ts";
import { draw, drawCard, type KeyEntry, overlay, type SvgElement, svgElement } from "./draw.ts";
import { crossBar, laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { scatterHeight } from "./scatter_height.ts";
import { seriesColour, seriesSymbol } from "./series_symbol.ts";
import { shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { padded } from "./scatter_frame.ts";
import { counted } from "../words/phrases.ts";

/** How much of a fit is drawn, and how large. */
export type FitChartOptions = ChartOptions & {
  readonly height?: number;
  /** Shoes to name; the first four unless given. */
  readonly most?: number;
};

/**
 * How much room would this foot have in these shoes?
 *
 * Room before the toe across, with the limits of the wanted range drawn, against room beside the ball upward: a mark a
 * shoe, of its own kind for what fits, what can't be told and what doesn't, and the first ones named with the size step
 * that their length asks for. Without widths, a row a shoe.
 */
export function fitChart(result: FootFit, options: FitChartOptions = {}): SvgElement {
  option.check("charts.fit", arguments[1], {
    ...chartOptions,
    height: option.positive,
    most: option.howMany,
  });
  return result.shoes.some(({ width_room_mm }) => width_room_mm !== null)
    ? fitScatter(result, options)
    : fitRows(result, options);
}

/** The first symbol of a named shoe: a circle already says that a length fits. */
const FIRST = 1;

/** The states of a shoe, what a picture calls them, and their marks. */
const states: readonly {
  readonly word: ShoeFit["word"];
  readonly label: string;
  readonly mark: (x: number, y: number) => SvgElement;
}[] = [
  {
    word: "length fits",
    label: "length fits",
    mark: (x, y) => dot(x, y, { fill: colour.mark, stroke: colour.card }),
  },
  {
    word: "can't tell",
    label: "can't tell",
    mark: (x, y) => dot(x, y, { fill: colour.card, stroke: colour.mark, "stroke-width": 2 }),
  },
  { word: "other size", label: "another size", mark: (x, y) => cross(x, y, colour.context) },
  { word: "too narrow", label: "too narrow", mark: (x, y) => bar(x, y, colour.accent) },
];

function fitScatter(
  result: FootFit,
  { width = pageWidth, height: room, most = 4, ...options }: FitChartOptions,
): SvgElement {
  const { shoes, wanted_toe_room_mm: wanted, foot, least_width_room_mm: least } = result;
  const inner = width - 2 * space.card;
  const known = shoes.filter(({ width_room_mm }) => width_room_mm !== null);
  // Each name takes a line from a low picture's scatter.
  const lines = room === undefined ? 6 : Math.max(1, Math.floor((room - 200) / 60));
  const named = known.slice(0, Math.min(6 - FIRST, most, lines));
  const card = {
    ...options,
    alt: fitWords(result).alt,
    title: `A foot of ${foot.length_mm} by ${foot.width_mm} mm`,
    width,
    key: [...stateKey(shoes), ...named.map(nameKey)],
    notes: [`${undrawnNote(shoes.length - known.length)}${fitNote(result)}`],
  };
  const height = scatterHeight(inner, room, card);
  const [marginLeft, marginRight, marginTop, marginBottom] = [44, 14, 30, 42];
  const [x, y] = fitDomains(result, known, named);
  const ticks = Math.max(3, Math.floor(inner / 90));
  const tall = Math.max(2, Math.floor((height - marginTop - marginBottom) / 44));
  return draw({
    ...card,
    height,
    marginLeft,
    marginRight,
    marginTop,
    marginBottom,
    x: { domain: x, label: null },
    y: { domain: y, label: null },
    marks: [
      Plot.rect([0], { x1: wanted[0], x2: wanted[1], y1: y[0], y2: y[1], fill: colour.band }),
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: tall }),
      Plot.ruleX(wanted, { stroke: colour.ink, strokeDasharray: "5,3", strokeWidth: 1.25 }),
      ...(least === null ? [] : [
        Plot.ruleY([least], { stroke: colour.ink, strokeDasharray: "5,3", strokeWidth: 1.25 }),
      ]),
      Plot.axisX({
        ticks,
        label: shortenText("Room before the toe (mm)", inner - 60, type.tick),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 38,
        tickSize: 4,
        fontSize: type.tick,
      }),
      Plot.axisY({
        ticks: tall,
        label: shortenText("↑ Inside width minus foot width (mm)", inner - 20, type.tick),
        labelAnchor: "top",
        labelArrow: "none",
        labelOffset: marginLeft - 2,
        tickSize: 4,
        fontSize: type.tick,
      }),
      overlay((scale) =>
        known.slice(named.length).map((shoe) =>
          atStep(2, stateOf(shoe).mark(scale.x(shoe.toe_room_mm), scale.y(shoe.width_room_mm!)))
        )
      ),
      overlay((scale) =>
        named.flatMap((shoe, index) => [
          ...crosses(shoe).flatMap(([x1, y1, x2, y2]) =>
            crossBar(
              [scale.x(x1), scale.y(y1)],
              [scale.x(x2), scale.y(y2)],
              seriesColour(FIRST + index),
            )
          ),
          seriesSymbol(FIRST + index, scale.x(shoe.toe_room_mm), scale.y(shoe.width_room_mm!)),
        ]).map((mark) => atStep(3, mark))
      ),
    ],
  });
}

/** All rooms in sight, those of the named shoes with their intervals, and the limits. */
function fitDomains(
  { wanted_toe_room_mm: wanted, least_width_room_mm: least }: FootFit,
  known: readonly ShoeFit[],
  named: readonly ShoeFit[],
): readonly [[number, number], [number, number]] {
  const across = named.flatMap((shoe) => [
    shoe.toe_room_lower ?? shoe.toe_room_mm,
    shoe.toe_room_upper ?? shoe.toe_room_mm,
  ]);
  const up = named.flatMap((shoe) => [
    shoe.width_room_lower ?? shoe.width_room_mm!,
    shoe.width_room_upper ?? shoe.width_room_mm!,
  ]);
  return [
    padded([...wanted, ...known.map((shoe) => shoe.toe_room_mm), ...across]),
    padded([
      ...known.map((shoe) => shoe.width_room_mm!),
      ...up,
      ...(least === null ? [] : [least]),
    ]),
  ];
}

/** Shoes that the sentence counts and the scatter has no place for. */
function undrawnNote(count: number): string {
  return count === 0
    ? ""
    : `Not drawn: ${counted(count, "shoe")} whose inside width is not known. `;
}

/** How many shoes are in each state: together all that the sentence counts. */
function stateKey(shoes: readonly ShoeFit[]): KeyEntry[] {
  return states.flatMap(({ word, label, mark }) => {
    const count = shoes.filter((shoe) => shoe.word === word).length;
    return count === 0 && word === "too narrow" ? [] : [{
      label: `${label}: ${count}`,
      mark: mark(0, 0),
    }];
  });
}

/** Named here and not beside the marks: the best ones lie close together, and their intervals cross. */
function nameKey(shoe: ShoeFit, index: number): KeyEntry {
  return {
    label: `${shoe.name}: ${stateOf(shoe).label}${stepWords(shoe)}`,
    mark: seriesSymbol(FIRST + index, 0, 0),
  };
}

function stateOf({ word }: ShoeFit): typeof states[number] {
  return states.find((state) => state.word === word)!;
}

function dot(
  cx: number,
  cy: number,
  paint: Readonly<Record<string, string | number>>,
): SvgElement {
  return svgElement("circle", { cx, cy, r: 4, ...paint });
}

function cross(x: number, y: number, stroke: string): SvgElement {
  return svgElement("path", {
    d: `M${x - 3},${y - 3}L${x + 3},${y + 3}M${x - 3},${y + 3}L${x + 3},${y - 3}`,
    stroke,
    "stroke-width": 1.75,
    fill: "none",
  });
}

function bar(x: number, y: number, stroke: string): SvgElement {
  return svgElement("line", { x1: x - 5, x2: x + 5, y1: y, y2: y, stroke, "stroke-width": 2.5 });
}

/** Height of a shoe's row. */
const rowHeight = 37;

function fitRows(
  result: FootFit,
  { width = pageWidth, height: room, most, ...options }: FitChartOptions,
): SvgElement {
  const { wanted_toe_room_mm: wanted } = result;
  const inner = width - 2 * space.card;
  const fitting = room === undefined ? 12 : Math.max(4, Math.floor((room - 140) / rowHeight));
  const shown = result.shoes.slice(0, Math.max(1, Math.min(most ?? fitting, 24)));
  const scale = laneScale(
    [
      ...wanted,
      ...shown.flatMap((shoe) => [
        shoe.toe_room_mm,
        shoe.toe_room_lower ?? shoe.toe_room_mm,
        shoe.toe_room_upper ?? shoe.toe_room_mm,
      ]),
    ],
    { left: 8, right: inner - 8 },
  );
  const asides = shown.map((shoe) =>
    `${shoe.toe_room_mm.toFixed(1)} mm · ${stateOf(shoe).label}${stepWords(shoe)}`
  );
  const names = shortenApart(
    shown.map(({ name }) => name),
    inner - 14 - Math.max(...asides.map((text) => textWidth(text, type.small))),
    type.small,
    "bold",
  );
  const heading = shortenText("Room before the toe (mm)", inner, type.label, "bold");
  const content: SvgElement[] = [
    laneText(heading, { x: 0, y: 11, size: type.label, weight: "bold" }),
  ];
  let y = 24;
  shown.forEach((shoe, index) => {
    const middle = y + 25;
    content.push(
      svgElement("rect", {
        x: scale.px(wanted[0]),
        y: middle - 8,
        width: scale.px(wanted[1]) - scale.px(wanted[0]),
        height: 16,
        fill: colour.band,
      }),
      ...wanted.map((limit) =>
        svgElement("line", {
          x1: scale.px(limit),
          x2: scale.px(limit),
          y1: middle - 9,
          y2: middle + 9,
          stroke: colour.ink,
          "stroke-width": 1.25,
          "stroke-dasharray": "5,3",
        })
      ),
      laneText(names[index], { x: 0, y: y + 8, weight: "bold" }),
      laneText(asides[index], { x: inner, y: y + 8, anchor: "end" }),
      ...(shoe.toe_room_lower === null || shoe.toe_room_upper === null ? [] : laneBar(
        scale.px(shoe.toe_room_lower),
        scale.px(shoe.toe_room_upper),
        middle,
        colour.mark,
      )),
      stateOf(shoe).mark(scale.px(shoe.toe_room_mm), middle),
    );
    y += rowHeight;
  });
  return drawCard({
    ...options,
    alt: fitWords(result).alt,
    title: `A foot of ${result.foot.length_mm} mm`,
    width,
    key: stateKey(result.shoes),
    notes: [
      `${
        shown.length < result.shoes.length
          ? shown.length === 1 ? "The first is drawn. " : `The first ${shown.length} are drawn. `
          : ""
      }${fitNote(result)}`,
    ],
  }, { height: y + 26, content: [...content, ...laneAxis(scale, { y: y + 2 })] });
}

function stepWords({ size_step, size_system }: ShoeFit): string {
  if (size_step === 0) return "";
  const sign = size_step > 0 ? "+" : "−";
  const unit = size_system === "mondopoint"
    ? " mm"
    : Math.abs(size_step) === 1
    ? " size"
    : " sizes";
  return `, try ${sign}${Math.abs(size_step)}${unit}`;
}

function fitNote({ wanted_toe_room_mm: [low, high], least_width_room_mm: least }: FootFit): string {
  return `Dashed: ${low} and ${high} mm of toe room${
    least === null ? "" : `, ${String(least).replace("-", "−")} mm in width`
  }. A place to start trying on, no medical advice.`;
}

/** Its intervals as lines: x1, y1, x2, y2. */
function crosses(shoe: ShoeFit): (readonly [number, number, number, number])[] {
  const { toe_room_mm: x, width_room_mm: y } = shoe;
  return [
    ...(shoe.toe_room_lower === null || shoe.toe_room_upper === null
      ? []
      : [[shoe.toe_room_lower, y!, shoe.toe_room_upper, y!] as const]),
    ...(shoe.width_room_lower === null || shoe.width_room_upper === null
      ? []
      : [[x, shoe.width_room_lower, x, shoe.width_room_upper] as const]),
  ];
}
