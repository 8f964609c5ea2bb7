import * as option from "../options.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { describe, type SvgElement, svgElement } from "./draw.ts";
import { textWidth, wrapText } from "./text_width.ts";
import { colour, fontFamily, space, type } from "./theme.ts";

/** Room for the body of a picture, in the body's own pixels. */
export type BodySlot = { readonly width: number; readonly height: number };

/** What makes up a picture for a video or a post. */
export type PictureOptions = {
  /** A sentence that states the finding. */
  readonly title: string;
  readonly alt: string;
  /** Data hash, rule version, trials, date: in one or two lines at the foot. */
  readonly provenance: string;
  /** Writes 'Invented data' into the picture, as large as the provenance. */
  readonly invented: boolean;
  /** In pixels, such as 1920 by 1080, 1080 by 1080 or 1080 by 1920. */
  readonly size: { readonly width: number; readonly height: number };
  /** How many times as large as on a page the body is drawn. */
  readonly scale?: number;
};

/**
 * How does a chart become a picture for a video or a post?
 *
 * A title sentence on top, the chart in the middle, provenance below, all scaled to be read on a phone. A body that comes
 * out taller than its slot is drawn again in more room at a smaller size, never cut.
 *
 * @param body draws the chart for the room it is given, at page sizes; the picture enlarges it
 * @returns one `<svg>` of exactly the size asked for
 * @throws {RangeError} if the size is below 480 by 480 pixels, or the body has more in it than can be read at that size
 */
export function composeSvg(
  body: (slot: BodySlot) => SvgElement,
  { title, alt, provenance, invented, size, scale }: PictureOptions,
): SvgElement {
  option.check("charts.composeSvg", arguments[1], {
    title: option.needed(option.text),
    alt: option.needed(option.text),
    provenance: option.needed(option.text),
    invented: option.needed(option.flag),
    size: option.needed(option.thing),
    scale: option.number,
  });
  const { width, height } = size;
  if (!(width >= 480 && height >= 480)) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `A picture is at least 480 by 480 pixels, got ${width} by ${height}`,
    );
  }
  const unit = Math.min(width, height) / 1080;
  const enlarge = scale ?? 2.2 * unit;
  const margin = 56 * unit;
  const room = width - 2 * margin;
  const svg = svgElement("svg", {
    xmlns: "http://www.w3.org/2000/svg",
    viewBox: `0 0 ${width} ${height}`,
    width,
    height,
    "font-family": fontFamily,
    fill: colour.ink,
    color: colour.ink,
  });
  svg.append(
    svgElement("rect", { width, height, fill: colour.card }),
    svgElement("rect", { width: 14 * unit, height, fill: colour.mark }),
  );

  const most = height > width ? 5 : 3;
  const sizes = [58, 52, 46, 40, 34, 30].map((px) => px * unit);
  const titleSize = sizes.find((px) => wrapText(title, room, px, "bold").length <= most) ??
    sizes.at(-1)!;
  const titleLines = wrapText(title, room, titleSize, "bold");
  titleLines.forEach((line, index) =>
    svg.append(
      svgElement("text", {
        x: margin,
        y: margin + titleSize * (0.85 + index * 1.18),
        "font-size": titleSize,
        "font-weight": 700,
      }, line),
    )
  );
  const top = margin + titleLines.length * titleSize * 1.18 + 18 * unit;

  const footSize = 26 * unit;
  const mark = invented ? "Invented data" : "";
  const markRoom = invented ? textWidth(mark, footSize, "bold") + 30 * unit : 0;
  const footLines = wrapText(provenance, room - markRoom, footSize);
  const footTop = height - margin * 0.7 - footLines.length * footSize * type.line;
  footLines.forEach((line, index) =>
    svg.append(
      svgElement("text", {
        x: margin,
        y: footTop + footSize * (1 + index * type.line),
        "font-size": footSize,
        fill: colour.quiet,
      }, line),
    )
  );
  if (invented) {
    svg.append(
      svgElement("text", {
        x: width - margin,
        y: footTop + footSize * (1 + (footLines.length - 1) * type.line),
        "font-size": footSize,
        "font-weight": 700,
        "text-anchor": "end",
        fill: colour.accent,
      }, mark),
    );
  }

  const slot = { width: room, height: footTop - top - 14 * unit };
  // The body's own margin lies outside the slot, so that its words stand under the title's.
  const drawAt = (factor: number) =>
    body({
      width: Math.floor(slot.width / factor + 2 * space.card),
      height: Math.floor(slot.height / factor + 2 * space.card),
    });
  const sizeOf = (drawn: SvgElement, name: string) => Number(drawn.getAttribute(name));
  let factor = enlarge;
  let drawn = drawAt(factor);
  for (let step = 0; step < 10; step++) {
    if ((sizeOf(drawn, "height") - 2 * space.card) * factor <= slot.height) break;
    factor *= 0.93;
    drawn = drawAt(factor);
  }
  const [own, tall] = [sizeOf(drawn, "width"), sizeOf(drawn, "height")];
  const fit = Math.min(
    factor,
    slot.width / (own - 2 * space.card),
    slot.height / (tall - 2 * space.card),
  );
  if (fit < unit) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `The chart is too tall to be read in a picture of ${width} by ${height}: its smallest text would be ${
        (type.small * fit).toFixed(1)
      } pixels; show fewer rows or ask for a taller picture`,
    );
  }
  const left = margin + (slot.width - (own - 2 * space.card) * fit) / 2 - space.card * fit;
  const free = Math.max(0, slot.height - (tall - 2 * space.card) * fit);
  // The picture has a ground of its own; the body's card would draw a box into it.
  for (const child of drawn.childNodes) {
    const element = child as SvgElement;
    if (element.localName === "rect") {
      element.remove();
      break;
    }
  }
  for (
    const [name, value] of [
      ["x", left],
      ["y", top + free / 2 - space.card * fit],
      ["width", own * fit],
      ["height", tall * fit],
    ] as const
  ) drawn.setAttribute(name, String(Math.round(value * 100) / 100));
  for (const name of ["role", "aria-labelledby"]) drawn.removeAttribute(name);
  for (const name of ["title", "desc"]) {
    for (const element of [...drawn.querySelectorAll(name)]) element.remove();
  }
  svg.append(drawn);
  return describe(svg, { title, alt });
}
