import * as Plot from "@observablehq/plot";
import { type KeyEntry, svgElement } from "./draw.ts";
import { colour } from "./theme.ts";

/** How one estimate is drawn: filled and dark, or hollow for the one that is there to compare. */
export type IntervalStyle = "filled" | "hollow" | "quiet";

/** One estimate at its place. */
export type IntervalRow = {
  /** Null draws the bar alone. */
  readonly estimate: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Pixels from the top of the plot. */
  readonly y: number;
  readonly style?: IntervalStyle;
  /** Instead of the theme's colour for marks. */
  readonly stroke?: string;
};

const barWidth = 2.5;
const dotRadius = 3.75;
/** Half the height of the stroke at each limit: taller than the dot, so that a short interval still shows beside it. */
const limitHalf = 6;

/**
 * How is an estimate with its interval drawn? The same way everywhere: a bar from limit to limit, a stroke across
 * each limit, a dot on the estimate.
 *
 * A bar that runs out of the domain ends at its edge in an arrowhead; so does a dot that lies outside.
 *
 * @param rows in a plot whose x scale is linear over `domain` and whose y scale is `identity`
 * @returns marks for `draw`
 */
export function intervalMarks(
  rows: readonly IntervalRow[],
  { domain: [low, high] }: { readonly domain: readonly [number, number] },
): Plot.Markish[] {
  const inside = (value: number) => Math.min(high, Math.max(low, value));
  const bars = rows.flatMap(({ lower, upper, ...row }) =>
    lower === null || upper === null || upper < low || lower > high
      ? []
      : [{ ...row, x1: inside(lower), x2: inside(upper) }]
  );
  const arrows = rows.flatMap((row) => {
    const ends = [row.lower, row.estimate, row.upper].filter((value) => value !== null);
    return [
      ...(ends.some((value) => value < low) ? [{ ...row, x: low, rotate: -90 }] : []),
      ...(ends.some((value) => value > high) ? [{ ...row, x: high, rotate: 90 }] : []),
    ];
  });
  const dots = rows.filter(({ estimate }) =>
    estimate !== null && estimate >= low && estimate <= high
  );
  return [
    Plot.link(bars, {
      x1: "x1",
      x2: "x2",
      y1: "y",
      y2: "y",
      stroke: strokeOf,
      strokeWidth: barWidth,
      strokeLinecap: "butt",
    }),
    Plot.dot(arrows, {
      x: "x",
      y: "y",
      symbol: "triangle",
      rotate: "rotate",
      r: 4,
      fill: strokeOf,
    }),
    Plot.dot(dots, {
      x: "estimate",
      y: "y",
      r: (row: IntervalRow) => row.style === "hollow" ? dotRadius - 0.75 : dotRadius,
      fill: (row: IntervalRow) => row.style === "hollow" ? colour.card : strokeOf(row),
      stroke: strokeOf,
      strokeWidth: 2,
    }),
    Plot.vector(
      rows.flatMap((row) =>
        [row.lower, row.upper].flatMap((x) =>
          x === null || x < low || x > high ? [] : [{ ...row, x }]
        )
      ),
      {
        x: "x",
        y: "y",
        shape: limitShape,
        length: 2 * limitHalf,
        stroke: strokeOf,
        strokeWidth: 1.75,
        anchor: "middle",
      },
    ),
  ];
}

const limitShape = {
  draw(
    context: { moveTo(x: number, y: number): void; lineTo(x: number, y: number): void },
    length: number,
  ) {
    context.moveTo(0, 0);
    context.lineTo(0, -length);
  },
};

/** How the same mark stands in a key. */
export function intervalKey(
  label: string,
  { style = "filled", stroke }: { readonly style?: IntervalStyle; readonly stroke?: string } = {},
): KeyEntry {
  const line = strokeOf({ style, stroke });
  return {
    label,
    mark: svgElement(
      "g",
      {},
      svgElement("line", { x1: -9, x2: 9, stroke: line, "stroke-width": barWidth }),
      ...[-9, 9].map((x) =>
        svgElement("line", {
          x1: x,
          x2: x,
          y1: -limitHalf,
          y2: limitHalf,
          stroke: line,
          "stroke-width": 1.75,
        })
      ),
      svgElement("circle", {
        r: style === "hollow" ? dotRadius - 0.75 : dotRadius,
        fill: style === "hollow" ? colour.card : line,
        stroke: line,
        "stroke-width": 2,
      }),
    ),
  };
}

function strokeOf({ style, stroke }: Pick<IntervalRow, "style" | "stroke">): string {
  return stroke ?? (style === "quiet" ? colour.context : colour.mark);
}
