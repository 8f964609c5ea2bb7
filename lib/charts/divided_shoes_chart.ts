import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributeAgreement } from "../studies/panel/panel_agreement.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";

/**
 * Over which shoes does the panel part?
 *
 * A row a shoe, the most divided first: from the most severe adjusted rating to the most lenient, with the mean. The word on
 * the right says whether that is more than the scatter over the other shoes.
 *
 * @param options.most shoes to show
 */
export function dividedShoesChart(
  { title, divided }: Pick<AttributeAgreement, "title" | "divided">,
  { most = 10, ...options }: ChartOptions & { readonly most?: number } = {},
): SvgElement {
  option.check("charts.dividedShoes", arguments[1], { ...chartOptions, most: option.howMany });
  const heading = `Shoes the panel parts over on ${title}`;
  if (divided.length === 0) {
    return drawNothing(`No shoe has three testers or more on ${title}.`, {
      title: heading,
      ...options,
    });
  }
  const shown = divided.slice(0, most);
  const sure = divided.filter(({ found }) => found).length;
  const [low, high] = [
    Math.floor(Math.min(...shown.map((shoe) => shoe.low))),
    Math.ceil(Math.max(...shown.map((shoe) => shoe.high))),
  ];
  return drawIntervalRows(
    shown.map((shoe) => ({
      title: shoe.name,
      aside: shoe.found ? "divides the panel" : "may be chance",
      intervals: [{
        estimate: shoe.value,
        estimate_reason: null,
        lower: shoe.low,
        upper: shoe.high,
        style: shoe.found ? "filled" as const : "hollow" as const,
      }],
    })),
    {
      ...options,
      title: heading,
      alt: `On ${title}, ${
        sure === 0
          ? "no shoe divides the panel more than chance does"
          : `${sure} of ${divided.length} shoes divide the panel`
      }. Widest: ${
        shown.slice(0, 3).map((shoe) =>
          `${shoe.name} from ${shoe.low.toFixed(1)} to ${shoe.high.toFixed(1)}`
        ).join(", ")
      }.`,
      domain: [low, high > low ? high : low + 1],
      label: "Rating, leniency taken out: lowest tester, mean, highest",
      notes: [`The ${shown.length} of ${divided.length} shoes that testers part over most.`],
    },
  );
}
