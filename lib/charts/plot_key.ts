import * as Plot from "@observablehq/plot";
import { barePlot, type KeyEntry, svgElement } from "./draw.ts";
import { colour } from "./theme.ts";

/** The scales of a chart that a key explains. */
export type LegendScales = {
  readonly color?: Plot.Scale;
  readonly symbol?: Plot.Scale;
  readonly opacity?: Plot.Scale;
};

/**
 * What do the colours, symbols and shades of a chart stand for?
 *
 * @param scales as Plot made them
 * @param asked Plot's options, which say whose legend is wanted
 * @returns an entry a kind; of a scale of amounts, five of them from end to end
 */
export function plotKey(
  { color, symbol, opacity }: LegendScales,
  asked: Plot.PlotOptions,
): readonly KeyEntry[] {
  const isAsked = (name: "color" | "symbol" | "opacity") => Boolean(asked[name]?.legend);
  const entries: KeyEntry[] = [];
  const together = symbol !== undefined && color !== undefined &&
    String(symbol.domain) === String(color.domain);
  if (color !== undefined && isAsked("color")) {
    const name = color.label ?? fieldOf(asked, ["fill", "stroke"]);
    const markOf = (value: unknown) =>
      together
        ? symbolMark(symbol.apply(value), color.apply(value))
        : squareMark({ fill: color.apply(value) });
    entries.push(...entriesOf(color, name, markOf));
  }
  if (symbol !== undefined && isAsked("symbol") && !(together && isAsked("color"))) {
    const markOf = (value: unknown) =>
      symbolMark(symbol.apply(value), together ? color.apply(value) : colour.ink);
    entries.push(...entriesOf(symbol, "", markOf));
  }
  if (opacity !== undefined && isAsked("opacity")) {
    const name = opacity.label ?? fieldOf(asked, ["fillOpacity", "strokeOpacity", "opacity"]);
    const markOf = (value: unknown) =>
      squareMark({ fill: colour.ink, "fill-opacity": opacity.apply(value) });
    entries.push(...entriesOf(opacity, name, markOf));
  }
  return entries;
}

const STEPS = 5;

function entriesOf(
  scale: Plot.Scale,
  name: string,
  markOf: (value: unknown) => KeyEntry["mark"],
): KeyEntry[] {
  const domain = [...scale.domain ?? []] as unknown[];
  const isAmount = scale.type !== "ordinal" && domain.length > 1 &&
    domain.every((end) => typeof end === "number" || end instanceof Date);
  const values = isAmount ? steps(domain as (number | Date)[]) : domain;
  const words = values.map(inWords);
  return values.map((value, i) => ({
    label: isAmount && i === 0 && name !== "" ? `${name} ${words[i]}` : words[i],
    mark: markOf(value),
  }));
}

/** The name of the column that the marks draw on one of these channels; "" where it has none. */
function fieldOf({ marks = [] }: Plot.PlotOptions, channels: readonly string[]): string {
  type Mark = { readonly channels?: Readonly<Record<string, { readonly value?: unknown }>> };
  const flat = (marks as readonly unknown[]).flat(9) as (Mark | null | undefined)[];
  const values = flat.flatMap((mark) =>
    channels.map((channel) => mark?.channels?.[channel]?.value)
  );
  return values.find((value) => typeof value === "string") ?? "";
}

function steps(domain: readonly (number | Date)[]): (number | Date)[] {
  const [low, high] = [Number(domain[0]), Number(domain.at(-1))];
  const isDate = domain[0] instanceof Date;
  return Array.from({ length: STEPS }, (_, i) => {
    const value = low + (high - low) * i / (STEPS - 1);
    return isDate ? new Date(value) : value;
  });
}

function inWords(value: unknown): string {
  if (value instanceof Date) return value.toISOString().slice(0, 10);
  if (typeof value === "number") return String(Number(value.toPrecision(3))).replace("-", "−");
  return value === null || value === undefined ? "not known" : String(value);
}

function squareMark(paint: Readonly<Record<string, string | number>>): KeyEntry["mark"] {
  return svgElement("rect", { x: -6, y: -6, width: 12, height: 12, ...paint });
}

/** The symbol as Plot itself draws it. */
function symbolMark(symbol: unknown, stroke: string): KeyEntry["mark"] {
  const made = barePlot({
    axis: null,
    width: 16,
    height: 16,
    marks: [Plot.dot([0], { frameAnchor: "middle", symbol: symbol as "circle", r: 4.5 })],
  });
  const path = [...made.querySelectorAll("path")][0]?.getAttribute("d");
  const paint = { fill: "none", stroke, "stroke-width": 1.75 };
  return path == null
    ? svgElement("circle", { r: 4.5, ...paint })
    : svgElement("path", { d: path, ...paint });
}
