import { type SvgElement, svgElement } from "./draw.ts";
import type { FontWeight } from "./text_width.ts";
import { colour, type } from "./theme.ts";

/** A linear scale from data to pixels, with round ticks. */
export type LaneScale = {
  readonly px: (value: number) => number;
  readonly ticks: readonly number[];
  readonly tickText: (value: number) => string;
  readonly left: number;
  readonly right: number;
};

/**
 * Where do these values lie between two edges?
 *
 * @param values all that must be in sight
 * @param options `apart` the least pixels between ticks; `possible` ends that the scale may not run past
 * @returns a scale with two ticks at least
 */
export function laneScale(
  values: readonly number[],
  { left, right, apart = 64, possible }: {
    readonly left: number;
    readonly right: number;
    readonly apart?: number;
    readonly possible?: { readonly low: number | null; readonly high: number | null };
  },
): LaneScale {
  const known = values.length === 0 ? [0, 1] : values;
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const room = high > low ? (high - low) * 0.06 : Math.max(Math.abs(low) * 0.05, 0.5);
  const from = Math.max(low - room, Math.min(low, possible?.low ?? -Infinity));
  const to = Math.min(high + room, Math.max(high, possible?.high ?? Infinity));
  const px = (value: number) => left + (value - from) / (to - from) * (right - left);
  let most = Math.max(2, Math.floor(Math.abs(right - left) / apart));
  let step = niceStep((to - from) / most);
  const ticksOf = () => {
    const first = Math.ceil(from / step - 1e-9);
    const last = Math.floor(to / step + 1e-9);
    return Array.from({ length: last - first + 1 }, (_, index) => (first + index) * step);
  };
  // One tick gives a place and no scale.
  while (ticksOf().length < 2) step = niceStep((to - from) / ++most);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return {
    px,
    ticks: ticksOf(),
    tickText: (value) => plain(value, decimals),
    left,
    right,
  };
}

/** 1, 2 or 5 times a power of ten, at least as large as asked. */
function niceStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= least * 0.999) ??
    10 * power;
}

function plain(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", "−");
}

/** A line of text; `anchor` says which part of it stands at x. */
export function laneText(
  text: string,
  {
    x,
    y,
    anchor = "start",
    size = type.small,
    weight = "regular",
    fill = colour.ink,
    halo = false,
  }: {
    readonly x: number;
    /** Of its middle. */
    readonly y: number;
    readonly anchor?: "start" | "middle" | "end";
    readonly size?: number;
    readonly weight?: FontWeight;
    readonly fill?: string;
    readonly halo?: boolean;
  },
): SvgElement {
  return svgElement("text", {
    x,
    y,
    dy: "0.32em",
    "text-anchor": anchor,
    "font-size": size,
    "font-weight": weight === "bold" ? 700 : 400,
    fill,
    ...(halo
      ? {
        stroke: colour.card,
        "stroke-width": 3,
        "stroke-linejoin": "round",
        "paint-order": "stroke",
      }
      : {}),
  }, text);
}

/** A bar from limit to limit with a stroke across each; an end that runs past an edge of the scale has none. */
export function laneBar(
  from: number,
  to: number,
  y: number,
  stroke: string,
  { half = 6, edges = [-Infinity, Infinity] }: {
    readonly half?: number;
    readonly edges?: readonly [number, number];
  } = {},
): SvgElement[] {
  const inside = (x: number) => Math.min(edges[1], Math.max(edges[0], x));
  return [
    svgElement("line", {
      x1: inside(from),
      x2: inside(to),
      y1: y,
      y2: y,
      stroke,
      "stroke-width": 2.5,
    }),
    ...[from, to].filter((x) => inside(x) === x).map((x) =>
      svgElement("line", { x1: x, x2: x, y1: y - half, y2: y + half, stroke, "stroke-width": 1.75 })
    ),
  ];
}

/** The same between any two points of a scatter, upright or level, and lighter: two of them cross in a dot. */
export function crossBar(
  [x1, y1]: readonly [number, number],
  [x2, y2]: readonly [number, number],
  stroke: string,
): SvgElement[] {
  const upright = x1 === x2;
  const half = 4;
  return [
    svgElement("line", { x1, x2, y1, y2, stroke, "stroke-width": 1.75 }),
    ...([[x1, y1], [x2, y2]] as const).map(([x, y]) =>
      svgElement("line", {
        x1: upright ? x - half : x,
        x2: upright ? x + half : x,
        y1: upright ? y : y - half,
        y2: upright ? y : y + half,
        stroke,
        "stroke-width": 1.5,
      })
    ),
  ];
}

/** A line with ticks and their values; `top` is where grid lines begin, if there are to be any; `size` of the text. */
export function laneAxis(
  { px, ticks, tickText, left, right }: LaneScale,
  { y, top, size = type.small }: {
    readonly y: number;
    readonly top?: number;
    readonly size?: number;
  },
): SvgElement[] {
  return [
    ...(top === undefined
      ? []
      : ticks.map((tick) =>
        svgElement("line", { x1: px(tick), x2: px(tick), y1: top, y2: y, stroke: colour.grid })
      )),
    svgElement("line", { x1: left, x2: right, y1: y, y2: y, stroke: colour.line }),
    ...ticks.flatMap((tick) => [
      svgElement("line", { x1: px(tick), x2: px(tick), y1: y, y2: y + 4, stroke: colour.line }),
      laneText(tickText(tick), {
        x: px(tick),
        y: y + size,
        anchor: "middle",
        fill: colour.quiet,
        size,
      }),
    ]),
  ];
}
