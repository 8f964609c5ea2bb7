import * as option from "../options.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { describe, type SvgElement, svgElement } from "./draw.ts";
import { buildUp, LAST_STEP } from "./build_up.ts";
import { pictureFoot, type Sender } from "./picture_foot.ts";
import { type PictureGround, plateOpacity, recolour } from "./picture_ground.ts";
import { wrapText } from "./text_width.ts";
import { colour, fontFamily, space, type } from "./theme.ts";

/** Room for the body of a picture, in the body's own pixels. */
export type BodySlot = {
  readonly width: number;
  readonly height: number;
  /** True where the body can't be drawn smaller any more: what doesn't fit has to be left out. */
  readonly smallest: boolean;
};

/** What makes up a picture for a video or a post. */
export type PictureOptions = {
  /** A sentence that states the finding. */
  readonly title: string;
  readonly alt: string;
  /** Rule version, trials, date: in a line at the foot. */
  readonly provenance: string;
  /** Short hash of the data, in the corner. */
  readonly hash?: string;
  /** Whose picture it is; stands at the foot where the provenance stands without. */
  readonly sender?: Sender;
  /** Writes 'Invented data' into the picture, as large as the provenance. */
  readonly invented: boolean;
  /** In pixels, such as 1920 by 1080, 1080 by 1080 or 1080 by 1920. */
  readonly size: { readonly width: number; readonly height: number };
  /** What it stands on; light unless given. */
  readonly ground?: PictureGround;
  /** Colours of up to six series in place of the kit's. */
  readonly series?: readonly string[];
  /** How far it is built up, from 1 to 4: what comes later is left out, and the title comes last. */
  readonly upTo?: number;
  /** How many times as large as on a page the body is drawn. */
  readonly scale?: number;
  /** How many times as large as on a page it is drawn at least, unless it fits in no other way. */
  readonly leastScale?: number;
};

/** The width of a phone held upright, in its own pixels, and the smallest text that is read there at a glance. */
const PHONE = { width: 390, text: 9 } as const;

/**
 * How large is the smallest text of a picture that is read on a phone held upright?
 *
 * @param width of the picture
 * @returns the size in the picture's pixels that comes to 9 pixels where the picture is 390 wide
 */
export function phoneText(width: number): number {
  return Math.ceil(100 * PHONE.text * width / PHONE.width) / 100;
}

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
  options: PictureOptions,
): SvgElement {
  option.check("charts.composeSvg", arguments[1], {
    title: option.needed(option.text),
    alt: option.needed(option.text),
    provenance: option.needed(option.text),
    hash: option.text,
    sender: option.thing,
    invented: option.needed(option.flag),
    size: option.needed(option.thing),
    ground: option.oneOf("light", "dark", "transparent"),
    series: option.listOf(option.text),
    upTo: option.whole(1),
    scale: option.number,
    leastScale: option.number,
  });
  const { title, alt, size: { width, height } } = options;
  if (!(width >= 480 && height >= 480)) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `A picture is at least 480 by 480 pixels, got ${width} by ${height}`,
    );
  }
  const unit = Math.min(width, height) / 1080;
  const margin = 48 * unit;
  const head = titleLines(title, { width, height, margin, unit });
  const foot = pictureFoot(options, { margin, unit, textSize: phoneText(width) });
  const slot = {
    left: margin,
    top: head.bottom,
    width: width - 2 * margin,
    height: foot.top - 12 * unit - head.bottom,
  };
  if (slot.height < 60 * unit) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `The words above and below the chart fill a picture of ${width} by ${height}; ask for a taller ` +
        "picture or fewer shoes, or shorten their names and the titles",
    );
  }
  const svg = svgElement(
    "svg",
    {
      xmlns: "http://www.w3.org/2000/svg",
      viewBox: `0 0 ${width} ${height}`,
      width,
      height,
      "font-family": fontFamily,
      fill: colour.ink,
      color: colour.ink,
    },
    ...groundMarks(options.ground ?? "light", { width, height, unit }),
    ...head.content,
    ...foot.content,
  );
  svg.append(placed(fitted(body, slot, { ...options, unit }), slot, { width, height, unit }));
  buildUp(svg, options.upTo ?? LAST_STEP);
  recolour(svg, { ground: options.ground ?? "light", series: options.series });
  return describe(svg, { title, alt });
}

