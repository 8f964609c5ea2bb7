import { createHash } from "node:crypto";
import * as Plot from "@observablehq/plot";
import { parseHTML } from "linkedom";
import { type ChartOptions, colour, fontFamily, pageWidth, space, type } from "./theme.ts";
import { drawableText } from "./drawable_text.ts";
import { textWidth, wrapText } from "./text_width.ts";

/** What the kit uses of an element; a browser's `SVGElement` and linkedom's both are one. */
export type SvgElement = {
  readonly outerHTML: string;
  readonly nodeType: number;
  readonly localName: string;
  readonly childNodes: Iterable<SvgNode>;
  readonly attributes: Iterable<{ readonly name: string; readonly value: string }>;
  textContent: string | null;
  getAttribute(name: string): string | null;
  setAttribute(name: string, value: string): void;
  removeAttribute(name: string): void;
  append(...nodes: (SvgElement | string)[]): void;
  remove(): void;
  querySelectorAll(selector: string): Iterable<SvgElement>;
};

/** A node below an element: another element, or text. */
export type SvgNode = Pick<SvgElement, "nodeType" | "textContent">;

/** A line of the key above a chart: a mark as it stands in the chart, and its meaning. */
export type KeyEntry = {
  readonly label: string;
  /** Draws the mark around the origin, in a box of 16 by 16 pixels. */
  readonly mark: SvgElement;
};

/** Plot's options without those that would make an HTML figure of the picture, and with the kit's own. */
export type DrawOptions =
  & Omit<
    Plot.PlotOptions,
    "title" | "subtitle" | "caption" | "figure" | "document" | "className" | "style" | "width"
  >
  & ChartOptions
  & {
    /** The finding in a sentence or two, for a reader who can't see the picture. */
    readonly alt: string;
    /** A short name of the picture; its first sentence when left out. */
    readonly title?: string;
    readonly key?: readonly KeyEntry[];
    /** Lines below the chart: how to read it, what was left out. */
    readonly notes?: readonly string[];
  };

const { document } = parseHTML("<!doctype html><html><body></body></html>") as unknown as {
  document: NonNullable<Plot.PlotOptions["document"]> & {
    createElement(name: string): unknown;
    createElementNS(space: string, name: string): SvgElement;
  };
};

// Plot paints the ramp of a continuous colour legend on a canvas, which this document has not got. The stub makes a
// picture of nothing of it, so that a forgotten legend costs a grey bar and not the whole chart.
const createElement = document.createElement.bind(document);
document.createElement = (name: string) =>
  name === "canvas"
    ? {
      width: 0,
      height: 0,
      getContext: () => ({ fillRect() {}, fillStyle: "" }),
      toDataURL: () =>
        "data:image/gif;base64,R0lGODlhAQABAIAAAMLCwgAAACH5BAAAAAAALAAAAAABAAEAAAICRAEAOw==",
    }
    : createElement(name);

const svgNamespace = "http://www.w3.org/2000/svg";

/**
 * What makes an SVG element with these attributes?
 *
 * @param text set as text, never as markup, so that a name from the data stays inert
 */
export function svgElement(
  name: string,
  attributes: Readonly<Record<string, string | number>> = {},
  ...children: (SvgElement | string)[]
): SvgElement {
  const element = document.createElementNS(svgNamespace, name);
  for (const [key, value] of Object.entries(attributes)) {
    element.setAttribute(key, typeof value === "number" ? shortNumber(value) : value);
  }
  const written = (text: string) =>
    name === "text" ? drawableText(legalText(text)) : legalText(text);
  element.append(...children.map((child) => typeof child === "string" ? written(child) : child));
  return element;
}

/**
 * How does one picture of the kit come about?
 *
 * `Plot.plot` with the kit's document and theme, set on a card: heading and key above, notes and provenance
 * below. The result is always a bare `<svg>`, with `xmlns`, a title, a description and an accessible role, and the same
 * input gives the same bytes. Write a new chart as a function `(result, options) => draw({alt, …})`.
 *
 * @returns the `<svg>`, at its full size in pixels
 * @throws {RangeError} if `alt` is blank or the width is below 200 pixels
 */
export function draw(options: DrawOptions): SvgElement {
  const { alt, title, width = pageWidth, heading, key, notes, provenance, invented, ...plot } =
    options;
  if (!(width >= 200)) throw new RangeError(`A chart needs a width of 200 or more, got ${width}`);
  const inner = width - 2 * space.card;
  const body = barePlot({
    marginTop: 20,
    marginRight: 12,
    marginBottom: 44,
    ...plot,
    width: inner,
  });
  const height = Number(body.getAttribute("height"));
  for (const style of [...body.querySelectorAll("style")]) style.remove();
  return drawCard({ alt, title, width, heading, key, notes, provenance, invented }, {
    height,
    content: [...body.childNodes] as SvgElement[],
    attributes: { "text-anchor": "middle" },
  });
}

