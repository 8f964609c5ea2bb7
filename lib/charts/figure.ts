import * as option from "../options.ts";
import { chartSvg } from "./chart_svg.ts";
import { portableSvg } from "./portable_svg.ts";
import { legalText, type SvgElement } from "./draw.ts";
import { escapeMarkup } from "../markup_text.ts";

/** What stands around a chart on a page. */
export type FigureOptions = {
  readonly title: string;
  /** The finding for a reader who can't see the picture; the chart's own when left out. */
  readonly alt?: string;
  /** Where the numbers come from. */
  readonly provenance: string;
  /** The same chart drawn for a phone: shown in its place on screens up to 480 pixels wide. */
  readonly narrow?: SvgElement;
};

/**
 * What puts a chart on a page with its title, its words and where it comes from?
 *
 * @returns an HTML `<figure>` with the bare `<svg>` inside; all text is inert
 */
export function figure(
  chart: SvgElement,
  { title, alt, provenance, narrow }: FigureOptions,
): string {
  option.check("charts.figure", arguments[1], {
    title: option.needed(option.text),
    alt: option.text,
    provenance: option.needed(option.text),
    narrow: option.thing,
  });
  const words = alt ?? chartAlt(chart);
  const screens = narrow === undefined
    ? chartSvg(chart)
    : `<style>@media (max-width:480px){.chart-wide{display:none}}` +
      `@media (min-width:480.02px){.chart-narrow{display:none}}</style>` +
      `<div class="chart-wide">${chartSvg(chart)}</div>` +
      `<div class="chart-narrow">${chartSvg(narrow)}</div>`;
  return `<figure class="chart">
<p class="chart-title"><strong>${escapeMarkup(legalText(title))}</strong></p>
${screens}<figcaption>${escapeMarkup(legalText(words))} <small>${
    escapeMarkup(legalText(provenance))
  }</small></figcaption>
</figure>
`;
}

/**
 * What puts a chart on a page as an image, where ids and styles of one chart can't touch another?
 *
 * @param options `narrow`: the same chart drawn for a phone, taken on screens up to 480 pixels wide
 * @returns an HTML `<picture>` or `<img>` that holds the whole chart in itself, its letters too
 */
export async function chartImage(
  chart: SvgElement,
  { alt, narrow }: { readonly alt?: string; readonly narrow?: SvgElement } = {},
): Promise<string> {
  option.check("charts.chartImage", arguments[1], { alt: option.text, narrow: option.thing });
  const image = `<img src="${await dataUrl(chart)}" alt="${
    escapeMarkup(legalText(alt ?? chartAlt(chart)))
  }" width="${chart.getAttribute("width")}" height="${chart.getAttribute("height")}">`;
  return narrow === undefined
    ? image
    : `<picture><source media="(max-width: 480px)" srcset="${await dataUrl(narrow)}" width="${
      narrow.getAttribute("width")
    }" height="${narrow.getAttribute("height")}">${image}</picture>`;
}

/** What does a chart say to a reader who can't see it? Its description. */
export function chartAlt(chart: SvgElement): string {
  return [...chart.querySelectorAll("desc")][0]?.textContent ?? "";
}

async function dataUrl(chart: SvgElement): Promise<string> {
  const bytes = new TextEncoder().encode(await portableSvg(chart));
  return `data:image/svg+xml;base64,${bytes.toBase64()}`;
}
