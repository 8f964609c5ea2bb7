import * as option from "../options.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { type BodySlot, composeSvg, type PictureOptions } from "./compose_svg.ts";
import type { SvgElement } from "./draw.ts";

/** What a chart of an answer takes: the room it has, and how much of it to show. */
export type AnswerChart = (
  room: { readonly width: number; readonly height: number; readonly most?: number },
) => SvgElement;

/**
 * How does an answer become a picture for a video or a post?
 *
 * The chart is drawn as large as its room allows, and never so small that its text can't be read on a phone
 * held upright: before that it leaves out what tells least, and names it.
 *
 * @param chart draws the answer in the room given, showing `most` things if that is given
 * @param options as for `composeSvg`; `things` how many the chart could show
 * @returns one `<svg>` of exactly the size asked for
 * @throws {RangeError} if the size is below 480 by 480 pixels or far from every screen's shape
 */
export function answerPicture(
  chart: AnswerChart,
  { things, ...options }: Omit<PictureOptions, "scale"> & { readonly things: number },
): SvgElement {
  option.check("charts.answerPicture", arguments[1], {
    title: option.needed(option.text),
    alt: option.needed(option.text),
    provenance: option.needed(option.text),
    invented: option.needed(option.flag),
    size: option.needed(option.thing),
    things: option.needed(option.whole(1)),
  });
  const { width, height } = options.size;
  if (Math.max(width, height) > 3 * Math.min(width, height)) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `A picture is at most three times as wide as high, or as high as wide, got ${width} by ${height}`,
    );
  }
  const unit = Math.min(width, height) / 1080;
  const room = width - 112 * unit;
  // `composeSvg` draws smaller by seven parts in a hundred until the chart fits.
  const smallest = 1.6 * unit;
  const largest = Math.min(smallest / 0.93 ** 9, room / 368);
  const body = (slot: BodySlot) => {
    const whole = chart(slot);
    const factor = room / (slot.width - 32);
    if (factor > smallest * 1.01) return whole;
    // Text is as small as it may be: from here on the chart leaves out what tells least.
    let drawn = whole;
    for (let most = things - 1; heightOf(drawn) > slot.height && most > 0; most--) {
      drawn = chart({ ...slot, most });
    }
    return drawn;
  };
  return composeSvg(body, { ...options, scale: largest });
}

function heightOf(svg: SvgElement): number {
  return Number(svg.getAttribute("height"));
}
