import { drawableText } from "./drawable_text.ts";
import widths from "./fonts/widths.json" with { type: "json" };

/** The two weights the kit carries. */
export type FontWeight = "regular" | "bold";

/** A character that the table lacks is taken as one em wide, which is wide rather than narrow. */
const unknownWidth = 1000;

/**
 * How wide does this text stand in the kit's font?
 *
 * The sum of the advance widths; kerning, which mostly narrows, is left out.
 *
 * @param size font size in pixels
 * @returns the width in pixels
 */
export function textWidth(text: string, size: number, weight: FontWeight = "regular"): number {
  const table: Readonly<Record<string, number>> = widths[weight];
  let thousandths = 0;
  for (const character of drawableText(text)) thousandths += table[character] ?? unknownWidth;
  return thousandths * size / 1000;
}

/**
 * How does this text break into lines no wider than this?
 *
 * Breaks at spaces; a word that is wider than a whole line is broken between characters.
 *
 * @param width in pixels
 * @param size font size in pixels
 * @returns at least one line
 */
export function wrapText(
  text: string,
  width: number,
  size: number,
  weight: FontWeight = "regular",
): string[] {
  const fits = (line: string) => textWidth(line, size, weight) <= width;
  const lines: string[] = [];
  let line = "";
  for (const word of drawableText(text).split(/\s+/).filter((part) => part !== "")) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (fits(longer)) {
      line = longer;
      continue;
    }
    if (line !== "") lines.push(line);
    line = "";
    for (const character of word) {
      if (line !== "" && !fits(line + character)) {
        lines.push(line);
        line = "";
      }
      line += character;
    }
  }
  if (line !== "" || lines.length === 0) lines.push(line);
  return lines;
}

/**
 * How does this text read when it may be no wider than this?
 *
 * @returns the text, or its beginning with an ellipsis
 */
export function shortenText(
  text: string,
  width: number,
  size: number,
  weight: FontWeight = "regular",
): string {
  const drawn = drawableText(text);
  if (textWidth(drawn, size, weight) <= width) return drawn;
  const characters = [...drawn];
  while (characters.length > 1) {
    characters.pop();
    const shorter = `${characters.join("").trimEnd()}…`;
    if (textWidth(shorter, size, weight) <= width) return shorter;
  }
  return "…";
}

/**
 * How does this text break into so many lines at most?
 *
 * @returns its lines, the last one ending in an ellipsis if there was more
 */
export function limitLines(
  text: string,
  most: number,
  width: number,
  size: number,
  weight: FontWeight = "regular",
): string[] {
  const lines = wrapText(text, width, size, weight);
  if (lines.length <= most) return lines;
  const rest = lines.slice(most - 1).join(" ");
  return [...lines.slice(0, most - 1), shortenText(rest, width, size, weight)];
}

/**
 * How do these names read in a narrow column, so that no two of them look the same?
 *
 * Names are shortened from the end; where that makes two alike, they are shortened in the middle instead, which
 * keeps an edition number at the end in sight, and if that fails too a running number is put behind.
 *
 * @returns as many names as came in, in the same order; equal names in stay equal out
 */
export function shortenApart(
  names: readonly string[],
  width: number,
  size: number,
  weight: FontWeight = "regular",
): string[] {
  const shortNames = names.map((name) => shortenText(name, width, size, weight));
  const meanings = Map.groupBy(names.keys(), (index) => shortNames[index]);
  for (const indices of meanings.values()) {
    const different = [...new Set(indices.map((index) => names[index]))];
    if (different.length === 1) continue;
    const middle = new Map(
      different.map((name) => [name, shortenMiddle(name, width, size, weight)]),
    );
    const apart = new Set(middle.values()).size === different.length;
    for (const index of indices) {
      const number = `… ${different.indexOf(names[index]) + 1}`;
      const room = width - textWidth(number, size, weight);
      shortNames[index] = apart
        ? middle.get(names[index])!
        : shortenText(names[index], room, size, weight).replace(/…$/, "") + number;
    }
  }
  return shortNames;
}

function shortenMiddle(name: string, width: number, size: number, weight: FontWeight): string {
  const characters = [...drawableText(name)];
  const most = Math.max(4, Math.floor(characters.length / 4));
  let tail = "";
  while (tail.length < most) {
    const longer = characters[characters.length - 1 - [...tail].length] + tail;
    if (textWidth(longer, size, weight) > width * 0.5) break;
    tail = longer;
  }
  const room = width - textWidth(tail, size, weight);
  const head = shortenText(characters.slice(0, -[...tail].length).join(""), room, size, weight);
  return head + tail;
}
