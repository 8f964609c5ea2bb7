import { type SvgElement, svgElement } from "./draw.ts";
import { shortenText, textWidth, wrapText } from "./text_width.ts";
import { colour } from "./theme.ts";

/** Whose picture it is. */
export type Sender = {
  readonly name: string | null;
  /** Their logo as a data URL, and its shape in pixels. */
  readonly logo: {
    readonly url: string;
    readonly width: number;
    readonly height: number;
  } | null;
};

/** What stands at the foot of a picture. */
type FootOptions = {
  readonly provenance: string;
  readonly hash?: string;
  readonly sender?: Sender;
  readonly invented: boolean;
  readonly size: { readonly width: number; readonly height: number };
};

/**
 * What stands at the foot of a picture: who sends it and where its numbers come from?
 *
 * The last line holds the sender on the left, or the provenance where there is none, and on the right 'Invented
 * data' and the data's hash. A picture that isn't wider than high has the provenance on lines of its own above.
 */
export function pictureFoot(
  { provenance, hash, sender, invented, size }: FootOptions,
  { margin, unit, textSize }: {
    readonly margin: number;
    readonly unit: number;
    readonly textSize: number;
  },
): { readonly content: readonly SvgElement[]; readonly top: number } {
  const line = textSize * 1.3;
  const room = size.width - 2 * margin;
  const baseline = size.height - 0.8 * margin;
  const right = cornerWords({ hash, invented }, { x: size.width - margin, y: baseline, textSize });
  const gap = right.width === 0 ? 0 : textSize;
  const hasSender = sender !== undefined && (sender.name !== null || sender.logo !== null);
  const beside = !hasSender && textWidth(provenance, textSize) <= room - right.width - gap;
  const above = beside || (hasSender && size.width > size.height)
    ? []
    : wrapText(provenance, room, textSize);
  const words = (text: string, y: number) =>
    svgElement("text", { x: margin, y, "font-size": textSize, fill: colour.quiet }, text);
  const left = hasSender
    ? senderMarks(sender, { x: margin, y: baseline, textSize, room: room - right.width - gap })
    : beside
    ? [words(provenance, baseline)]
    : [];
  // A logo is higher than a line of text: what stands above keeps clear of it.
  const lastLine = left.length === 0 && right.width === 0
    ? 0
    : hasSender && sender.logo !== null
    ? 1.9 * textSize
    : line;
  const first = baseline - (above.length - 1) * line - lastLine;
  const lines = above.map((text, index) => words(text, first + index * line));
  const top = (above.length > 0 ? first - textSize : baseline - Math.max(textSize, lastLine - 6)) -
    4 * unit;
  return { content: [...lines, ...left, ...right.content], top };
}

function cornerWords(
  { hash, invented }: Pick<FootOptions, "hash" | "invented">,
  { x, y, textSize }: { readonly x: number; readonly y: number; readonly textSize: number },
): { readonly content: readonly SvgElement[]; readonly width: number } {
  const mark = invented ? "Invented data" : "";
  const code = hash ?? "";
  const gap = mark !== "" && code !== "" ? textSize * 0.7 : 0;
  const [codeWidth, markWidth] = [textWidth(code, textSize), textWidth(mark, textSize, "bold")];
  const end = { y, "font-size": textSize, "text-anchor": "end" };
  return {
    width: codeWidth + gap + markWidth,
    content: [
      ...(code === "" ? [] : [svgElement("text", { x, ...end, fill: colour.quiet }, code)]),
      ...(mark === "" ? [] : [
        svgElement("text", {
          x: x - codeWidth - gap,
          ...end,
          "font-weight": 700,
          fill: colour.accent,
        }, mark),
      ]),
    ],
  };
}

/** The logo, twice as high as the text, and the name beside it. */
function senderMarks(
  { name, logo }: Sender,
  { x, y, textSize, room }: {
    readonly x: number;
    readonly y: number;
    readonly textSize: number;
    readonly room: number;
  },
): SvgElement[] {
  const high = 1.9 * textSize;
  const wide = logo === null ? 0 : Math.min(room * 0.6, high * logo.width / logo.height);
  const image = logo === null ? [] : [
    svgElement("image", {
      x,
      y: y + 0.3 * textSize - high,
      width: wide,
      height: high,
      preserveAspectRatio: "xMinYMax meet",
      href: logo.url,
    }),
  ];
  const start = wide === 0 ? 0 : wide + 0.5 * textSize;
  const words = name === null ? "" : shortenText(name, room - start, textSize, "bold");
  return [
    ...image,
    ...(words === "" ? [] : [
      svgElement("text", { x: x + start, y, "font-size": textSize, "font-weight": 700 }, words),
    ]),
  ];
}