/** Plot's own drawing, in the kit's document; its scales can be asked for. */
export function barePlot(
  options: Omit<Plot.PlotOptions, "document">,
): SvgElement & Pick<Plot.Plot, "scale"> {
  return Plot.plot({ ...options, document }) as unknown as SvgElement & Pick<Plot.Plot, "scale">;
}

/**
 * What does a chart show when there is nothing to show?
 *
 * @param words why it is empty, as a sentence
 * @returns a card with these words, of the same kind as any chart
 */
export function drawNothing(
  words: string,
  { title, width = pageWidth, ...options }: ChartOptions & { readonly title?: string } = {},
): SvgElement {
  const lines = wrapText(words, width - 2 * space.card - 32, type.label);
  const step = type.label * type.line;
  const height = Math.max(96, lines.length * step + 48);
  const first = (height - (lines.length - 1) * step) / 2;
  const content = lines.map((line, index) =>
    svgElement("text", {
      x: (width - 2 * space.card) / 2,
      y: first + index * step,
      dy: "0.32em",
      "text-anchor": "middle",
      "font-size": type.label,
      fill: colour.quiet,
    }, line)
  );
  return drawCard({ alt: words, title, width, ...options }, { height, content });
}

/**
 * What sets a drawing of our own on the kit's card?
 *
 * @param body what to draw, its origin at the card's inner corner, and its height in pixels
 */
export function drawCard(
  { alt, title, width = pageWidth, heading, key = [], notes = [], provenance, invented = false }:
    & Pick<DrawOptions, "alt" | "title" | "key" | "notes">
    & ChartOptions,
  body: {
    readonly height: number;
    readonly content: readonly SvgElement[];
    readonly attributes?: Readonly<Record<string, string | number>>;
  },
): SvgElement {
  if (alt.trim() === "") throw new RangeError("A chart needs an alt text that states its finding");
  const inner = width - 2 * space.card;
  const above = svgElement("g");
  const below = svgElement("g");

  let top: number = space.card;
  const mark = invented ? "Invented data" : "";
  if (heading !== undefined) {
    top = writeLines(above, wrapText(heading, inner, type.heading, "bold"), {
      x: space.card,
      y: top,
      size: type.heading,
      attributes: { "font-weight": 700 },
    }) + space.gap;
  }
  top = writeKey(above, key, { y: top, width: inner });

  let bottom = top + body.height;
  const feet = [
    ...notes.map((note) => ({ text: note, fill: colour.quiet, weight: 400 })),
    ...(provenance === undefined ? [] : [{ text: provenance, fill: colour.quiet, weight: 400 }]),
    ...(mark === "" ? [] : [{ text: mark, fill: colour.accent, weight: 700 }]),
  ];
  if (feet.length > 0) bottom += space.gap / 2;
  for (const { text, fill, weight } of feet) {
    bottom =
      writeLines(below, wrapText(text, inner, type.note, weight === 700 ? "bold" : "regular"), {
        x: space.card,
        y: bottom,
        size: type.note,
        attributes: { fill, "font-weight": weight },
      }) + 3;
  }
  const height = Math.ceil(bottom + space.card - 4);

  const svg = svgElement("svg", {
    xmlns: svgNamespace,
    viewBox: `0 0 ${width} ${height}`,
    width,
    height,
    role: "img",
    "font-family": fontFamily,
    "font-size": type.tick,
    fill: colour.ink,
    color: colour.ink,
  });
  svg.append(
    svgElement("rect", {
      x: 0.5,
      y: 0.5,
      width: width - 1,
      height: height - 1,
      rx: space.corner,
      fill: colour.card,
      stroke: colour.edge,
    }),
    above,
    svgElement(
      "g",
      { transform: `translate(${space.card},${top})`, ...body.attributes },
      ...body.content,
    ),
    below,
  );
  return describe(svg, { title: title ?? firstSentence(alt), alt });
}

/**
 * What lets a chart draw by hand among Plot's marks?
 *
 * @param paint gets Plot's scales, which turn data into pixels, and returns what to add
 */
export function overlay(
  paint: (
    scale: {
      readonly x: (value: number | string) => number;
      readonly y: (value: number | string) => number;
    },
  ) => readonly SvgElement[],
): Plot.Markish {
  const render: Plot.RenderFunction = (_index, scales) =>
    svgElement("g", {}, ...paint(scales as never)) as unknown as ReturnType<Plot.RenderFunction>;
  return render;
}

