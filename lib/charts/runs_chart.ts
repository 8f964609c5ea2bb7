import * as option from "../options.ts";
import type { LabelFit } from "../studies/questions/label_fit.ts";
import { labelFitWords, signedMm } from "../words/questions/label_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * Which shoes run short or long for their label?
 *
 * A row a shoe, the shortest (or longest) first, against the usual shoe, half a size step shaded.
 *
 * @param options `most` shoes to show, after so many; `height` room in pixels
 */
export function runsChart(
  result: LabelFit,
  { most = 12, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.runs", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { shoes, half_step_mm: half } = result;
  const shown = shoes.slice(after, after + most);
  const left = shoes.length - after - shown.length;
  return drawLaneRows(
    shown.map(({ name, against_usual_mm: against, lower, upper, word }) => ({
      name,
      aside: `${signedMm(against)}, ${word}`,
      estimate: against,
      lower,
      upper,
      style: word === "runs short" || word === "runs long"
        ? "strong" as const
        : word === "can't tell"
        ? "open" as const
        : "sure" as const,
    })),
    {
      ...options,
      title: "Inside length against the label",
      alt: labelFitWords(result).alt,
      label: "Inside length for its label, against the usual shoe (mm)",
      band: [-half, half],
      lines: [0],
      notes: [
        `Shaded: within half a size step of the usual. Intervals hold together.${
          left === 0 ? "" : ` ${left} more shoes.`
        }`,
      ],
    },
  );
}
