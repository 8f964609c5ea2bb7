import { chartAlt } from "./figure.ts";
import { describe, type SvgElement, svgElement } from "./draw.ts";
import { fontFamily, type } from "./theme.ts";

const gap = 12;

/**
 * What makes one picture of several charts below one another?
 *
 * For a page that shows as many charts as there is something to show. Their alt texts follow one another.
 *
 * @param charts as chart functions give them, of one width; they are used up
 * @throws {RangeError} if there is none
 */
export function stackCharts(charts: readonly SvgElement[], title: string): SvgElement {
  if (charts.length === 0) throw new RangeError("A stack needs at least one chart, was given none");
  if (charts.length === 1) return charts[0];
  const alts = charts.map((chart) => chartAlt(chart));
  const sizes = charts.map((chart) =>
    ["width", "height"].map((name) => Number(chart.getAttribute(name)))
  );
  const width = Math.max(...sizes.map(([wide]) => wide));
  const height = sizes.reduce((sum, [, high]) => sum + high + gap, -gap);
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
  let y = 0;
  charts.forEach((chart, index) => {
    // One picture has one name: those of its parts go into the alt text of the whole.
    const parts = ([...chart.childNodes] as SvgElement[]).filter(({ localName }) =>
      localName !== "title" && localName !== "desc"
    );
    svg.append(svgElement("g", { transform: `translate(0,${y})` }, ...parts));
    y += sizes[index][1] + gap;
  });
  return describe(svg, { title, alt: alts.join(" ") });
}
