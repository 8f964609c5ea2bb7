import * as option from "../options.ts";
import type { BestShoe, BestShoes } from "../studies/questions/best_shoes.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { bestWords } from "../words/questions/best_words.ts";
import { onAxisWords } from "./on_axis_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * Which shoes may be the best?
 *
 * A row a shoe that may be among the first places, the best reading first: its value with its interval, and the places
 * it could have. Filled marks are sure of a place, hollow ones may have it.
 *
 * @param options `most` shoes to show, after so many; what is left out is counted; `height` room in pixels
 */
export function bestChart(
  result: BestShoes,
  { most = 20, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.best", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { on } = result;
  const rows = bestRows(result);
  const shown = rows.slice(after, after + most);
  const left = rows.length - after - shown.length;
  return drawLaneRows(
    shown.map((shoe) => ({
      name: shoe.name,
      // The value last, so that values stand below each other.
      aside: [
        ...placesWords(shoe, result),
        ...(result.price_below !== null && shoe.price !== null
          ? [`${shoe.price} ${shoe.currency ?? ""}`.trim()]
          : []),
        measured(shoe.value, on, shoe),
      ].join(", "),
      estimate: shoe.value,
      lower: shoe.lower,
      upper: shoe.upper,
      style: shoe.word === "among them" ? "sure" as const : "open" as const,
    })),
    {
      ...options,
      title: `The first by ${on.title}`,
      alt: bestWords(result).alt,
      label: onAxisWords(on),
      possible: on.possible,
      span: rows.flatMap(({ value, lower, upper }) => [value, lower ?? value, upper ?? value]),
      notes: [
        `Bars: ${Math.round(100 * result.confidence)}% intervals.${
          shown.some(({ word }) => word === "among them")
            ? ` Filled: surely ${result.first === 1 ? "first" : `among the first ${result.first}`}.`
            : ""
        }${left === 0 ? "" : ` ${left} more may be among them.`}`,
      ],
    },
  );
}

/** Those that may have a place; three rows at least, so that a sure first has something to stand against. */
export function bestRows({ shoes }: Pick<BestShoes, "shoes">): readonly BestShoe[] {
  const open = shoes.filter(({ word }) => word !== "not among them");
  return open.length > 2 ? open : shoes.slice(0, 3);
}

/** Only of a shoe that was tested against all others: the index tests every two, a metric those that read first. */
function placesWords(
  shoe: BestShoe,
  { shoes, first, rule }: Pick<BestShoes, "shoes" | "first" | "rule">,
): string[] {
  if (rule === null && shoes.indexOf(shoe) >= first) return [];
  const [from, to] = [1 + shoe.ahead, shoes.length - shoe.behind];
  return [from === to ? `place ${from}` : `place ${from} to ${to}`];
}
