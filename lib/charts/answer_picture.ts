import * as option from "../options.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { type BodySlot, composeSvg, phoneText, type PictureOptions } from "./compose_svg.ts";
import type { SvgElement } from "./draw.ts";
import { space, type } from "./theme.ts";

/**
 * What a chart of an answer takes: the room it has, how much of it to show, and how much of it an earlier picture
 * showed already.
 */
export type AnswerChart = (
  room: {
    readonly width: number;
    readonly height: number;
    readonly most?: number;
    readonly after?: number;
  },
) => SvgElement;

/** Options of an answer's picture. */
export type AnswerPictureOptions = Omit<PictureOptions, "scale" | "leastScale"> & {
  /** How many things the chart could show. */
  readonly things: number;
  /** How many things an earlier picture showed. */
  readonly after?: number;
  /** Before which things a picture begins anew, so that one picture is about one matter. */
  readonly breaks?: readonly number[];
};

/**
 * How does an answer become a picture for a video or a post?
 *
 * The chart is drawn as large as its room allows, and never so small that its text would be smaller than 9 pixels where
 * the picture is 390 wide, as on a phone held upright: before that it leaves out what tells least, and says so.
 *
 * @param chart draws the answer in the room given, showing `most` things if that is given
 * @param options as for `composeSvg`; `things` how many the chart could show
 * @returns one `<svg>` of exactly the size asked for
 * @throws {RangeError} if the size is below 480 by 480 pixels or far from every screen's shape
 */
export function answerPicture(chart: AnswerChart, options: AnswerPictureOptions): SvgElement {
  return drawnPicture(chart, options).picture;
}

/**
 * Which pictures does an answer need, so that what one can't hold stands on the next?
 *
 * @param options `pictures`: how many at most; what is still left out is counted in the last one
 */
export function answerPictures(
  chart: AnswerChart,
  { pictures, ...options }: AnswerPictureOptions & { readonly pictures: number },
): readonly SvgElement[] {
  const made: SvgElement[] = [];
  let after = 0;
  while (made.length < pictures && after < options.things) {
    const { picture, shown } = drawnPicture(chart, { ...options, after });
    made.push(picture);
    after += shown;
  }
  return made;
}

function drawnPicture(
  chart: AnswerChart,
  { things, after = 0, breaks = [], ...options }: AnswerPictureOptions,
): { readonly picture: SvgElement; readonly shown: number } {
  option.check("charts.answerPicture", options, {
    title: option.needed(option.text),
    alt: option.needed(option.text),
    provenance: option.needed(option.text),
    hash: option.text,
    sender: option.thing,
    invented: option.needed(option.flag),
    size: option.needed(option.thing),
    ground: option.text,
    series: option.listOf(option.text),
    upTo: option.whole(1),
  });
  const { width, height } = options.size;
  if (Math.max(width, height) > 3 * Math.min(width, height)) {
    throw new CantAnswer(
      { code: "no-room", width, height },
      `A picture is at most three times as wide as high, or as high as wide, got ${width} by ${height}`,
    );
  }
  // A little larger than the foot: what was found stands out from where it comes from.
  const leastScale = 1.03 * phoneText(width) / type.small;
  const end = Math.min(things, ...breaks.filter((place) => place > after));
  let shown = end - after;
  const body = ({ smallest, ...room }: BodySlot) => {
    const from = after === 0 ? room : { ...room, after };
    shown = end - after;
    let drawn = chart(end === things ? from : { ...from, most: shown });
    if (!smallest) return drawn;
    while (heightOf(drawn) > room.height && shown > 1) {
      shown--;
      drawn = chart({ ...from, most: shown });
    }
    return drawn;
  };
  const inner = width - 96 * Math.min(width, height) / 1080;
  const scale = Math.max(leastScale, inner / (400 - 2 * space.card));
  return { picture: composeSvg(body, { ...options, scale, leastScale }), shown };
}

function heightOf(svg: SvgElement): number {
  return Number(svg.getAttribute("height"));
}
