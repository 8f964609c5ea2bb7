import * as option from "../options.ts";
import type { CourtGap } from "../studies/questions/court_gap.ts";
import { benchFirst, courtWords } from "../words/questions/court_words.ts";
import { counted } from "../words/phrases.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * What does the bench know of a court?
 *
 * A row a court with its ratings, the one asked about first, and below them what to bench.
 *
 * @param options `most` courts to show; `height` room in pixels
 */
export function courtChart(
  result: CourtGap,
  { most = Infinity, ...options }: ChartOptions & {
    readonly most?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.court", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    height: option.positive,
  });
  const { court, courts, on } = result;
  const asked = courts.find((row) => row.court === court) ?? { court, ratings: 0, shoes: 0 };
  const rows = [asked, ...courts.filter((row) => row !== asked)].slice(0, most);
  return drawLaneRows(
    rows.map((row) => ({
      name: row.court,
      aside: row.ratings === 0 ? "no rating, no test" : [
        `${counted(row.ratings, "rating")}, ${counted(row.shoes, "shoe")}`,
        counted(row.ratings, "rating"),
      ],
      estimate: row.ratings,
      lower: 0,
      upper: row.ratings,
      style: row === asked ? "strong" as const : "sure" as const,
    })),
    {
      ...options,
      title: `What is known of ${court}`,
      alt: courtWords(result).alt,
      label: on?.attribute == null ? "Ratings by court" : `Ratings of ${on.title} by court`,
      possible: { low: 0, high: null },
      notes: [benchFirst(result)],
    },
  );
}
