/** How a notebook cell shows the kit's results; everything here also works outside a notebook. */

import type { SvgElement } from "../charts/draw.ts";
import { portableSvg } from "../charts/portable_svg.ts";
import { phoneWidth } from "../charts/theme.ts";
import * as option from "../options.ts";

/** A value that a notebook cell shows in its own way. */
export type Showable = {
  /** Under `Symbol.for("Jupyter.display")`: the media bundle that Jupyter shows. */
  readonly [display: symbol]: () => MediaBundle | Promise<MediaBundle>;
};

/** Forms of one thing by media type; a front end shows the richest it can. */
export type MediaBundle = Readonly<Record<string, unknown>>;

/** The width a chart should take; empty for the chart's own. */
export type ChartSize = { readonly width?: number };

/** The media type of a chart drawn for a phone: front ends pass it over, the kit's page takes it. */
export const narrowChartType = "application/vnd.bench-to-court.narrow-chart+svg";

const jupyterDisplay = Symbol.for("Jupyter.display");

/**
 * Shows a chart in a cell: the drawing, and its alt text where drawings can't be shown.
 *
 * Make it the last expression of a cell, or pass it to `Deno.jupyter.display`. Given a function, it draws the chart a
 * second time for a phone, so that a page made from the notebook reads on both:
 * `showChart((size) => driftChart(drift, size))`.
 *
 * @param chart an `<svg>` element, its text, or a function that draws it in a given size
 * @param options `alt`: the finding in words; the chart's `aria-label`, `<desc>` or `<title>` unless given
 * @throws {TypeError} if it is not an `<svg>`
 */
export function showChart(
  chart: SvgElement | string | ((size: ChartSize) => SvgElement),
  { alt }: { readonly alt?: string } = {},
): Showable {
  option.check("show.chart", arguments[1], { alt: option.text });
  const svg = typeof chart === "function" ? chart({}) : chart;
  const drawn = (typeof svg === "string" ? svg : svg.outerHTML).trim();
  if (!/^(<\?xml[^>]*>\s*)?<svg[\s>]/.test(drawn)) {
    throw new TypeError(`Cannot show a chart: found "${drawn.slice(0, 40)}", expected an <svg>`);
  }
  const words = alt ?? altOf(drawn) ?? "A chart without a description";
  const narrow = typeof chart === "function" ? chart({ width: phoneWidth }) : null;
  return {
    [jupyterDisplay]: async () => ({
      // With the letters it uses inside, so that its texts fit wherever it is shown.
      "image/svg+xml": typeof svg === "string" ? withNamespace(drawn) : await portableSvg(svg),
      ...(narrow === null ? {} : { [narrowChartType]: await portableSvg(narrow) }),
      "text/plain": words,
    }),
  };
}

/** Without the namespace a viewer takes the drawing for plain text. */
function withNamespace(drawn: string): string {
  const [opening] = drawn.match(/<svg[^>]*>/)!;
  return /\sxmlns=/.test(opening)
    ? drawn
    : drawn.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"');
}

/** Shows prose that a cell has put together, such as a sentence with a computed number. */
export function showMarkdown(text: string): Showable {
  return { [jupyterDisplay]: () => ({ "text/markdown": text, "text/plain": text }) };
}

function altOf(svg: string): string | null {
  const found = svg.match(/^[^>]*?\saria-label="([^"]*)"/) ??
    svg.match(/<desc[^>]*>([^<]*)</) ?? svg.match(/<title[^>]*>([^<]*)</);
  return found ? unescaped(found[1]) : null;
}

function unescaped(text: string): string {
  return text.replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&quot;", '"')
    .replaceAll("&#39;", "'").replaceAll("&amp;", "&");
}
