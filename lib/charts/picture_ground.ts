import type { SvgElement } from "./draw.ts";
import { colour, seriesColours } from "./theme.ts";

/** What a picture stands on: a light or a dark ground of its own, or a plate to lay over footage. */
export type PictureGround = "light" | "dark" | "transparent";

/** Colours of the light card and their counterparts on a dark ground. */
const dark: Readonly<Record<keyof typeof colour, string>> = {
  card: "#10191F",
  edge: "#2B3942",
  ink: "#F2F5F3",
  quiet: "#BAC6CC",
  grid: "#2C3A43",
  line: "#93A1A9",
  band: "#1E2B33",
  bandStrong: "#34444F",
  mark: "#6CB8E6",
  accent: "#FFA06B",
  context: "#93A1A9",
};

/** Series on a dark ground, found as those on the light one; smallest distance 25 / 15 / 15 / 15. */
export const darkSeriesColours: readonly string[] = [
  "#5090F5",
  "#FFC588",
  "#39FEDB",
  "#FC7695",
  "#CEBBEF",
  "#A2A402",
];

/** How much of the footage a plate hides. */
export const plateOpacity = 0.85;

/** What a picture's colours are on this ground. */
export function groundColours(
  ground: PictureGround,
): {
  readonly colour: Readonly<Record<keyof typeof colour, string>>;
  readonly series: readonly string[];
} {
  return ground === "light"
    ? { colour, series: seriesColours }
    : { colour: dark, series: darkSeriesColours };
}

/**
 * Gives a picture that was drawn in the kit's light colours another ground, or a sender's own colours.
 *
 * @param series colours of the series on that ground, in their order
 */
export function recolour(
  svg: SvgElement,
  { ground, series }: { readonly ground: PictureGround; readonly series?: readonly string[] },
): void {
  const onGround = groundColours(ground);
  const names = Object.keys(colour) as (keyof typeof colour)[];
  const table = new Map([
    ...names.map((name) => [colour[name], onGround.colour[name]] as const),
    ...seriesColours.map((own, index) => [own, (series ?? onGround.series)[index] ?? own] as const),
    ...(series === undefined ? [] : [[colour.mark, series[0]] as const]),
  ]);
  for (const element of [svg, ...svg.querySelectorAll("*")]) {
    for (const name of ["fill", "stroke", "color"]) {
      const found = table.get(element.getAttribute(name) ?? "");
      if (found !== undefined) element.setAttribute(name, found);
    }
  }
}
