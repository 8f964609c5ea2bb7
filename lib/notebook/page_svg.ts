import { DOMParser } from "linkedom";
import { escapeHtml } from "./page_text.ts";
import { printCuts } from "./print_cuts.ts";

/** A chart made safe to embed, and what it says about itself. */
export type SafeSvg = {
  readonly svg: string;
  /**
   * To stand in a page itself, its ids and fonts under names of its own; null for a drawing with styles, which
   * would reach out into the page.
   */
  readonly inline: ((own: string) => string) | null;
  /** Short name of the chart: its `<title>`, or null. */
  readonly title: string | null;
  /** The finding in words: `aria-label`, else `<desc>`, else `<title>`. */
  readonly alt: string | null;
  /** Longer description from `<desc>`, or null. */
  readonly description: string | null;
  readonly width: number | null;
  readonly height: number | null;
  /** Heights at which its parts begin in print, where it is taller than a sheet; see `printCuts`. */
  readonly cuts: readonly number[];
  /** True where the chart brings its own dark colours and needs no light card behind it. */
  readonly adaptsToDark: boolean;
  /** True where the chart draws a card behind itself and needs no frame. */
  readonly hasCard: boolean;
};

type SvgNode = {
  readonly nodeType: number;
  readonly nodeName: string;
  readonly nodeValue: string | null;
  readonly textContent: string | null;
  readonly childNodes: Iterable<SvgNode>;
  readonly attributes: Iterable<{ readonly name: string; readonly value: string }>;
};

const ELEMENT = 1;
const TEXT = 3;
const CDATA = 4;

const DRAWING = new Set(
  ("svg g defs symbol use title desc style path rect circle ellipse line polyline polygon text tspan " +
    "textPath image linearGradient radialGradient stop clipPath mask pattern marker filter feBlend " +
    "feColorMatrix feComposite feFlood feGaussianBlur feMerge feMergeNode feMorphology feOffset " +
    "feDropShadow switch").split(" "),
);

/** Elements whose children are kept although the element itself goes: a link in a picture. */
const UNWRAPPED = new Set(["a"]);

const INNER_PICTURE = /^data:image\/(png|jpeg|gif|webp);base64,[a-z0-9+/=\s]*$/i;
const EMBEDDED_FONT = /^data:(font\/(woff2?|ttf|otf)|application\/(x-)?font-[a-z0-9-]+);/i;

/**
 * What of this SVG may be shown?
 *
 * Keeps drawing elements and their looks; drops scripts, event handlers, foreign content, animation
 * and every address that is not inside the picture. A browser runs nothing inside an `<img>` anyway;
 * this also holds when somebody saves the picture and opens it on its own.
 *
 * @param source text of one `<svg>` element, with or without `xmlns`
 * @returns null if the text is not an SVG
 */
export function safeSvg(source: string): SafeSvg | null {
  let root: SvgNode | null = null;
  try {
    const parsed = new DOMParser().parseFromString(source, "image/svg+xml");
    root = parsed.documentElement as unknown as SvgNode | null;
  } catch {
    return null; // the parser gives up on some malformed text; so do we
  }
  if (!root || root.nodeName.toLowerCase() !== "svg") return null;

  const attribute = (name: string) =>
    [...root.attributes].find((given) => given.name === name)?.value.trim() || null;
  const child = (name: string) =>
    [...root.childNodes].find((node) => node.nodeName === name)?.textContent?.trim() || null;
  const [, , boxWidth, boxHeight] = (attribute("viewBox") ?? "").split(/[\s,]+/).map(Number);
  const height = pixels(attribute("height")) ?? pixels(String(boxHeight));
  const title = child("title");
  const description = child("desc");
  return {
    svg: written(root),
    inline: hasOnlyFonts(root) ? (own) => written(root, { own }) : null,
    title,
    description,
    alt: attribute("aria-label") ?? description ?? title,
    width: pixels(attribute("width")) ?? pixels(String(boxWidth)),
    height,
    cuts: height === null ? [] : printCuts(root, height),
    adaptsToDark: /prefers-color-scheme\s*:\s*dark/.test(source),
    hasCard: hasCard(root, boxWidth, boxHeight),
  };
}

/** Does the chart begin with a filled rectangle that covers it? */
function hasCard(root: SvgNode, width: number, height: number): boolean {
  const first = [...root.childNodes].find((node) =>
    node.nodeType === ELEMENT && !["title", "desc", "style", "defs"].includes(node.nodeName)
  );
  if (first?.nodeName !== "rect") return false;
  const given = Object.fromEntries([...first.attributes].map(({ name, value }) => [name, value]));
  return Number(given.width) >= width - 2 && Number(given.height) >= height - 2 &&
    given.fill !== undefined && given.fill !== "none";
}