/** A whole ground with a bar of colour, or a plate that footage shows through and around. */
function groundMarks(
  ground: PictureGround,
  { width, height, unit }: {
    readonly width: number;
    readonly height: number;
    readonly unit: number;
  },
): SvgElement[] {
  if (ground === "transparent") {
    const edge = 12 * unit;
    return [
      svgElement("rect", {
        x: edge,
        y: edge,
        width: width - 2 * edge,
        height: height - 2 * edge,
        rx: 24 * unit,
        fill: colour.card,
        "fill-opacity": String(plateOpacity),
      }),
    ];
  }
  return [
    svgElement("rect", { width, height, fill: colour.card }),
    svgElement("rect", { width: 12 * unit, height, fill: colour.mark }),
  ];
}

type Slot = {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
};

/** The largest title that leaves the chart its room; never smaller than the chart's own text. */
function titleLines(
  title: string,
  { width, height, margin, unit }: {
    readonly width: number;
    readonly height: number;
    readonly margin: number;
    readonly unit: number;
  },
): { readonly content: readonly SvgElement[]; readonly bottom: number } {
  const most = height > width ? 5 : width > height ? 2 : 3;
  const least = 1.1 * phoneText(width);
  const sizes = [64, 58, 52, 46, 40, 34, 30].map((px) => px * unit).filter((px) => px > least);
  const room = width - 2 * margin;
  const size = sizes.find((px) => wrapText(title, room, px, "bold").length <= most) ?? least;
  const lines = wrapText(title, room, size, "bold");
  const content = lines.map((line, index) =>
    svgElement("text", {
      x: margin,
      y: 0.85 * margin + size * (0.85 + index * 1.16),
      "font-size": size,
      "font-weight": 700,
      "data-step": LAST_STEP,
    }, line)
  );
  return { content, bottom: 0.85 * margin + lines.length * size * 1.16 + 14 * unit };
}

/** The body as large as it fits, from the largest size asked for down to the least. */
function fitted(
  body: (slot: BodySlot) => SvgElement,
  slot: Slot,
  { scale, leastScale = 0, unit }: {
    readonly scale?: number;
    readonly leastScale?: number;
    readonly unit: number;
  },
): { readonly drawn: SvgElement; readonly factor: number } {
  const drawAt = (factor: number, smallest: boolean) =>
    // The body's own margin lies outside the slot, so that its words stand under the title's.
    body({
      width: Math.floor(slot.width / factor + 2 * space.card),
      height: Math.floor(slot.height / factor + 2 * space.card),
      smallest,
    });
  let factor = scale ?? 2.2 * unit;
  for (let step = 0; step < 10; step++) {
    const smallest = factor <= leastScale * 1.001;
    const drawn = drawAt(factor, smallest);
    const fits = (lengthOf(drawn, "height") - 2 * space.card) * factor <= slot.height + 0.5;
    if (fits || smallest) return { drawn, factor };
    factor = Math.max(leastScale, factor * 0.93);
  }
  return { drawn: drawAt(factor, true), factor };
}

/** Sets the body into its slot, without the card of a page. */
function placed(
  { drawn, factor }: { readonly drawn: SvgElement; readonly factor: number },
  slot: Slot,
  { width, height, unit }: {
    readonly width: number;
    readonly height: number;
    readonly unit: number;
  },
): SvgElement {
  const [own, tall] = [lengthOf(drawn, "width"), lengthOf(drawn, "height")];
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
  const free = Math.max(0, slot.height - (tall - 2 * space.card) * fit);
  for (
    const [name, value] of [
      ["x", slot.left + (slot.width - (own - 2 * space.card) * fit) / 2 - space.card * fit],
      // What room is left lies mostly below: a chart belongs to its title.
      ["y", slot.top + free * 0.12 - space.card * fit],
      ["width", own * fit],
      ["height", tall * fit],
    ] as const
  ) drawn.setAttribute(name, String(Math.round(value * 100) / 100));
  // It fits as it is; a clip around it would double the time of a PNG.
  drawn.setAttribute("overflow", "visible");
  // The picture has a ground of its own; the body's card would draw a box into it.
  for (const child of drawn.childNodes) {
    const element = child as SvgElement;
    if (element.localName === "rect") {
      element.remove();
      break;
    }
  }
  for (const name of ["role", "aria-labelledby"]) drawn.removeAttribute(name);
  for (const name of ["title", "desc"]) {
    for (const element of [...drawn.querySelectorAll(name)]) element.remove();
  }
  return drawn;
}

function lengthOf(svg: SvgElement, name: "width" | "height"): number {
  return Number(svg.getAttribute(name));
}
