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
 * First the shoes they part over in the way least like chance, from the most severe tester to the most lenient, leniency
 * taken out; after these, each tester's leniency, impression by impression (`divisionRows`).
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
  const { divided, attributes, possible } = result;
  const first = Math.min(DIVIDED, divided.length);
  if (after >= first) {
    const { title, use, done } = leniencyAt(result, after - first);
    return drawLaneRows(
      use.toSorted((a, b) => (b.leniency.estimate ?? 0) - (a.leniency.estimate ?? 0))
        .slice(done, done + most)
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
        span: attributes.flatMap(({ use }) =>
          use.flatMap(({ leniency }) => [leniency.lower ?? [], leniency.upper ?? []].flat())
        ),
        notes: ["Leniency of each tester; it is taken out of everything else said of the panel."],
      },
    );
  }
  const shown = divided.slice(after, Math.min(after + most, first));
  return drawLaneRows(
    shown.map((shoe) => ({
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
      possible,
      span: divided.slice(0, first).flatMap(({ low, high }) => [low, high]),
      notes: [
        `The ${
          after === 0 ? "" : "next "
        }${shown.length} least like chance of ${divided.length} shoes and impressions with three testers or more.`,
      ],
    },
  );
}

/** Rows of divided shoes at most; what comes after them is leniency. */
const DIVIDED = 8;

/** How many rows there are in all, and before which of them a picture begins: each impression's leniency is one. */
export function divisionRows(
  { divided, attributes }: Pick<PanelDivision, "divided" | "attributes">,
): { readonly rows: number; readonly breaks: readonly number[] } {
  let rows = Math.min(DIVIDED, divided.length);
  const breaks = attributes.map(({ use }) => {
    const start = rows;
    rows += use.length;
    return start;
  });
  return { rows, breaks };
}

/** The impression whose leniency has this row, and how many of its rows come before. */
function leniencyAt({ attributes }: Pick<PanelDivision, "attributes">, row: number) {
  let before = 0;
  for (const { title, use } of attributes) {
    if (row < before + use.length) return { title, use, done: row - before };
    before += use.length;
  }
  return { ...attributes[0], done: 0 };
}
