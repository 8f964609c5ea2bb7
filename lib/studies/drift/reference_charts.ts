import type { Visit } from "../../records/selection.ts";
import type { Metric } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { ewma } from "../../statistics/ewma.ts";
import { individualsChart } from "../../statistics/individuals_chart.ts";
import type { Reason } from "../../statistics/reason.ts";
import { weightedRegression } from "../../statistics/weighted_regression.ts";
import { byTime, yearsFromMiddle } from "./rig_time.ts";

/** One visit of a reference shoe on one rig. */
export type DriftPoint = {
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly trials: number;
  /** Mean of the visit's trials, in the metric's unit. */
  readonly value: number;
  readonly ewma: number | null;
  readonly ewma_lower: number | null;
  readonly ewma_upper: number | null;
};

/** A point, or run of points, that leaves the limits of its chart. */
export type DriftSignal = {
  readonly session_id: string;
  readonly date: string;
  readonly rule:
    | "beyond the limits"
    | "eight in a row on one side"
    | "moving range"
    | "moving average beyond its limits";
};

/** One reference shoe on one rig, over time. */
export type ReferenceChart = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly shoe_id: string;
  readonly name: string;
  readonly rig: string | null;
  readonly points: readonly DriftPoint[];
  /** Individuals chart: mean ± 2.66 times the mean moving range. */
  readonly centre: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly limits_reason: Reason | null;
  /** For a person to look at; no claim is made from them. */
  readonly signals: readonly DriftSignal[];
  /** Change a year, this shoe on this rig alone: no claim, so no page prints it. */
  readonly slope: Estimate;
};

/** How does each reference shoe read over time on each rig, and which visits leave the limits? */
export function referenceCharts(
  metric: Metric,
  visits: readonly Visit[],
  { names, confidence, lambda }: {
    readonly names: ReadonlyMap<string, string>;
    readonly confidence: number;
    readonly lambda: number;
  },
): ReferenceChart[] {
  const groups = Map.groupBy(visits, ({ shoe_id, rig }) => JSON.stringify([shoe_id, rig]));
  return [...groups.values()].map((unordered): ReferenceChart => {
    const own = unordered.toSorted(byTime);
    const values = own.map(({ values }) => momentsOf(values).mean);
    const chart = individualsChart(values);
    const moving = ewma(values, { lambda });
    const hasAverage = moving.reason === null;
    const signalAt = (index: number, rule: DriftSignal["rule"]): DriftSignal => ({
      session_id: own[index].session_id,
      date: own[index].date,
      rule,
    });
    return {
      metric: metric.id,
      title: metric.title,
      unit: metric.unit,
      decimals: metric.decimals,
      shoe_id: own[0].shoe_id,
      name: names.get(own[0].shoe_id) ?? own[0].shoe_id,
      rig: own[0].rig,
      points: own.map(({ session_id, date, operator, trials }, i): DriftPoint => ({
        session_id,
        date,
        operator,
        trials: trials.length,
        value: values[i],
        ewma: hasAverage ? moving.averages[i] : null,
        ewma_lower: hasAverage ? moving.lower[i] : null,
        ewma_upper: hasAverage ? moving.upper[i] : null,
      })),
      centre: chart.centre,
      lower: chart.lower,
      upper: chart.upper,
      limits_reason: chart.reason,
      signals: [
        ...chart.signals.map(({ index, rule }) => signalAt(index, rule)),
        ...moving.signals.map((index) => signalAt(index, "moving average beyond its limits")),
      ],
      slope: slopeOfVisits(own, values, confidence),
    };
  });
}

function slopeOfVisits(
  own: readonly Visit[],
  values: readonly number[],
  confidence: number,
): Estimate {
  const { estimate } = weightedRegression(
    { level: values.map(() => 1), slope: yearsFromMiddle(own.map(({ date }) => date)) },
    values.map((value) => value - values[0]),
  ).test("slope", confidence);
  const method = "least squares over visits, Student's t interval";
  return own.length < 3
    ? noEstimate({ code: "few-visits-on-rig", needed: 3, found: own.length }, {
      confidence,
      method,
      n: own.length,
    })
    : { ...estimate, method };
}