/** Are its only styles the letters it brings? */
function hasOnlyFonts(root: SvgNode): boolean {
  return nodesBelow(root).every((node) =>
    node.nodeName === "style"
      ? /^(?:\s*@font-face\s*\{[^{}]*\}\s*)*$/.test(node.textContent ?? "")
      : ![...node.attributes ?? []].some(({ name }) => name.toLowerCase() === "style")
  );
}

function nodesBelow(node: SvgNode): SvgNode[] {
  if (node.nodeType !== ELEMENT) return [];
  return [node, ...[...node.childNodes].flatMap(nodesBelow)];
}

/** What a drawing is written for: a file of its own, or a place in a page, where its names are its own. */
type Place = { readonly own?: string; readonly below?: boolean };

/** Writes a node and what is allowed below it; the parser's own writer does not escape reliably. */
function written(node: SvgNode, { own, below = false }: Place = {}): string {
  if (node.nodeType === TEXT || node.nodeType === CDATA) return escapeHtml(node.nodeValue ?? "");
  if (node.nodeType !== ELEMENT) return "";
  const name = node.nodeName;
  const inner = () =>
    [...node.childNodes].map((child) => written(child, { own, below: true })).join("");
  if (UNWRAPPED.has(name)) return inner();
  if (!DRAWING.has(name)) return "";
  const attributes = [...node.attributes]
    .filter(({ name }) => below || name !== "xmlns")
    // Names of a drawing's parts that only its maker knows; in a page they would be read out.
    .filter(({ name }) => own === undefined || !below || !name.startsWith("aria-"))
    .map(({ name, value }) => ({
      name,
      value: own === undefined ? value : named(own, name, value),
    }))
    .flatMap(({ name, value }) => keptAttribute(node.nodeName, name, value));
  if (!below) attributes.unshift('xmlns="http://www.w3.org/2000/svg"');
  const open = [name, ...attributes].join(" ");
  const content = name === "style" ? escapeHtml(styles(node.textContent ?? "", own)) : inner();
  return content === "" ? `<${open}/>` : `<${open}>${content}</${name}>`;
}

function styles(css: string, own: string | undefined): string {
  const safe = safeCss(css);
  return own === undefined ? safe : safe.replace(/font-family:\s*/g, `font-family:${own}-`);
}

/** Ids, what points to them, and the fonts of one drawing among several in a page. */
function named(own: string, name: string, value: string): string {
  switch (name) {
    case "id":
      return `${own}-${value}`;
    case "aria-labelledby":
    case "aria-describedby":
      return value.split(/\s+/).map((id) => `${own}-${id}`).join(" ");
    case "font-family":
      return value === "inherit" ? value : `${own}-${value}, ${value}`;
    case "href":
    case "xlink:href":
      return value.replace(/^#/, `#${own}-`);
    default:
      return value.replace(/url\((["']?)#/g, `url($1#${own}-`);
  }
}

function keptAttribute(element: string, name: string, value: string): readonly string[] {
  const plain = name.toLowerCase();
  if (!/^(xml:)?[a-z_][\w.-]*$/i.test(name) && plain !== "xlink:href") return [];
  if (plain.startsWith("on") || plain.startsWith("xmlns")) return [];
  if (plain === "href" || plain === "xlink:href") {
    const address = value.trim();
    const inside = /^#[\w.:-]+$/.test(address);
    if (!inside && !(element === "image" && INNER_PICTURE.test(address))) return [];
    return [`href="${escapeHtml(address)}"`];
  }
  if (plain === "src" || plain === "xml:base") return [];
  const looks = plain === "style" || /url\(|\\/i.test(value);
  return [`${name}="${escapeHtml(looks ? safeCss(value) : value)}"`];
}

/** Styles without addresses that lead out of the picture. Escapes go, since they can spell `url(`. */
function safeCss(css: string): string {
  const inside = css
    .replaceAll("\\", "")
    .replace(/@import[^;]*;?/gi, "")
    .replace(/(?:url|src|image|image-set)\(\s*(["']?)(.*?)\1\s*\)/gis, (whole, _quote, address) => {
      const kept = /^#[\w.:-]+$/.test(address) || EMBEDDED_FONT.test(address) ||
        INNER_PICTURE.test(address);
      return kept ? whole : "none";
    });
  // Whatever else names a place outside. Looked for first: on a long embedded font the pattern takes its time.
  return inside.includes("://") ? inside.replace(/[^;{}]*:\/\/[^;{}]*/g, "") : inside;
}

function pixels(length: string | null): number | null {
  const match = /^(\d+(?:\.\d+)?)(px)?$/.exec(length ?? "");
  const size = match ? Number(match[1]) : 0;
  return size > 0 ? size : null;
}

/** Bytes of a text as base64, for a data address. */
export function base64(text: string): string {
  const bytes = new TextEncoder().encode(text);
  let binary = "";
  for (let at = 0; at < bytes.length; at += 0x8000) {
    binary += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  }
  return btoa(binary);
}
