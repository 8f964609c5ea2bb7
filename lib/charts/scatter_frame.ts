import * as Plot from "@observablehq/plot";
import { shortenText } from "./text_width.ts";
import { colour, type } from "./theme.ts";

/** The room around what Plot draws, in its own names. */
export type PlotMargins = {
  readonly marginLeft: number;
  readonly marginRight: number;
  readonly marginTop: number;
  readonly marginBottom: number;
};

/** Where the values of a scatter of shoes lie on its card. */
export type ScatterFrame = {
  readonly inner: number;
  readonly height: number;
  readonly margins: PlotMargins;
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
  readonly px: (value: number) => number;
  readonly py: (value: number) => number;
  /** Within which names may stand. */
  readonly bounds: {
    readonly left: number;
    readonly right: number;
    readonly top: number;
    readonly bottom: number;
  };
  /** About how many ticks the axis below has room for. */
  readonly ticks: number;
};

/** Lays out a scatter whose axes span `x` and `y`, each with room beyond the values. */
export function scatterFrame(
  { inner, height, x: xs, y: ys, marginLeft = 46, marginBottom = 50 }: {
    readonly inner: number;
    readonly height: number;
    readonly x: readonly number[];
    readonly y: readonly number[];
    readonly marginLeft?: number;
    readonly marginBottom?: number;
  },
): ScatterFrame {
  const [x, y] = [padded(xs), padded(ys)];
  const [marginRight, marginTop] = [14, 30];
  return {
    inner,
    height,
    margins: { marginLeft, marginRight, marginTop, marginBottom },
    x,
    y,
    px: (value) => marginLeft + (value - x[0]) / (x[1] - x[0]) * (inner - marginLeft - marginRight),
    py: (value) =>
      height - marginBottom - (value - y[0]) / (y[1] - y[0]) * (height - marginTop - marginBottom),
    bounds: {
      left: marginLeft + 2,
      right: inner - 2,
      top: marginTop - 6,
      bottom: height - marginBottom - 2,
    },
    ticks: Math.max(3, Math.floor(inner / 90)),
  };
}

/** The room around a dot that no name may take. */
export function dotBox(x: number, y: number, radius: number) {
  return { left: x - radius, right: x + radius, top: y - radius, bottom: y + radius };
}

/** Grid and axes, each with its words; those of the upright one stand above it. */
export function scatterAxes(
  { inner, ticks, margins: { marginLeft } }: ScatterFrame,
  { x, y, upright = 6 }: { readonly x: string; readonly y: string; readonly upright?: number },
): Plot.Markish[] {
  return [
    Plot.gridX({ stroke: colour.grid, strokeOpacity: 1, ticks }),
    Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: upright }),
    Plot.axisX({
      ticks,
      label: shortenText(x, inner - 60, type.tick),
      labelAnchor: "center",
      labelArrow: "none",
      labelOffset: 42,
      tickSize: 4,
      fontSize: type.tick,
    }),
    Plot.axisY({
      ticks: upright,
      label: shortenText(y, inner - 20, type.tick),
      labelAnchor: "top",
      labelArrow: "none",
      labelOffset: marginLeft - 2,
      tickSize: 4,
      fontSize: type.tick,
    }),
  ];
}

/** The range of values with a little room beyond both ends. */
export function padded(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = high > low ? (high - low) * 0.06 : Math.max(Math.abs(low) * 0.1, 0.5);
  return [low - room, high + room];
}
