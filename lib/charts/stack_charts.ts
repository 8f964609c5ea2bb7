import * as option from "../options.ts";
import { chartAlt } from "./figure.ts";
import { describe, type SvgElement, svgElement } from "./draw.ts";
import { fontFamily, type } from "./theme.ts";

const gap = 12;

/**
 * How many charts go side by side in this width, and how wide is each?
 *
 * @param width of the whole, in pixels
 * @param least width that one of them needs
 */
export function chartColumns(
  width: number,
  least = 440,
): { readonly columns: number; readonly width: number } {
  const columns = Math.max(1, Math.floor((width + gap) / (least + gap)));
  return { columns, width: Math.floor((width - (columns - 1) * gap) / columns) };
}

/**
 * What makes one picture of several charts, side by side and below one another?
 *
 * For a page that shows as many charts as there is something to show. Their alt texts follow one another.
 *
 * @param charts as chart functions give them, of one width; they are used up
 * @param options `columns`: how many side by side, one unless given
 * @throws {RangeError} if there is none
 */
export function stackCharts(
  charts: readonly SvgElement[],
  title: string,
  { columns = 1 }: { readonly columns?: number } = {},
): SvgElement {
  option.check("charts.stackCharts", arguments[2], { columns: option.whole(1) });
  if (charts.length === 0) throw new RangeError("A stack needs at least one chart, was given none");
  if (charts.length === 1) return charts[0];
  const alts = charts.map((chart) => chartAlt(chart));
  const sizes = charts.map((chart) =>
    ["width", "height"].map((name) => Number(chart.getAttribute(name)))
  );
  const across = Math.min(columns, charts.length);
  const column = Math.max(...sizes.map(([wide]) => wide));
  const width = across * column + (across - 1) * gap;
  const tops: number[] = [0];
  for (let row = 0; row * across < charts.length; row++) {
    const high = sizes.slice(row * across, (row + 1) * across).map(([, own]) => own);
    tops.push(tops[row] + Math.max(...high) + gap);
  }
  const height = tops.at(-1)! - gap;
  const svg = svgElement("svg", {
    xmlns: "http://www.w3.org/2000/svg",
    viewBox: `0 0 ${width} ${height}`,
    width,
    height,
    role: "img",
    "font-family": fontFamily,
    "font-size": type.tick,
    fill: charts[0].getAttribute("fill") ?? "#000",
    color: charts[0].getAttribute("color") ?? "#000",
  });
  charts.forEach((chart, index) => {
    // One picture has one name: those of its parts go into the alt text of the whole.
    const parts = ([...chart.childNodes] as SvgElement[]).filter(({ localName }) =>
      localName !== "title" && localName !== "desc"
    );
    const [x, y] = [(index % across) * (column + gap), tops[Math.floor(index / across)]];
    svg.append(svgElement("g", { transform: `translate(${x},${y})` }, ...parts));
  });
  return describe(svg, { title, alt: alts.join(" ") });
}
