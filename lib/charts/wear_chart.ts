import * as option from "../options.ts";
import type { WearChange } from "../studies/wear/wear_change.ts";
import { wearWords } from "../words/wear/wear_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";
import { axisLabel } from "./value_words.ts";
import { counted } from "../words/phrases.ts";

/**
 * Which pairs read otherwise after play than new?
 *
 * A row a pair, largest change first: worn minus new with its interval, against the smallest difference that matters;
 * all pairs' mean change first, where there is one. Hollow marks: can't tell.
 *
 * @param options `most` rows, after so many that an earlier picture has; `height` room in pixels
 */
export function wearChart(
  wear: WearChange,
  { most = 40, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.wear", arguments[1], {
    ...chartOptions,
    most: option.whole(1),
    after: option.whole(0),
    height: option.positive,
  });
  const { on, pairs, mean_change, confidence } = wear;
  const margin = on.smallest_difference;
  const rows = [
    ...(mean_change.estimate === null ? [] : [{
      ...mean_change,
      name: `Mean of ${counted(pairs.length, "pair")}`,
      aside: "",
      reason: null,
      style: "strong" as const,
    }]),
    ...pairs.map(({ name, pair, hours, change, word }) => ({
      ...change,
      name: `${name}${pair === 1 ? "" : `, pair ${pair}`}`,
      aside: `${hours} h, ${word}`,
      reason: change.estimate_reason,
      style: word === "can't tell" ? "open" as const : "sure" as const,
    })),
  ];
  const shown = rows.slice(after, after + most);
  const left = rows.length - after - shown.length;
  return drawLaneRows(shown, {
    ...options,
    title: `${on.title}: worn against new`,
    alt: wearWords(wear).alt,
    label: axisLabel("Worn minus new", on.unit, 300),
    lines: [0],
    band: margin === null ? null : [-margin, margin],
    notes: [
      `Bars: ${Math.round(100 * confidence)}% intervals; those of pairs hold together.${
        margin === null ? "" : " Shaded: less than matters."
      }${left === 0 ? "" : ` ${counted(left, "pair is", "pairs are")} not shown.`}`,
    ],
  });
}
