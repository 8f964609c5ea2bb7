import { captionStart, type Numbering } from "./page_numbering.ts";
import { base64, type SafeSvg, safeSvg } from "./page_svg.ts";
import { escapeHtml } from "./page_text.ts";

/**
 * An `<svg>` as a page shows it, which can neither run nor load anything; null if it is no SVG.
 *
 * A chart of the kit stands in the page itself, so that its values can be pointed at, and its drawing for a
 * phone beside it; any other drawing is an `<img>`.
 *
 * @param own a name that no other picture of the page has
 */
export function svgPicture(
  source: string,
  { narrow = "", own }: { readonly narrow?: string; readonly own?: string } = {},
): { readonly img: string; readonly title: string | null; readonly text: string | null } | null {
  const chart = safeSvg(source);
  if (!chart) return null;
  const size = chart.width && chart.height
    ? ` width="${Math.round(chart.width)}" height="${Math.round(chart.height)}"` +
      ` style="--own-width:${Math.round(chart.width)}px"`
    : "";
  const title = chart.title;
  const text = chart.description ?? (chart.alt === title ? null : chart.alt);
  if (own !== undefined && chart.hasCard && chart.inline !== null) {
    return { img: inPage(chart, narrow, own), title, text };
  }
  const alt = chart.alt ?? "Chart without a description";
  const classes = [
    ...(chart.adaptsToDark ? ["adapts"] : []),
    ...(chart.hasCard ? ["on-card"] : []),
  ];
  const looks = classes.length === 0 ? "" : ` class="${classes.join(" ")}"`;
  const wide = `<img${looks} alt="${escapeHtml(alt)}"${size} src="data:image/svg+xml;base64,${
    base64(chart.svg)
  }">`;
  const img = withNarrow(wide, narrow);
  return { img, title, text };
}

/** Both drawings, of which the page's style shows the one that fits; the wide one in print. */
function inPage(chart: SafeSvg, narrow: string, own: string): string {
  const small = narrow === "" ? null : safeSvg(narrow);
  const both = small !== null && small.hasCard && small.inline !== null;
  const drawing = (kind: string, { inline, width }: SafeSvg, id = "") =>
    `<div class="chart ${kind}" style="--own-width:${Math.round(width ?? 640)}px">${
      inline!(`${own}${kind[0]}`).replace(/^<svg /, id === "" ? "<svg " : `<svg id="${id}" `)
    }</div>`;
  const kind = both ? "wide" : "any";
  const tall = chart.cuts.length > 1;
  return drawing(tall ? `${kind} tall` : kind, chart, tall ? `${own}-whole` : "") +
    (both ? drawing("narrow", small) : "") + (tall ? slices(chart, `${own}-whole`) : "");
}

/** A chart taller than a sheet of paper, in parts that each fit one: for print alone. */
function slices({ cuts, width, height }: SafeSvg, id: string): string {
  const wide = Math.round(width ?? 640);
  return `<div class="slices" aria-hidden="true">${
    cuts.map((from, index) => {
      const high = (cuts[index + 1] ?? height!) - from;
      return `<svg viewBox="0 ${from} ${wide} ${high}" width="${wide}" height="${high}"><use href="#${id}"/></svg>`;
    }).join("")
  }</div>`;
}

/** The same chart drawn for a phone stands in for the wide one there, never in print. */
function withNarrow(wide: string, source: string): string {
  const chart = source === "" ? null : safeSvg(source);
  if (!chart?.width || !chart.height) return wide;
  return `<picture><source media="screen and (max-width:30rem)" width="${
    Math.round(chart.width)
  }" height="${Math.round(chart.height)}" srcset="data:image/svg+xml;base64,${
    base64(chart.svg)
  }">${wide}</picture>`;
}

/**
 * A picture with its number, its address and its caption.
 *
 * @param said the page's prose as `plainProse` gives it: what stands there, the caption does not repeat
 */
export function figureBlock(
  picture: { readonly img: string; readonly title: string | null; readonly text: string | null },
  numbering: Numbering,
  said = "",
): string {
  const number = numbering.nextFigure();
  const title = picture.title === null ? "" : sentence(picture.title);
  const words = [
    title === "" ? "" : `<strong>${escapeHtml(title)}</strong>`,
    picture.text === null ? "" : escapeHtml(opening(picture.text, `${title} ${said}`)),
  ].filter((part) => part !== "").join(" ");
  return figureFrame(number, picture.img, words);
}

/** The whole description is the picture's alt text; a caption that listed every number would hide the finding. */
function opening(text: string, said: string): string {
  const parts = text.match(/[^.!?…]+(?:[.!?…](?!\s|$)[^.!?…]*)*[.!?…]*\s*/g) ?? [text];
  const sentences = parts.filter((part) => !said.includes(part.replace(/\s+/g, " ").trim()));
  if (sentences.length === 0) return "";
  // a sentence that goes on to list every number has said what it lists before the colon
  const [first] = sentences;
  const list = /^([^:]{20,}?):\s.*;.*;/s.exec(first);
  if (list && first.length > LONGEST_CAPTION) return `${list[1]}.`;
  let words = "";
  for (const next of sentences) {
    if (words !== "" && words.length + next.length > LONGEST_CAPTION) break;
    words += next;
  }
  return words.trim();
}

const LONGEST_CAPTION = 200;

/** A title that another sentence follows ends as one. */
function sentence(title: string): string {
  return /[.!?…:]$/.test(title) ? title : `${title}.`;
}

/** The same frame for a picture whose caption is already safe HTML. */
export function figureFrame(number: number, content: string, captionHtml: string): string {
  return `<figure id="figure-${number}"><div class="scroll picture" role="region" tabindex="0" ` +
    `aria-label="Figure ${number}">${content}</div><figcaption>${
      captionStart("Figure", number)
    } ${captionHtml.trim()}</figcaption></figure>`;
}

/** A bitmap from a cell, if it really is base64 of a kind that pages show. */
export function bitmapPicture(mime: string, data: string, alt: string): string | null {
  const bytes = data.replace(/\s+/g, "");
  if (!/^image\/(png|jpeg|gif|webp)$/.test(mime) || !/^[A-Za-z0-9+/]+=*$/.test(bytes)) return null;
  return `<img alt="${escapeHtml(alt)}" src="data:${mime};base64,${bytes}">`;
}
