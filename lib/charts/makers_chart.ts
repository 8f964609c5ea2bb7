import * as option from "../options.ts";
import type { MakerStanding } from "../studies/questions/maker_standing.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { makerWords } from "../words/questions/maker_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { onAxisWords } from "./on_axis_words.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";
import { counted } from "../words/phrases.ts";

/**
 * How do makers compare?
 *
 * A row a maker: the mean of its lines with its interval.
 *
 * @param options `most` makers to show, after so many; `height` room in pixels
 */
export function makersChart(
  result: MakerStanding,
  { most = Infinity, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.makers", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { makers, on, confidence } = result;
  const shown = makers.slice(after, after + most);
  const left = makers.length - after - shown.length;
  return drawLaneRows(
    shown.map(({ maker, value, lines }) => ({
      name: maker,
      aside: `${measured(value.estimate!, on, value)}, ${counted(lines, "line")}`,
      estimate: value.estimate,
      lower: value.lower,
      upper: value.upper,
      style: "sure" as const,
    })),
    {
      ...options,
      title: `Makers on ${on.title}`,
      alt: makerWords(result).alt,
      label: onAxisWords(on),
      span: makers.flatMap(({ value }) => [value.lower ?? [], value.upper ?? []].flat()),
      notes: [
        `Mean of each maker's lines, ${Math.round(100 * confidence)}% intervals of single makers.${
          left === 0 ? "" : ` ${counted(left, "more maker")}.`
        }`,
      ],
    },
  );
}
