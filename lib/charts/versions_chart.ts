import * as option from "../options.ts";
import type { IndexVersions } from "../studies/questions/index_versions.ts";
import { placesOf, versionWords } from "../words/questions/version_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * Where did a shoe stand under each version of the index?
 *
 * A row a version: the places it could have, on today's data; the first place on the left.
 *
 * @param options `height` room in pixels
 */
export function versionsChart(
  result: IndexVersions,
  options: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.versions", arguments[1], { ...chartOptions, height: option.positive });
  const { versions, name } = result;
  const last = Math.max(...versions.map(({ placed }) => placed), 2);
  return drawLaneRows(
    versions.map((row) => ({
      name: `Version ${row.version}${row.in_force ? ", today" : ""}`,
      aside: `${row.score === null ? "no score" : row.score.toFixed(2)}, ${placesOf(row)}`,
      estimate: row.rank,
      lower: row.rank_lower,
      upper: row.rank_upper,
      reason: row.score_reason,
      style: row.in_force ? "strong" as const : "sure" as const,
    })),
    {
      ...options,
      title: `${name} under every version of the index`,
      alt: versionWords(result).alt,
      label: `Place, from 1 to ${last}`,
      possible: { low: 1, high: last },
      span: [1, last],
      notes: [
        `Places that hold together over all shoes${
          versions.length === 1 ? "" : "; scores of two versions are not on one scale"
        }.`,
      ],
    },
  );
}
