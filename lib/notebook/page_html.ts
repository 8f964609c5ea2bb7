import sanitizeHtml from "sanitize-html";
import { figureBlock, figureFrame, svgPicture } from "./page_figure.ts";
import type { Numbering } from "./page_numbering.ts";
import { withNumberedTables } from "./page_tables.ts";

const CLASSES = ["number", "text", "missing", "unit", "note", "nowrap"];

/** What of HTML is kept anywhere: marks and tables; nothing that runs, loads or is laid over a page. */
export const ALLOWED: Parameters<typeof sanitizeHtml>[1] = {
  allowedTags: (
    "table caption colgroup col thead tbody tfoot tr th td p br hr strong em b i u s sub sup small code pre " +
    "kbd span div ul ol li dl dt dd a figure figcaption img blockquote abbr time mark"
  ).split(" "),
  allowedAttributes: {
    a: ["href"],
    img: ["src", "alt", "width", "height"],
    th: ["scope", "colspan", "rowspan", "data-sort", "style"],
    td: ["colspan", "rowspan", "data-sort", "style"],
    col: ["span"],
    colgroup: ["span"],
    abbr: ["title"],
    time: ["datetime"],
    "*": ["lang", "dir"],
  },
  allowedClasses: { "*": CLASSES },
  allowedStyles: { "*": { "text-align": [/^(left|right|center)$/] } },
  allowedSchemes: ["http", "https", "mailto"],
  allowedSchemesByTag: { img: ["data"] },
  allowProtocolRelative: false,
  nestingLimit: 60,
  // headings inside an output would break the outline of the page
  transformTags: Object.fromEntries(["h1", "h2", "h3", "h4", "h5", "h6"].map((tag) => [tag, "p"])),
  exclusiveFilter: (frame: { readonly tag: string; readonly attribs: Record<string, string> }) =>
    frame.tag === "img" &&
    !/^data:image\/(png|jpeg|gif|webp);base64,[A-Za-z0-9+/=\s]+$/.test(frame.attribs.src ?? ""),
};

/**
 * A cell's `text/html` as a page may show it: tables, lists, emphasis and pictures without anything
 * that runs, loads or styles. Charts inside become pictures; tables and figures get their numbers.
 */
export function safeHtml(html: string, numbering: Numbering): string {
  const charts: string[] = [];
  const marked = withoutCharts(html.replace(/[\ue000\ue001]/g, ""), (svg) => {
    charts.push(svg);
    return `\ue000${charts.length - 1}\ue001`;
  });
  const clean: string = sanitizeHtml(marked, ALLOWED);
  return withNumberedTables(withFigures(clean, charts, numbering), numbering);
}

/** Hands out each outermost `<svg>…</svg>`. An `<svg>` that never closes stays for the sanitizer. */
export function withoutCharts(html: string, take: (svg: string) => string): string {
  let out = "";
  let at = 0;
  let depth = 0;
  let start = 0;
  for (const tag of html.matchAll(/<(\/?)svg(?=[\s/>])[^>]*>/gi)) {
    if (tag[1] === "/") {
      if (depth > 0 && --depth === 0) {
        const end = tag.index + tag[0].length;
        out += html.slice(at, start) + take(html.slice(start, end));
        at = end;
      }
    } else if (!tag[0].endsWith("/>") && depth++ === 0) start = tag.index;
  }
  return out + html.slice(at);
}

function withFigures(html: string, charts: readonly string[], numbering: Numbering): string {
  const picture = (index: string) => svgPicture(charts[Number(index)] ?? "");
  const framed = html.replace(/<figure(?:\s[^>]*)?>([\s\S]*?)<\/figure>/g, (_whole, inner) => {
    const caption = /<figcaption(?:\s[^>]*)?>([\s\S]*?)<\/figcaption>/.exec(inner)?.[1] ?? "";
    const content = inner.replace(/<figcaption[\s\S]*?<\/figcaption>/g, "")
      .replace(/\ue000(\d+)\ue001/g, (_: string, index: string) => picture(index)?.img ?? "");
    return figureFrame(numbering.nextFigure(), content, caption);
  });
  return framed.replace(/\ue000(\d+)\ue001/g, (_whole, index) => {
    const alone = picture(index);
    return alone ? figureBlock(alone, numbering) : "";
  });
}
