import type * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { barePlot, draw, type SvgElement } from "./draw.ts";
import { type LegendScales, plotKey } from "./plot_key.ts";
import { portableSvg } from "./portable_svg.ts";
import { type ChartOptions, chartOptions, seriesColours } from "./theme.ts";

/** What Plot's own options are called; what each may be, Plot says itself. */
const plotOptions: Readonly<Record<string, option.Kind>> = {
  ...Object.fromEntries(
    ("marks height aspectRatio margin marginTop marginRight marginBottom marginLeft inset insetTop " +
      "insetRight insetBottom insetLeft x y r fx fy color opacity symbol length facet projection " +
      "clip clamp nice zero round align padding axis grid label labelArrow subtitle caption " +
      "ariaLabel ariaDescription").split(" ")
      .map((name) => [name, { says: "what Plot takes", holds: () => true }]),
  ),
  ...chartOptions,
  notes: option.listOf(option.text),
  title: option.text,
  alt: option.text,
};

/** Observable Plot's own options, and what stands around the chart on the kit's card. */
export type PlotChartOptions =
  & Omit<Plot.PlotOptions, "document" | "className" | "style" | "figure" | "title" | "width">
  & ChartOptions
  & {
    /** Lines below the chart: how to read it, what was left out. */
    readonly notes?: readonly string[];
    /** Stands above the chart. */
    readonly title?: string;
    /** The finding in a sentence, for a reader who can't see the picture; what the axes say when left out. */
    readonly alt?: string;
  };

/** A chart that a notebook cell shows when it is its last expression. */
export type ShownChart = SvgElement & {
  /** Under `Symbol.for("Jupyter.display")`: the drawing with its letters, and its alt text. */
  readonly [display: symbol]: () => Promise<
    { readonly "image/svg+xml": string; readonly "text/plain": string }
  >;
};

/**
 * How does a chart of one's own look in the kit's theme?
 *
 * Takes what `Plot.plot` of Observable Plot takes, any marks and scales, and needs no browser. Title, subtitle and
 * caption are written on the card; legends of colour, symbol and opacity become a key above the chart. Colours of
 * up to six kinds are the kit's unless `color` says otherwise. Interactive marks (`tip`, `crosshair`, pointers)
 * draw nothing in a still picture: write with `Plot.text`, or give a `title` channel.
 *
 * @param options Plot's own; `alt` the finding in words, `provenance` where the numbers come from
 * @returns an `<svg>` that a cell shows, and that `charts.chartSvg` and `charts.chartPng` make a file of
 * @throws {RangeError} if the width is below 200 pixels
 *
 * @example Mass against price, a colour and a symbol a court
 * ```ts
 * import * as Plot from "@observablehq/plot";
 * import { charts, loadBench, records } from "bench-to-court";
 * const shoes = records.shoeTable(await loadBench("data-demo"));
 * charts.plot({
 *   title: "What does a light shoe cost?",
 *   color: { legend: true },
 *   marks: [Plot.dot(shoes, { x: "price", y: "mass", stroke: "surface", symbol: "surface" })],
 * });
 * ```
 */
export function plot(options: PlotChartOptions): ShownChart {
  option.check("charts.plot", options, plotOptions);
  const { title, subtitle, caption, alt, heading, notes = [], ...given } = options;
  const { width, provenance, invented, ...own } = given;
  const unwrapped = withoutLegends(own);
  const styled = { ...unwrapped, color: kitColours(unwrapped.color, scalesOf(unwrapped).color) };
  const scales = scalesOf(styled);
  const words = alt ?? whatAxesSay(scales, title);
  const chart = draw({
    ...styled,
    width,
    provenance,
    invented,
    title,
    heading: heading ?? title,
    alt: words,
    key: plotKey(scales, own),
    notes: [...[subtitle, caption].filter((text) => typeof text === "string"), ...notes],
  });
  return Object.assign(chart, {
    [Symbol.for("Jupyter.display")]: async () => ({
      "image/svg+xml": await portableSvg(chart),
      "text/plain": words,
    }),
  });
}

type Scales = LegendScales & { readonly across: string; readonly up: string };

/** The scales that Plot makes of these options: it alone knows. */
function scalesOf(options: Plot.PlotOptions): Scales {
  const made = barePlot(options);
  const label = (axis: string) => {
    const [text] = [...made.querySelectorAll(`[aria-label="${axis}-axis label"]`)];
    return (text?.textContent ?? "").replace(/^[←↑→↓\s]+|[←↑→↓\s]+$/g, "");
  };
  return {
    across: label("x"),
    up: label("y"),
    color: made.scale("color"),
    symbol: made.scale("symbol"),
    opacity: made.scale("opacity"),
  };
}

/** Legends, and whatever else makes Plot wrap its drawing in a figure of HTML, are left to the card. */
function withoutLegends(options: Plot.PlotOptions): Plot.PlotOptions {
  const { figure: _, className: __, style: ___, ...rest } = options;
  const scaled = ["color", "symbol", "opacity"] as const;
  return {
    ...rest,
    ...Object.fromEntries(
      scaled.filter((name) => rest[name] !== undefined).map((name) => {
        const scale = rest[name];
        return [name, typeof scale === "object" ? { ...scale, legend: undefined } : scale];
      }),
    ),
  };
}

/** A few kinds get the kit's colours, and amounts a ramp that reads in print, unless asked for others. */
function kitColours(
  given: Plot.PlotOptions["color"],
  scale: Plot.Scale | undefined,
): Plot.PlotOptions["color"] {
  if (given?.range !== undefined || given?.scheme !== undefined || scale === undefined) {
    return given;
  }
  if (scale.type === "ordinal") {
    const kinds = [...scale.domain ?? []].length;
    return kinds > seriesColours.length
      ? given
      : { ...given, range: seriesColours.slice(0, kinds) };
  }
  return scale.type === "linear" ? { ...given, scheme: "viridis", range: READABLE } : given;
}

/** The part of the ramp that stands out from the card. */
const READABLE = [0, 0.8];

function whatAxesSay({ across, up }: Scales, title: string | undefined): string {
  const axes = [up, across].filter((words) => words !== "").join(" against ");
  const heading = title === undefined ? "" : /[.?!]$/.test(title) ? title : `${title}.`;
  return [heading, axes === "" ? "" : `${axes}.`].join(" ").trim() || "A chart without words.";
}
