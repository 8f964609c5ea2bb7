import { type SvgElement, svgElement } from "./draw.ts";
import { decimalsOf } from "../words/digits.ts";

/**
 * A part of a picture that tells its value: nothing to see, a tooltip under a pointer where the picture stands in a
 * page, and what a page's script reads out by key and tap.
 *
 * @param about the row that it is about, as tables name it
 * @param words the value, such as `Heel rebound: 0.78 (0.69 to 0.85)`
 */
export function valueArea(
  { x, y, width, height }: {
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly height: number;
  },
  { about, words }: { readonly about: string; readonly words: string },
): SvgElement {
  return svgElement(
    "rect",
    {
      x,
      y,
      width,
      height,
      fill: "none",
      "pointer-events": "all",
      "data-about": about,
    },
    svgElement("title", {}, words),
  );
}

/** An estimate with its limits, to the digits that the limits leave it, as the tables beside have them. */
export function intervalWords(
  { estimate, lower, upper }: {
    readonly estimate: number | null;
    readonly lower: number | null;
    readonly upper: number | null;
  },
  decimals: number = decimalsOf({ lower, upper }, 2),
): string {
  if (estimate === null) return "no estimate";
  if (lower === null || upper === null) return minus(Number(estimate.toPrecision(3)).toString());
  const [middle, from, to] = [estimate, lower, upper].map((end) => minus(end.toFixed(decimals)));
  return `${middle} (${from} to ${to})`;
}

function minus(digits: string): string {
  return digits.replace("-", "−");
}
