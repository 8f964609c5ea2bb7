import * as option from "../options.ts";
import type { SizeChange } from "../studies/questions/size_change.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { footWords, sizeWords } from "../words/questions/size_words.ts";
import { unitWords } from "../words/unit_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * What does another size change?
 *
 * A row a pair in another size: its reading minus that of the published size, with its interval.
 *
 * @param options `most` pairs to show; `height` room in pixels
 */
export function sizesChart(
  result: SizeChange,
  { most = Infinity, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.sizes", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { on, pairs } = result;
  const unit = unitWords(on.unit ?? "");
  return drawLaneRows(
    pairs.slice(after, after + most).map(({ name, foot_mm, change, word }) => ({
      name,
      aside: [
        ...(change.estimate === null
          ? []
          : [`${measured(change.estimate, on, change)}, ${footWords({ foot_mm })}`]),
        footWords({ foot_mm }),
      ],
      estimate: change.estimate,
      lower: change.lower,
      upper: change.upper,
      style: word === "changes" ? "strong" as const : "open" as const,
    })),
    {
      ...options,
      title: `${on.title} in another size`,
      alt: sizeWords(result).alt,
      label: `Change from the published size${unit === "" ? "" : ` (${unit})`}`,
      lines: [0],
      notes: ["Pairs of one model in two sizes; intervals hold together."],
    },
  );
}
