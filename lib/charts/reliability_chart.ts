import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type {
  MetricReliability,
  TrialReliability,
} from "../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../words/reasons.ts";
import { verdictWords } from "../words/repeatability/reliability_result.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";
import { iccStretches } from "../studies/repeatability/icc_bands.ts";

/**
 * How far can each metric's trial, and its published mean, be trusted to tell shoes apart?
 *
 * A row a metric: the ICC of the mean of a visit's trials (filled) and of one trial (hollow), each with its interval,
 * against the bands of the verdict. The verdict stands beside the name and follows the left end of the filled bar.
 */
export function reliabilityChart(
  { metrics, confidence }: Pick<TrialReliability, "metrics" | "confidence">,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.reliability", arguments[1], chartOptions);
  const title = "How far each metric can be trusted";
  if (metrics.length === 0) {
    return drawNothing("No metric to judge: the bench has no trials yet.", { title, ...options });
  }
  const belowZero = metrics.some(({ icc_single, icc_mean }) =>
    [icc_single, icc_mean].some(({ estimate, lower }) => Math.min(estimate ?? 0, lower ?? 0) < 0)
  );
  return drawIntervalRows(
    metrics.map((metric) => ({
      title: metric.title,
      aside: verdictWords(metric),
      intervals: [
        { ...metric.icc_mean, name: "mean", style: "filled" as const },
        { ...metric.icc_single, name: "one trial", style: "hollow" as const },
      ],
    })),
    {
      ...options,
      title,
      alt: reliabilityAlt(metrics),
      domain: [0, 1],
      label: "ICC: share of the variance that lies between shoes",
      ticks: [0, 0.25, 0.5, 0.75, 0.9, 1],
      tickFormat: String,
      bands: [
        { ...iccStretches[0], label: "not fit to publish" },
        { ...iccStretches[1], label: "groups only" },
        { ...iccStretches[2], label: "tiers" },
        { ...iccStretches[3], label: "single shoes" },
      ],
      key: [
        intervalKey("mean of a visit's trials"),
        intervalKey("one trial", { style: "hollow" }),
      ],
      notes: [
        `Bars are ${
          Math.round(confidence * 100)
        }% intervals. The left end of the filled bar decides the verdict.`,
        ...(belowZero ? ["An arrowhead runs on below 0, which means no more than 0."] : []),
      ],
    },
  );
}

function reliabilityAlt(metrics: readonly MetricReliability[]): string {
  const byVerdict = Map.groupBy(metrics, ({ verdict }) => verdict);
  const parts = [...byVerdict].map(([verdict, some]) =>
    `${verdict}: ${
      some.map(({ title, icc_mean }) =>
        icc_mean.estimate === null
          ? `${title} (no estimate: ${sayReason(icc_mean.estimate_reason!)})`
          : `${title} (ICC of the mean ${icc_mean.estimate.toFixed(2)}${
            icc_mean.lower === null || icc_mean.upper === null
              ? ""
              : `, ${icc_mean.lower.toFixed(2)} to ${icc_mean.upper.toFixed(2)}`
          })`
      ).join(", ")
    }`
  );
  const ranking = byVerdict.get("fit to rank single shoes")?.length ?? 0;
  const untold = byVerdict.get("can't tell")?.length ?? 0;
  return `${ranking} of ${metrics.length} ${metrics.length === 1 ? "metric" : "metrics"} ${
    ranking === 1 || metrics.length === 1 ? "is" : "are"
  } ${ranking === 0 && untold > 0 ? "known to be " : ""}fit to rank single shoes. By verdict: ${
    parts.join("; ")
  }.`;
}
