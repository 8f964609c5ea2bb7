import MarkdownIt from "markdown-it";
import type { Numbering } from "./page_numbering.ts";
import { withNumberedTables } from "./page_tables.ts";
import { bitmapPicture } from "./page_figure.ts";
import { escapeHtml } from "./page_text.ts";

type Attachments = Readonly<Record<string, Readonly<Record<string, unknown>>>>;

const reader = new MarkdownIt({ html: false });
type Token = ReturnType<typeof reader.parse>[number];

/**
 * Markdown as HTML: raw HTML in it shows as text, links that would run something stay text, and
 * pictures appear only if they are inside the notebook (`attachment:` or a data address).
 *
 * @param dropFirstTitle leaves out a leading level-one heading, which repeats the page's own title
 */
export function safeMarkdown(
  text: string,
  numbering: Numbering,
  { attachments = {}, dropFirstTitle = false }: {
    readonly attachments?: Attachments;
    readonly dropFirstTitle?: boolean;
  } = {},
): string {
  let tokens = reader.parse(text, {});
  if (dropFirstTitle && tokens[0]?.tag === "h1") tokens = tokens.slice(3); // open, words, close
  tokens.forEach((token, index) => {
    if (token.type !== "heading_open") return;
    const words = plainWords(tokens[index + 1]);
    const entry = numbering.heading(words, Number(token.tag.slice(1)));
    token.tag = tokens[index + 2].tag = `h${entry.level}`;
    token.attrSet("id", entry.id);
  });
  return withNumberedTables(rendered(tokens, attachments), numbering);
}

/** One part of a summary: the heading, if it has one, and what stands under it. */
export type SummaryPart = { readonly heading: string | null; readonly html: string };

/** Markdown cut at its headings, for the cards at the top of the page. */
export function summaryParts(text: string, attachments: Attachments = {}): readonly SummaryPart[] {
  const parts: { heading: string | null; tokens: Token[] }[] = [];
  const tokens = reader.parse(text, {});
  for (let index = 0; index < tokens.length; index++) {
    if (tokens[index].type === "heading_open" && tokens[index].level === 0) {
      parts.push({ heading: plainWords(tokens[index + 1]), tokens: [] });
      index += 2;
    } else {
      if (parts.length === 0) parts.push({ heading: null, tokens: [] });
      parts[parts.length - 1].tokens.push(tokens[index]);
    }
  }
  return parts
    .map(({ heading, tokens }) => ({ heading, html: rendered(tokens, attachments) }))
    .filter(({ html }) => html.trim() !== "");
}

/** A number and its unit are not parted by the end of a line. */
const BEFORE_UNIT = /(?<=\d) (?=(?:[mk]?g|[cm]?m|[ms]|N|N·m|°C|%)(?![\p{L}\d]))/gu;

function rendered(tokens: Token[], attachments: Attachments): string {
  for (const token of tokens) {
    for (const child of token.children ?? []) {
      if (child.type === "image") replaceImage(child, attachments);
      if (child.type === "text") child.content = child.content.replace(BEFORE_UNIT, "\u00a0");
      if (child.type === "link_open" && /^https?:/i.test(String(child.attrGet("href")))) {
        child.attrSet("rel", "noopener noreferrer");
      }
    }
  }
  return reader.renderer.render(tokens, reader.options, {});
}

function replaceImage(token: Token, attachments: Attachments): void {
  const source = String(token.attrGet("src") ?? "");
  const alt = plainWords(token);
  const name = source.startsWith("attachment:") ? decoded(source.slice("attachment:".length)) : "";
  const bundle = Object.hasOwn(attachments, name) ? attachments[name] : {};
  const inline = /^data:(image\/[a-z]+);base64,(.*)$/s.exec(source);
  const pictures = inline
    ? [bitmapPicture(inline[1], inline[2], alt)]
    : Object.entries(bundle).map(([mime, data]) => bitmapPicture(mime, String(data), alt));
  token.type = "html_inline";
  token.content = pictures.find((picture) => picture !== null) ??
    `<span class="missing">[picture not in the notebook: ${escapeHtml(alt || source)}]</span>`;
  token.children = [];
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** The words of a heading or a picture's description, without markup. */
function plainWords(token: Token | undefined): string {
  return (token?.children ?? []).map((child) =>
    child.type === "softbreak" || child.type === "hardbreak" ? " " : child.content
  ).join("").trim();
}
