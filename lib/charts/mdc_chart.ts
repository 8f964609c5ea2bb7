import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type {
  MetricReliability,
  TrialReliability,
} from "../studies/repeatability/trial_reliability.ts";
import type { Estimate } from "../statistics/estimate.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";
import { mdcInUse } from "../words/repeatability/reliability_sentence.ts";
import { sayReason } from "../words/reasons.ts";
import { unitWords } from "../words/unit_words.ts";
import { decimalsOf, noiseDecimals } from "../words/digits.ts";
import { midSentence } from "../words/phrases.ts";

/**
 * How large must a difference be to be more than noise, beside all the differences there are?
 *
 * A row a metric: the MDC of two published means as a part of the range of the catalogue, in one session (filled) and
 * over two sessions (hollow). Far to the left is good: many steps fit between the lowest shoe and the highest.
 */
export function mdcChart(
  { metrics, confidence }: Pick<TrialReliability, "metrics" | "confidence">,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.mdc", arguments[1], chartOptions);
  const title = "Smallest difference that is not noise";
  if (metrics.length === 0) {
    return drawNothing("No metric to judge: the bench has no trials yet.", { title, ...options });
  }
  const rows = metrics.map((metric) => ({
    title: metric.title,
    aside: mdcWords(metric),
    intervals: [
      { ...partOfRange(metric, metric.mdc.mean), name: "one session", style: "filled" as const },
      {
        ...partOfRange(metric, metric.mdc.mean_across_sessions),
        name: "two sessions",
        style: "hollow" as const,
      },
    ],
  }));
  const largest = Math.max(
    0,
    ...rows.flatMap(({ intervals }) =>
      intervals.map(({ estimate, upper }) => upper ?? estimate ?? 0)
    ),
  );
  const high = [25, 50, 75, 100].find((end) => largest <= end) ?? 125;
  return drawIntervalRows(rows, {
    ...options,
    title,
    alt: mdcAlt(metrics),
    domain: [0, high],
    label: "Part of the catalogue's range, lowest shoe to highest",
    tickFormat: (value) => `${value}%`,
    bands: high > 100
      ? [{ from: 0, to: 100 }, { from: 100, to: high, label: "more than the whole range" }]
      : [],
    key: [
      intervalKey("two shoes in one session"),
      intervalKey("in two sessions", { style: "hollow" }),
    ],
    notes: [
      `MDC: smallest difference of two published means that is not noise, at ${
        Math.round(confidence * 100)
      }%. Bars are its intervals. Further left is finer.`,
    ],
  });
}

function partOfRange({ spread }: MetricReliability, mdc: Estimate) {
  const { estimate, estimate_reason, lower, upper } = mdc;
  if (estimate === null) return { estimate, estimate_reason, lower: null, upper: null };
  const range = spread.low === null || spread.high === null ? 0 : spread.high - spread.low;
  if (!(range > 0)) {
    return {
      estimate: null,
      estimate_reason: { code: "no-range" },
      lower: null,
      upper: null,
    };
  }
  const share = (value: number | null) => value === null ? null : value / range * 100;
  return {
    estimate: share(estimate),
    estimate_reason: null,
    lower: share(lower),
    upper: share(upper),
  };
}

function mdcWords({ mdc, spread, unit, decimals }: MetricReliability): string {
  const words = unitWords(unit);
  const shown = words === "" ? "" : words.startsWith("°") ? words : ` ${words}`;
  const written = (value: number) =>
    value.toFixed(decimalsOf(two ?? one, decimals)).replace("-", "−");
  const [one, two] = [mdc.mean.estimate, mdc.mean_across_sessions.estimate];
  const step = one === null
    ? "no MDC"
    : two === null
    ? `MDC ${precise(one)}${shown} in one session`
    : `MDC ${precise(one)}${shown} in one session, ${precise(two)} in two`;
  return spread.low === null || spread.high === null
    ? step
    : `${step}, shoes ${written(spread.low)} to ${written(spread.high)}${shown}`;
}

/** An MDC as sentences and tables write it too. */
function precise(value: number): string {
  return value.toFixed(noiseDecimals(value));
}

function mdcAlt(metrics: readonly MetricReliability[]): string {
  const list = metrics.map((metric) =>
    metric.mdc.mean.estimate === null
      ? `${metric.title} no estimate (${sayReason(metric.mdc.mean.estimate_reason!)})`
      : `${metric.title} ${mdcWords(metric)}`
  );
  return `${mdcFinding(metrics)}Two published means: ${list.join("; ")}.`;
}

/** Which metric tells shoes apart most finely, which least; nothing where fewer than two can be placed. */
function mdcFinding(metrics: readonly MetricReliability[]): string {
  const placed = metrics.flatMap((metric) => {
    // Of two sessions, as the table beside the picture has it, where that is known.
    const share = partOfRange(metric, mdcInUse(metric)).estimate;
    return share === null ? [] : [{ title: metric.title, share }];
  }).sort((a, b) => a.share - b.share);
  if (placed.length < 2) return "";
  const [finest, coarsest] = [placed[0], placed.at(-1)!];
  const percent = (share: number) => `${share < 1 ? "under 1" : Math.round(share)}%`;
  return `Noise spans ${percent(finest.share)} of the catalogue's range on ${
    midSentence(finest.title)
  }, the finest, and ${percent(coarsest.share)} on ${midSentence(coarsest.title)}, the coarsest. `;
}
