import type { Markish } from "@observablehq/plot";
import { atStep } from "./build_up.ts";
import { overlay, type SvgElement, svgElement } from "./draw.ts";
import { type Box, type LabelRequest, placeLabels } from "./place_labels.ts";
import { colour, type } from "./theme.ts";

/** A name beside a point, in pixels of the plot. */
export type PointLabel = LabelRequest & { readonly fill?: string };

/**
 * What writes names beside points, with leader lines where they had to go further away?
 *
 * @param points in pixels of the plot
 * @param options as for `placeLabels`
 * @returns a mark for `draw`, and the names that found no room and were left out
 */
export function labelMarks(
  points: readonly PointLabel[],
  { size = type.small, ...options }: {
    readonly bounds: Box;
    readonly obstacles?: readonly Box[];
    readonly occupied?: readonly Box[];
    readonly size?: number;
  },
): { readonly mark: Markish; readonly left_out: readonly string[] } {
  const { placed, unplaced } = placeLabels(points, { ...options, size });
  const mark = overlay(() =>
    placed.flatMap(({ index, text, x, y, leader }): SvgElement[] =>
      [
        ...(leader === null
          ? []
          : [svgElement("line", { ...leader, stroke: colour.line, "stroke-width": 1 })]),
        svgElement("text", {
          x,
          y,
          dy: "0.32em",
          "text-anchor": "start",
          "font-size": size,
          fill: points[index].fill ?? colour.ink,
          stroke: colour.card,
          "stroke-width": 3,
          "stroke-linejoin": "round",
          "paint-order": "stroke",
        }, text),
      ].map((mark) => atStep(3, mark))
    )
  );
  return { mark, left_out: unplaced.map((index) => points[index].text) };
}
