import type { AttributePrediction } from "../studies/court_prediction.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";

/**
 * Whose is what the metrics explain together of one impression?
 *
 * A row a metric, largest share first: its part of R², averaged over all orderings, with its interval; a shaded stretch
 * from zero to what a useless metric gets by chance. Beside the name its variance inflation, where it is above 2.
 */
export function predictionSharesChart(
  { title: attribute, model }: Pick<AttributePrediction, "title" | "model">,
  options: ChartOptions = {},
): SvgElement {
  const title = `What is explained of ${attribute}, metric by metric`;
  const shares = model?.shares;
  if (shares === undefined || shares.metrics.length === 0) {
    return drawNothing(
      `No metric has a share in ${attribute}: ${shares?.reason ?? "no model was asked for"}.`,
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
  return drawIntervalRows(
    shares.metrics.map(({ title, share, lower, upper, inflation, inflation_reason }) => ({
      title,
      aside: inflation === null
        ? `inflation unknown: ${inflation_reason}`
        : inflation > 2
        ? `inflation ${inflation.toFixed(1)}`
        : undefined,
      intervals: [{ estimate: share, estimate_reason: null, lower, upper }],
    })),
    {
      ...options,
      title,
      alt: `Of the differences in ${attribute} between ${
        model!.n
      } shoes, ${first.title} accounts for ${percent(first.share)}${
        first.lower === null || first.upper === null
          ? ""
          : ` (${percent(first.lower)} to ${percent(first.upper)})`
      }, the most of ${shares.metrics.length} metrics; a useless one gets ${
        percent(chance)
      } by chance.`,
      domain: [0, end],
      label: "Share of the differences between shoes",
      ticks: Array.from({ length: Math.round(end / step) + 1 }, (_, i) => i * step),
      tickFormat: percent,
      // Every other band is shaded; one too narrow to be seen is left to the note.
      bands: chance / end < 0.01 ? [] : [{ from: chance, to: end }, { from: 0, to: chance }],
      key: [intervalKey("share, averaged over all orderings")],
      notes: [
        `Bars are ${Math.round(shares.confidence * 100)}% intervals over ${
          model!.n
        } shoes. A useless metric gets ${
          percent(chance)
        } by chance on average: the shaded stretch.`,
        `The shares add up to ${
          percent(shares.r2 ?? 0)
        } in these shoes, which flatters: see the fit on shoes it has not seen.`,
        ...model!.left_out.map(({ title, reason }) => `Not in the model: ${title}, ${reason}.`),
      ],
    },
  );
}

function percent(share: number): string {
  return `${Math.round(100 * share)}%`;
}
