import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import { sayReason } from "../words/reasons.ts";
import type { PredictionPair } from "../studies/prediction/types.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";

/**
 * Does a single shoe carry any of these correlations?
 *
 * A row a pair: the rank correlation with the range it takes as each shoe is left out in turn, and below it, in grey, its
 * interval. Beside the name stands the shoe whose absence moves it most.
 *
 * @param pairs such as those that predict
 */
export function predictionInfluenceChart(
  pairs: readonly PredictionPair[],
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.predictionInfluence", arguments[1], chartOptions);
  const title = "What one shoe can do to each correlation";
  if (pairs.length === 0) {
    return drawNothing("No pair to look at: nothing is claimed.", { title, ...options });
  }
  return drawIntervalRows(
    pairs.map((pair) => {
      const { spearman, influence } = pair;
      const shoe = pair.points.find(({ shoe_id }) => shoe_id === influence.shoe_id)?.name;
      return {
        title: `${pair.metric_title} and ${pair.attribute_title}`,
        aside: shoe === undefined || influence.without_it === null
          ? sayReason(influence.reason) ?? undefined
          : `${signed(influence.without_it)} without ${shoe}`,
        intervals: [
          {
            estimate: spearman.estimate,
            estimate_reason: spearman.estimate_reason,
            lower: influence.lowest,
            upper: influence.highest,
          },
          ...(spearman.estimate === null || spearman.lower === null
            ? []
            : [{ ...spearman, style: "quiet" as const }]),
        ],
      };
    }),
    {
      ...options,
      title,
      alt: influenceAlt(pairs),
      domain: [-1, 1],
      label: "Spearman's rank correlation",
      ticks: [-1, -0.5, 0, 0.5, 1],
      tickFormat: (value) => String(value).replace("-", "−"),
      // For the line at zero.
      bands: [{ from: -1, to: 0 }],
      key: [
        intervalKey("range with each shoe left out"),
        intervalKey(`${Math.round(pairs[0].spearman.confidence * 100)}% interval`, {
          style: "quiet",
        }),
      ],
      notes: [
        "A correlation that changed its sign with one shoe left out could not be claimed.",
      ],
    },
  );
}

function influenceAlt(pairs: readonly PredictionPair[]): string {
  const known = pairs.filter(({ spearman }) => spearman.estimate !== null);
  const turning = known.filter(({ influence, spearman }) =>
    influence.lowest !== null &&
    (Math.sign(influence.lowest) !== Math.sign(spearman.estimate!) ||
      Math.sign(influence.highest!) !== Math.sign(spearman.estimate!))
  );
  const ranges = known.map(({ metric_title, attribute_title, influence }) =>
    influence.lowest === null
      ? `${metric_title} and ${attribute_title} (${influence.reason})`
      : `${metric_title} and ${attribute_title} ${signed(influence.lowest)} to ${
        signed(influence.highest!)
      }`
  );
  return `With any one shoe left out, ${
    turning.length === 0 ? "none" : turning.length
  } of ${known.length} correlations turns its sign. Ranges: ${ranges.join("; ")}.`;
}

function signed(rho: number): string {
  const text = rho.toFixed(2);
  return Number(text) === 0 ? "0.00" : text.replace("-", "−");
}
