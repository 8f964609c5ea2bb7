import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributePrediction } from "../studies/prediction/types.ts";
import { sayReason } from "../words/reasons.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";
import { percent } from "../words/phrases.ts";

/**
 * Whose is what the metrics explain together of one impression?
 *
 * A row a metric, largest share first: its part of R², averaged over all orderings, with its interval; a shaded stretch
 * from zero to what a useless metric gets by chance. With `rows` only so many are drawn. Beside the name its variance inflation, where it is above 2.
 */
export function predictionSharesChart(
  { title: attribute, model }: Pick<AttributePrediction, "title" | "model">,
  { rows = Infinity, ...options }: ChartOptions & { readonly rows?: number } = {},
): SvgElement {
  option.check("charts.predictionShares", arguments[1], { ...chartOptions, rows: option.howMany });
  const title = `What is explained of ${attribute}, metric by metric`;
  const shares = model?.shares;
  if (shares === undefined || shares.metrics.length === 0) {
    return drawNothing(
      `No metric has a share in ${attribute}: ${
        sayReason(shares?.reason ?? { code: "not-modelled" })
      }.`,
      { title, ...options },
    );
  }
  const chance = shares.by_chance ?? 0;
  const most = Math.max(
    chance,
    ...shares.metrics.flatMap(({ share, upper }) => [share, upper ?? 0]),
  );
  const step = most > 0.5 ? 0.2 : most > 0.2 ? 0.1 : 0.05;
  const end = Math.min(1, Math.ceil((most + 1e-9) / step) * step);
  const [first] = shares.metrics;
  const shown = shares.metrics.slice(0, rows);
  const rest = shares.metrics.slice(rows);
  return drawIntervalRows(
    shown.map(({ title, share, lower, upper, inflation, inflation_reason }) => ({
      title,
      aside: inflation === null
        ? `overlap unknown: ${sayReason(inflation_reason!)}`
        : inflation > 2
        ? `overlaps others: variance × ${inflation.toFixed(1)}`
        : undefined,
      intervals: [{ estimate: share, estimate_reason: null, lower, upper }],
    })),
    {
      ...options,
      title,
      alt: `In a fit to these ${model!.n} shoes, ${first.title} accounts for ${
        percent(first.share)
      }${
        first.lower === null || first.upper === null
          ? ""
          : ` (${percent(first.lower)} to ${percent(first.upper)})`
      } of the differences in ${attribute}, the most of ${shares.metrics.length} metrics; a useless one gets ${
        percent(chance)
      } by chance.`,
      domain: [0, end],
      label: "Share of the differences between shoes",
      ticks: Array.from({ length: Math.round(end / step) + 1 }, (_, i) => i * step),
      tickFormat: percent,
      // Every other band is shaded; one too narrow to be seen is left to the note.
      bands: chance / end < 0.01 ? [] : [{ from: chance, to: end }, { from: 0, to: chance }],
      key: [intervalKey("share")],
      notes: [
        `Bars are ${Math.round(shares.confidence * 100)}% intervals over ${
          model!.n
        } shoes. Shaded: what a useless metric gets by chance, ${percent(chance)} on average.`,
        `The shares add up to ${
          percent(shares.r2 ?? 0)
        } of these shoes' differences, which flatters: on shoes not seen it is less.`,
        ...(rest.length === 0 ? [] : [
          `${rest.length} more ${rest.length === 1 ? "metric has" : "metrics have"} ${
            percent(rest[0].share)
          } or less each.`,
        ]),
        ...model!.left_out.map(({ title, reason }) => `Not in the model: ${title}, ${reason}.`),
      ],
    },
  );
}
