import * as option from "../options.ts";
import type { PanelDivision } from "../studies/questions/panel_division.ts";
import { dividedWords, panelDivisionWords } from "../words/questions/panel_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";
import { midSentence } from "../words/phrases.ts";

/**
 * Over what do testers part?
 *
 * First the shoes they part over most, from the most severe tester to the most lenient, leniency taken out; after these,
 * each tester's leniency.
 *
 * @param options `most` rows to show, after so many; `height` room in pixels
 */
export function divisionChart(
  result: PanelDivision,
  { most = Infinity, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.division", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { alt } = panelDivisionWords(result);
  const { divided, attributes } = result;
  if (after > 0 || divided.length === 0) {
    const [{ title, use }] = attributes;
    return drawLaneRows(
      use.toSorted((a, b) => (b.leniency.estimate ?? 0) - (a.leniency.estimate ?? 0)).slice(0, most)
        .map(({ tester, ratings, leniency }) => ({
          name: tester,
          aside: `${ratings} ratings`,
          estimate: leniency.estimate,
          lower: leniency.lower,
          upper: leniency.upper,
          reason: leniency.estimate_reason,
          style: "sure" as const,
        })),
      {
        ...options,
        title: `Leniency on ${title}`,
        alt,
        label: `${title}: above the panel on the same shoes, rating points`,
        lines: [0],
        notes: ["Leniency of each tester; it is taken out of everything else said of the panel."],
      },
    );
  }
  return drawLaneRows(
    divided.slice(0, Math.min(most, DIVIDED)).map((shoe) => ({
      name: shoe.name,
      aside: attributes.length === 1
        ? dividedWords(shoe)
        : `${midSentence(shoe.title)}: ${dividedWords(shoe)}`,
      estimate: shoe.value,
      lower: shoe.low,
      upper: shoe.high,
      style: shoe.found ? "strong" as const : "open" as const,
    })),
    {
      ...options,
      title: "What divides the panel",
      alt,
      label: "Rating, leniency taken out: lowest tester, mean, highest",
      notes: [`The widest of ${divided.length} shoes and impressions with three testers or more.`],
    },
  );
}

/** Rows of divided shoes at most; what comes after them is leniency. */
export const DIVIDED = 8;
