import * as option from "../options.ts";
import type { WearChange } from "../studies/wear/wear_change.ts";
import { wearWords } from "../words/wear/wear_words.ts";
import type { SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";
import { axisLabel, roomy } from "./value_words.ts";
import { counted } from "../words/phrases.ts";

/**
 * Which pairs read otherwise after play than new?
 *
 * A row a pair, largest change first: worn minus new with its interval, against the smallest difference that matters;
 * all pairs' mean change first, where there is one. Rows take the height they need, whatever room there is.
 */
export function wearChart(
  wear: WearChange,
  { most = 40, width, height, ...options }: ChartOptions & {
    readonly most?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.wear", arguments[1], {
    ...chartOptions,
    most: option.whole(1),
    height: option.positive,
  });
  const { on, pairs, mean_change } = wear;
  // In a picture the mean of all pairs takes one of the rows.
  const taken = height !== undefined && mean_change.estimate !== null ? 1 : 0;
  const shown = pairs.slice(0, most - taken);
  const ends = [...shown.map(({ change }) => change), mean_change]
    .flatMap(({ estimate, lower, upper }) => [estimate, lower, upper])
    .filter((value) => value !== null);
  const margin = on.smallest_difference;
  const [low, high] = roomy([...ends, 0, ...(margin === null ? [] : [-margin, margin])]);
  return drawIntervalRows([
    ...(mean_change.estimate === null ? [] : [{
      title: `Mean of ${pairs.length} pairs`,
      intervals: [{ ...mean_change, style: "hollow" as const }],
    }]),
    ...shown.map(({ name, pair, hours, change, word }) => ({
      title: `${name}${pair === 1 ? "" : `, pair ${pair}`}, ${hours} h`,
      aside: word,
      intervals: [{ ...change, style: "filled" as const }],
    })),
  ], {
    ...options,
    width,
    title: `${on.title}: worn against new`,
    alt: wearWords(wear).alt,
    domain: [low, high],
    label: axisLabel("Worn minus new", on.unit, 300),
    bands: bandsOf(wear, low, high),
    key: [
      intervalKey("one pair"),
      ...(mean_change.estimate === null ? [] : [intervalKey("all pairs", { style: "hollow" })]),
    ],
    notes: [
      `Bars are ${Math.round(100 * wear.confidence)}% intervals; those of pairs hold together.${
        shown.length < pairs.length
          ? ` ${counted(pairs.length - shown.length, "pair is", "pairs are")} not shown.`
          : ""
      }`,
    ],
  });
}

function bandsOf({ on: { smallest_difference: margin } }: WearChange, low: number, high: number) {
  return margin === null ? [{ from: low, to: 0 }, { from: 0, to: high }] : [
    { from: low, to: -margin },
    { from: -margin, to: margin, label: "less than matters" },
    { from: margin, to: high },
  ];
}
