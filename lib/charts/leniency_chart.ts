import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributeAgreement } from "../studies/panel/panel_agreement.ts";
import { sayReason } from "../words/reasons.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";

/**
 * Who rates high, who rates low, and who uses the whole scale?
 *
 * A row a tester: how much higher than the panel on the same shoes, with its interval. The word on the right says how far
 * the tester spreads shoes that the others spread by 1.
 */
export function leniencyChart(
  { title, use }: Pick<AttributeAgreement, "title" | "use">,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.leniency", arguments[1], chartOptions);
  const heading = `Leniency on ${title}`;
  if (use.length === 0) {
    return drawNothing(`Nobody has rated ${title} yet.`, { title: heading, ...options });
  }
  const rows = use.toSorted((a, b) =>
    (b.leniency.estimate ?? -Infinity) - (a.leniency.estimate ?? -Infinity) ||
    (a.tester < b.tester ? -1 : 1)
  );
  const ends = rows.flatMap(({ leniency: { lower, upper } }) => [lower ?? 0, upper ?? 0]);
  const reach = Math.max(0.5, Math.ceil(2 * Math.max(...ends.map(Math.abs))) / 2);
  const lenient = rows[0];
  const severe = rows.findLast(({ leniency }) => leniency.estimate !== null) ?? lenient;
  return drawIntervalRows(
    rows.map(({ tester, ratings, leniency, range }) => ({
      title: `${tester} (${ratings} ratings)`,
      aside: range.estimate === null ? undefined : `range ×${range.estimate.toFixed(2)}`,
      intervals: [{ ...leniency, style: "filled" as const }],
    })),
    {
      ...options,
      title: heading,
      alt: lenient.leniency.estimate === null
        ? `Leniency on ${title} can't be told: ${sayReason(lenient.leniency.estimate_reason!)}.`
        : `On ${title}, ${lenient.tester} rates ${
          signed(lenient.leniency.estimate)
        } against the panel and ${severe.tester} ${signed(severe.leniency.estimate ?? 0)}.`,
      domain: [-reach, reach],
      label: "Above the panel on the same shoes, rating points",
      tickFormat: (value) => value < 0 ? `−${-value}` : String(value),
      bands: [
        { from: -reach, to: 0, label: "more severe" },
        { from: 0, to: reach, label: "more lenient" },
      ],
      notes: ["Range: above ×1 the tester spreads shoes further than the panel does."],
    },
  );
}

function signed(value: number): string {
  return `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(1)}`;
}
