import type { ComparedOn } from "../studies/comparison/compared_on.ts";
import { unitWords } from "../words/unit_words.ts";
import { betterWords } from "./better_words.ts";
import type { SvgElement } from "./draw.ts";
import { laneText } from "./lane_marks.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { colour, type } from "./theme.ts";

/** From this width on a heading takes one line. */
export const WIDE = 400;

/**
 * What stands above an axis: the metric with its unit, and which way is better?
 *
 * In a wide place it takes one line, of which the unit and which way is better stay whole; in a narrow one up to three.
 *
 * @param better in other words than `betterWords`, for an axis that stands upright
 */
export function axisHeading(
  on: Pick<ComparedOn, "title" | "unit" | "better">,
  width: number,
  better: string = betterWords(on),
): { readonly content: readonly SvgElement[]; readonly height: number } {
  const unit = on.unit === null ? " (points)" : ` (${unitWords(on.unit)})`.replace(" ()", "");
  const betterRoom = textWidth(better, type.small) + 16;
  const fits = textWidth(on.title + unit, type.label, "bold") + betterRoom <= width;
  const beside = fits || width >= WIDE;
  const room = width - betterRoom - textWidth(unit, type.label, "bold");
  const lines = width < WIDE || fits
    ? limitLines(on.title + unit, 2, width, type.label, "bold")
    : [shortenText(on.title, room, type.label, "bold") + unit];
  return {
    content: [
      ...lines.map((line, index) =>
        laneText(line, { x: 0, y: 9 + 18 * index, size: type.label, weight: "bold" })
      ),
      laneText(better, {
        x: beside ? width : 0,
        y: beside ? 9 : 7 + 18 * lines.length,
        anchor: beside ? "end" : "start",
        fill: colour.quiet,
      }),
    ],
    height: 18 * lines.length + (beside ? 0 : 16),
  };
}
