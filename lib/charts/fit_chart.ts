import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { FootFit, ShoeFit } from "../studies/comparison/foot_fit.ts";
import { fitWords } from "../words/comparison/fit_words.ts";
import { draw, drawCard, overlay, type SvgElement, svgElement } from "./draw.ts";
import { crossBar, laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { seriesColour, seriesSymbol } from "./series_symbol.ts";
import { shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/** How much of a fit is drawn, and how large. */
export type FitChartOptions = ChartOptions & {
  readonly height?: number;
  /** Shoes to name; the first four unless given. */
  readonly most?: number;
};

/**
 * How much room would this foot have in these shoes?
 *
 * Room before the toe across, with the wanted range shaded, against room beside the ball upward: a dot a
 * shoe, the first ones named with the size step that their length asks for. Without widths, a row a shoe.
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

function fitScatter(
  result: FootFit,
  { width = pageWidth, height: room, most = 4, ...options }: FitChartOptions,
): SvgElement {
  const { shoes, wanted_toe_room_mm: wanted, confidence, foot } = result;
  const inner = width - 2 * space.card;
  const height = Math.round(
    Math.min(640, Math.max(240, room === undefined ? inner * 0.72 : room - 100)),
  );
  const known = shoes.filter(({ width_room_mm }) => width_room_mm !== null);
  const named = known.slice(0, Math.min(6, most));
  const rest = known.slice(named.length);
  const [marginLeft, marginRight, marginTop, marginBottom] = [50, 14, 30, 48];
  const x = padded([
    ...wanted,
    ...known.map((shoe) => shoe.toe_room_mm),
    ...named.flatMap((shoe) => [
      shoe.toe_room_lower ?? shoe.toe_room_mm,
      shoe.toe_room_upper ?? shoe.toe_room_mm,
    ]),
  ]);
  const y = padded([
    ...known.map((shoe) => shoe.width_room_mm!),
    ...named.flatMap((shoe) => [
      shoe.width_room_lower ?? shoe.width_room_mm!,
      shoe.width_room_upper ?? shoe.width_room_mm!,
    ]),
  ]);
  const ticks = Math.max(3, Math.floor(inner / 90));
  const tall = Math.max(3, Math.floor(height / 60));
  return draw({
    ...options,
    width,
    title: `A foot of ${foot.length_mm} by ${foot.width_mm} mm`,
    alt: fitWords(result).alt,
    height,
    marginLeft,
    marginRight,
    marginTop,
    marginBottom,
    x: { domain: x, label: null },
    y: { domain: y, label: null },
    key: [
      {
        label: `wanted toe room, ${wanted[0]} to ${wanted[1]} mm`,
        mark: svgElement("rect", { x: -9, y: -6, width: 18, height: 12, fill: colour.bandStrong }),
      },
      // Named here and not beside the dots: the best ones lie close together, and their intervals cross.
      ...named.map((shoe, series) => ({
        label: `${shoe.name}${stepWords(shoe)}`,
        mark: seriesSymbol(series, 0, 0),
      })),
    ],
    notes: [namedNote(known, named.length), fitNote(result, confidence)],
    marks: [
      Plot.rect([0], { x1: wanted[0], x2: wanted[1], y1: y[0], y2: y[1], fill: colour.bandStrong }),
      Plot.gridX({ stroke: colour.grid, strokeOpacity: 1, ticks }),
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: tall }),
      Plot.axisX({
        ticks,
        label: shortenText("Room before the toe (mm)", inner - 60, type.tick),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 42,
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
      Plot.dot(rest, {
        x: "toe_room_mm",
        y: "width_room_mm",
        r: 4,
        fill: colour.context,
        stroke: colour.card,
      }),
      overlay((scale) =>
        named.flatMap((shoe, series) =>
          crosses(shoe).flatMap(([x1, y1, x2, y2]) =>
            crossBar([scale.x(x1), scale.y(y1)], [scale.x(x2), scale.y(y2)], seriesColour(series))
          )
        )
      ),
      overlay((scale) =>
        named.map((shoe, series) =>
          seriesSymbol(series, scale.x(shoe.toe_room_mm), scale.y(shoe.width_room_mm!))
        )
      ),
    ],
  });
}

function fitRows(
  result: FootFit,
  { width = pageWidth, height: _, most, ...options }: FitChartOptions,
): SvgElement {
  const { wanted_toe_room_mm: wanted, confidence } = result;
  const inner = width - 2 * space.card;
  const shown = result.shoes.slice(0, Math.max(1, Math.min(most ?? 12, 12)));
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
  const asides = shown.map((shoe) => `${shoe.toe_room_mm.toFixed(1)} mm${stepWords(shoe)}`);
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
    const middle = y + 26;
    content.push(
      svgElement("rect", {
        x: scale.px(wanted[0]),
        y: middle - 8,
        width: scale.px(wanted[1]) - scale.px(wanted[0]),
        height: 16,
        fill: colour.bandStrong,
      }),
      laneText(names[index], { x: 0, y: y + 8, weight: "bold" }),
      laneText(asides[index], { x: inner, y: y + 8, anchor: "end" }),
      ...(shoe.toe_room_lower === null || shoe.toe_room_upper === null ? [] : laneBar(
        scale.px(shoe.toe_room_lower),
        scale.px(shoe.toe_room_upper),
        middle,
        colour.mark,
      )),
      svgElement("circle", {
        cx: scale.px(shoe.toe_room_mm),
        cy: middle,
        r: 4.5,
        fill: colour.mark,
        stroke: colour.card,
      }),
    );
    y += 38;
  });
  return drawCard({
    ...options,
    alt: fitWords(result).alt,
    title: `A foot of ${result.foot.length_mm} mm`,
    width,
    key: [{
      label: `wanted toe room, ${wanted[0]} to ${wanted[1]} mm`,
      mark: svgElement("rect", { x: -9, y: -6, width: 18, height: 12, fill: colour.bandStrong }),
    }],
    notes: [
      fitNote(result, confidence),
      ...(shown.length < result.shoes.length
        ? [`The first ${shown.length} of ${result.shoes.length} shoes.`]
        : []),
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

/** How many of the shoes are named in the key, and which. */
function namedNote(shoes: readonly ShoeFit[], named: number): string {
  const fits = shoes.filter(({ word }) => word === "length fits").length;
  return named >= shoes.length
    ? "Every shoe is named."
    : fits > named
    ? `Named are the ${named} roomiest of ${fits} shoes whose length fits.`
    : `Named are the first ${named} of ${shoes.length} shoes: ${fits} whose length fits, and the next ones.`;
}

function fitNote({ shoes }: FootFit, confidence: number): string {
  return `One dot a shoe, ${shoes.length} in all, in the size benched unless a step is named; bars are ${
    Math.round(confidence * 100)
  }% intervals.${
    shoes.some(({ width_room_mm }) => (width_room_mm ?? 0) < 0)
      ? " Uppers give, so a width below 0 is usual: compare shoes by it."
      : ""
  } A place to start trying on, no medical advice: foot pain or orthoses belong with a clinician.`;
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

function padded(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = high > low ? (high - low) * 0.06 : Math.max(Math.abs(low) * 0.1, 0.5);
  return [low - room, high + room];
}
