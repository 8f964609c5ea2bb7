import { type SvgElement, svgElement } from "./draw.ts";
import { colour, seriesColours, seriesSymbols } from "./theme.ts";

const paths: Readonly<Record<(typeof seriesSymbols)[number], string>> = {
  circle: "M5,0A5,5,0,1,1,-5,0A5,5,0,1,1,5,0Z",
  square: "M-4.5,-4.5H4.5V4.5H-4.5Z",
  triangle: "M0,-5.8L5.6,4.4H-5.6Z",
  diamond: "M0,-6L5,0L0,6L-5,0Z",
  star: "M0,-6.4L1.6,-2.2L6.1,-2L2.6,0.8L3.8,5.2L0,2.7L-3.8,5.2L-2.6,0.8L-6.1,-2L-1.6,-2.2Z",
  wye: "M-1.9,5.8V1.1L-5.9,-1.2L-4,-4.5L0,-2.2L4,-4.5L5.9,-1.2L1.9,1.1V5.8Z",
};

/** The colour of the n-th of up to six series. */
export function seriesColour(index: number): string {
  return seriesColours[index % seriesColours.length];
}

/**
 * What stands for the n-th of up to six series: a shape of its own in a colour of its own.
 *
 * @param x in pixels of the drawing, as are `y` and `half`, half its height
 */
export function seriesSymbol(index: number, x: number, y: number, half = 5): SvgElement {
  const grown = half === 5 ? "" : ` scale(${Math.round(half * 20) / 100})`;
  return svgElement("path", {
    d: paths[seriesSymbols[index % seriesSymbols.length]],
    transform: `translate(${Math.round(x * 100) / 100},${Math.round(y * 100) / 100})${grown}`,
    fill: seriesColour(index),
    stroke: colour.card,
    "stroke-width": 1.25,
  });
}

/** The same shape as an outline. */
export function hollowSymbol(index: number, x: number, y: number): SvgElement {
  return svgElement("path", {
    d: paths[seriesSymbols[index % seriesSymbols.length]],
    transform: `translate(${Math.round(x * 100) / 100},${Math.round(y * 100) / 100}) scale(0.82)`,
    fill: colour.card,
    stroke: seriesColour(index),
    "stroke-width": 2.2,
  });
}

/** The asked shoes in the order they were asked, so that each keeps its symbol from picture to picture. */
export function inAskedOrder<Shoe extends { readonly asked_place: number | null }>(
  shoes: readonly Shoe[],
): Shoe[] {
  return shoes.filter(({ asked_place }) => asked_place !== null)
    .toSorted((a, b) => a.asked_place! - b.asked_place!);
}