/**
 * What makes an `<svg>` speak to a reader who can't see it?
 *
 * Puts `<title>` and `<desc>` first and names them in `aria-labelledby`. Every id in the picture is made from the
 * picture's own content, so ids don't clash on a page and don't depend on what was drawn before.
 *
 * @returns the same element
 */
export function describe(
  svg: SvgElement,
  { title, alt }: { readonly title: string; readonly alt: string },
): SvgElement {
  tidy(svg);
  const ids = [...svg.querySelectorAll("[id]")];
  ids.forEach((element, index) => rename(svg, element, `part-${index}`));
  const digest = createHash("sha256").update(`${title}\n${alt}\n${svg.outerHTML}`).digest("hex");
  const unique = `c${digest.slice(0, 12)}`;
  ids.forEach((element, index) => rename(svg, element, `${unique}-part-${index}`));

  const [head, description] = [`${unique}-title`, `${unique}-desc`];
  const children = [...svg.childNodes] as SvgElement[];
  svg.append(
    svgElement("title", { id: head }, title),
    svgElement("desc", { id: description }, alt),
    ...children,
  );
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-labelledby", `${head} ${description}`);
  return svg;
}

/** What in a text XML can't hold, or would move other text about, comes out as a blank or a replacement mark. */
export function legalText(text: string): string {
  return text
    .replace(/\s+/g, " ")
    // deno-lint-ignore no-control-regex
    .replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff]/g, "")
    .toWellFormed();
}

function writeLines(
  group: SvgElement,
  lines: readonly string[],
  { x, y, size, attributes }: {
    readonly x: number;
    readonly y: number;
    readonly size: number;
    readonly attributes: Readonly<Record<string, string | number>>;
  },
): number {
  const step = size * type.line;
  lines.forEach((line, index) =>
    group.append(
      svgElement("text", { x, y: y + index * step + size, "font-size": size, ...attributes }, line),
    )
  );
  return y + lines.length * step;
}

function writeKey(
  group: SvgElement,
  key: readonly KeyEntry[],
  { y, width }: { readonly y: number; readonly width: number },
): number {
  if (key.length === 0) return y;
  const [box, gap, step] = [22, 18, type.note * 1.7];
  let [x, line] = [0, y + step / 2];
  for (const { label, mark } of key) {
    const lines = wrapText(label, width - box, type.note);
    const wide = box + Math.max(...lines.map((part) => textWidth(part, type.note)));
    if (x > 0 && x + wide > width) [x, line] = [0, line + step];
    group.append(
      svgElement("g", { transform: `translate(${space.card + x + 8},${line})` }, mark),
    );
    lines.forEach((part, index) => {
      if (index > 0) line += type.note * type.line;
      group.append(
        svgElement("text", {
          x: space.card + x + box,
          y: line,
          dy: "0.32em",
          "font-size": type.note,
          fill: colour.quiet,
        }, part),
      );
    });
    x += wide + gap;
  }
  return line + step / 2 + 2;
}

function firstSentence(text: string): string {
  return /^.*?[.!?](?=\s|$)/.exec(text)?.[0] ?? text;
}

/** Rounds coordinates to a hundredth of a pixel and takes out what XML forbids, wherever it came from. */
function tidy(svg: SvgElement): void {
  const numeric = new Set(
    "d transform x y x1 x2 y1 y2 cx cy r rx ry width height dx dy points stroke-width font-size"
      .split(" "),
  );
  for (const element of svg.querySelectorAll("*")) {
    for (const { name, value } of [...element.attributes]) {
      if (numeric.has(name)) {
        element.setAttribute(
          name,
          value.replace(/-?\d+\.\d{3,}(e-?\d+)?/g, (number) => shortNumber(Number(number))),
        );
      } else if (name === "class") element.removeAttribute(name);
    }
    const nodes = [...element.childNodes];
    if (nodes.length === 1 && nodes[0].nodeType === 3) {
      const text = element.textContent ?? "";
      const isDrawn = element.localName === "text" || element.localName === "tspan";
      const written = isDrawn ? drawableText(legalText(text)) : legalText(text);
      if (written !== text) element.textContent = written;
    }
  }
}

function rename(svg: SvgElement, element: SvgElement, id: string): void {
  const old = element.getAttribute("id")!;
  element.setAttribute("id", id);
  for (
    const name of [
      "clip-path",
      "marker-start",
      "marker-mid",
      "marker-end",
      "fill",
      "stroke",
      "mask",
    ]
  ) {
    for (const user of svg.querySelectorAll(`[${name}]`)) {
      if (user.getAttribute(name) === `url(#${old})`) user.setAttribute(name, `url(#${id})`);
    }
  }
}

function shortNumber(value: number): string {
  return String(Math.round(value * 100) / 100 + 0);
}
