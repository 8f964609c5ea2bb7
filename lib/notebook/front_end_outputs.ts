import MarkdownIt from "markdown-it";
import sanitizeHtml from "sanitize-html";
import type { DrawPng } from "../charts/chart_png.ts";
import { withoutControl } from "../records/control_characters.ts";
import type { MediaBundle } from "./in_cell.ts";
import type { MessageContent } from "./messages.ts";
import { base64, safeSvg } from "./page_svg.ts";
import { ALLOWED, withoutCharts } from "./page_html.ts";
import { escapeHtml } from "./page_text.ts";

const SVG = "image/svg+xml";

/**
 * What of a cell's output may reach a front end?
 *
 * A front end runs scripts and styles that an output brings, on a page that may start other kernels and
 * write files: so only pictures, plain text, and HTML, SVG and Markdown with everything active taken out
 * are passed on. Markdown goes as the HTML it stands for, because front ends let HTML through it; a
 * drawing goes as a picture, in which its styles stay.
 *
 * @param type the message type, such as `display_data`
 * @param drawPng draws a chart as PNG: programs that make a page of a notebook clean its drawings until nothing
 * is left of them, and pass a PNG on; null leaves charts as SVG
 * @returns the content with nothing in it that could run; texts without control codes but for colours
 */
export function frontEndContent(
  type: string,
  content: MessageContent,
  drawPng: DrawPng | null = null,
): MessageContent {
  switch (type) {
    case "stream":
      return {
        name: content.name === "stderr" ? "stderr" : "stdout",
        text: shownText(content.text),
      };
    case "error":
      return {
        ename: shownText(content.ename),
        evalue: shownText(content.evalue),
        traceback: (Array.isArray(content.traceback) ? content.traceback : []).map(shownText),
      };
    case "clear_output":
      return { wait: content.wait === true };
    case "display_data":
    case "update_display_data":
    case "execute_result": {
      const { display_id } = (content.transient ?? {}) as { readonly display_id?: unknown };
      const { data, metadata } = asPng(content.data, drawPng);
      return {
        data,
        metadata,
        transient: typeof display_id === "string" ? { display_id } : {},
        ...(type === "execute_result" ? { execution_count: content.execution_count } : {}),
      };
    }
    default:
      return replyContent(content);
  }
}

/** The forms that may be shown, with a PNG in place of a chart, at the chart's own size on the page. */
function asPng(
  given: unknown,
  drawPng: DrawPng | null,
): { readonly data: MediaBundle; readonly metadata: MediaBundle } {
  const { [SVG]: drawing, ...rest } = (given ?? {}) as MediaBundle;
  const chart = drawPng === null || drawing === undefined || "image/png" in rest
    ? null
    : safeSvg(textOf(drawing));
  const plain = () => ({ data: shownBundle(given), metadata: {} });
  if (drawPng === null || chart === null) return plain();
  try {
    const { png, width, height } = drawPng(chart.svg);
    return {
      data: { "image/png": png.toBase64(), ...shownBundle(rest) },
      metadata: { "image/png": { width: Math.round(width), height: Math.round(height) } },
    };
  } catch {
    return plain(); // a drawing that the renderer can't read stays as it is
  }
}

/** A reply to the front end's own question: only the bundle of an inspection could hold anything active. */
function replyContent(content: MessageContent): MessageContent {
  return "data" in content
    ? { ...content, data: shownBundle(content.data), metadata: {} }
    : content;
}

/** The forms of a display that may be shown; at least a line that says what was left out. */
function shownBundle(data: unknown): MediaBundle {
  const given = Object.entries((data ?? {}) as MediaBundle);
  // Where a display brings HTML too, that is what front ends show; a drawing's HTML gives way to it.
  const shown = Object.fromEntries(
    given.toSorted(([a], [b]) => Number(b === SVG) - Number(a === SVG)).flatMap(([type, value]) =>
      shownForm(type, textOf(value))
    ),
  );
  if (Object.keys(shown).length > 0 || given.length === 0) return shown;
  const types = given.map(([type]) => withoutControl(type).slice(0, 80)).join(", ");
  return { "text/plain": `Not shown here: ${types}` };
}

function shownForm(type: string, text: string): readonly (readonly [string, string])[] {
  switch (type) {
    case "text/plain":
      return [[type, shownText(text)]];
    case "text/html":
      return [[type, shownHtml(text)]];
    case "text/markdown":
      return [["text/html", shownHtml(reader.render(text))]];
    case SVG: {
      const picture = pictureOf(text);
      return picture === "" ? [] : [["text/html", picture]];
    }
    case "image/png":
    case "image/jpeg":
    case "image/gif":
    case "image/webp":
      return /^[A-Za-z0-9+/=\s]*$/.test(text) ? [[type, text]] : [];
    default:
      return [];
  }
}

const reader = new MarkdownIt({ html: false });

const HEADINGS = ["h1", "h2", "h3", "h4", "h5", "h6"];
const OUTPUT: Parameters<typeof sanitizeHtml>[1] = {
  ...ALLOWED,
  allowedTags: [...ALLOWED.allowedTags as string[], ...HEADINGS],
  allowedStyles: {
    "*": {
      "text-align": [/^(left|right|center)$/],
      "white-space": [/^nowrap$/],
      "font-weight": [/^normal$/],
    },
  },
  transformTags: {
    // Not to the front end's own addresses, where a link could ask its server for something.
    a: (tag: string, { href = "" }: Record<string, string>) => ({
      tagName: tag,
      attribs: /^(https?:\/\/|mailto:|#)/i.test(href) ? { href } : {},
    }),
  },
};

/** HTML with nothing that runs, loads or lays itself over the page; a chart in it becomes a picture. */
function shownHtml(html: string): string {
  const charts: string[] = [];
  const marked = withoutCharts(html.replace(/[\ue000\ue001]/g, ""), (svg) => {
    charts.push(pictureOf(svg));
    return `\ue000${charts.length - 1}\ue001`;
  });
  return sanitizeHtml(marked, OUTPUT)
    .replace(/\ue000(\d+)\ue001/g, (_: string, index: string) => charts[Number(index)] ?? "");
}

/**
 * A drawing as a picture: a front end that laid it into its page would have its styles there too, which
 * could hide or move what the page itself shows. Nothing where it is no drawing.
 */
function pictureOf(svg: string): string {
  const chart = safeSvg(svg);
  if (chart === null) return "";
  const { alt, svg: safe } = chart;
  return `<img alt="${escapeHtml(alt ?? "")}" src="data:image/svg+xml;base64,${base64(safe)}">`;
}

// deno-lint-ignore no-control-regex -- what a terminal's colours begin with
const COLOUR = /(\u001b\[[0-9;]{0,20}m)/;

/** Text in which colours and redrawn lines are left, and nothing else that a terminal would obey. */
function shownText(text: unknown): string {
  return textOf(text).split(COLOUR)
    .map((part, index) => index % 2 === 1 ? part : withoutControl(part)).join("");
}

function textOf(value: unknown): string {
  if (typeof value === "string") return value;
  if (Array.isArray(value)) return value.map(textOf).join("");
  return value === undefined || value === null ? "" : JSON.stringify(value);
}
