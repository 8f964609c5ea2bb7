import type { BestShoes } from "../studies/questions/best_shoes.ts";
import type { MetricLink } from "../studies/questions/metric_link.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { signed } from "../words/prediction/prediction_numbers.ts";
import { interval, table, text } from "./report_table.ts";

/** A link's figures: every shoe that has both. */
export function linkFigures({ pair, metric, attribute }: MetricLink): string[] {
  const { spearman: rho } = pair;
  return [
    ...(rho.estimate === null ? [] : [
      `Rank correlation ${signed(rho.estimate)}${
        rho.lower === null ? "" : ` (${signed(rho.lower)} to ${signed(rho.upper!)})`
      } over ${rho.n} shoes: ${text(rho.method)}. Claim: ${pair.claim}.`,
    ]),
    table(
      ["Shoe", metric.title, attribute.title, "Lowest tester", "Highest tester"],
      pair.points.map((point) => [
        text(point.name),
        measured(point.metric_value, metric),
        measured(point.panel_value, attribute),
        measured(point.panel_low, attribute),
        measured(point.panel_high, attribute),
      ]),
    ),
  ];
}

/** The first places and all others that were looked at. */
export function bestFigures({ shoes, on, method }: BestShoes): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Place by value", "Shoe", "Value", "Interval", "Shown ahead of it", "Word", "Price"],
      shoes.map((shoe) => [
        String(shoe.place),
        text(shoe.name),
        measured(shoe.value, on),
        interval(shoe.lower, shoe.upper, on),
        String(shoe.ahead),
        shoe.word,
        shoe.price === null ? "" : text(`${shoe.price} ${shoe.currency ?? ""}`.trim()),
      ]),
    ),
  ];
}
