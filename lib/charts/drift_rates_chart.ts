import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { ReferenceDrift } from "../studies/drift/reference_drift.ts";
import type { RigDrift } from "../studies/drift/rig_drift.ts";
import { driftFound } from "../words/drift/drift_sentences.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey, type IntervalStyle } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";
import { counted } from "../words/phrases.ts";

/** Why a metric has no bar; shared, so that the rows can be counted by it. */
const UNMEASURED = { code: "no-smallest-difference" };

const styles: readonly IntervalStyle[] = ["filled", "hollow", "quiet"];

/**
 * Which metrics drift on which rig, by how much of what matters to a player?
 *
 * A row a metric, an interval a rig: change a year over the smallest difference that matters. Beyond −1
 * and 1 a year of drift passes for a difference between shoes.
 */
export function driftRatesChart(
  { rigs, confidence }: Pick<ReferenceDrift, "rigs" | "confidence">,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.driftRates", arguments[1], chartOptions);
  const title = "Drift of the bench, a year";
  const names = [...new Set(rigs.map(({ rig }) => rig))].slice(0, styles.length);
  const rows = [...Map.groupBy(rigs, ({ metric }) => metric).values()].map((own) => {
    const scale = own[0].smallest_difference;
    return {
      title: own[0].title,
      aside: verdicts(own),
      intervals: names.flatMap((name, i) => {
        const rig = own.find(({ rig }) => rig === name);
        if (rig === undefined) return [];
        const part = (value: number | null) =>
          value === null || scale === null ? null : value / scale;
        return [{
          estimate: part(rig.slope.estimate),
          estimate_reason: scale === null ? UNMEASURED : rig.slope.estimate_reason,
          lower: part(rig.slope.lower),
          upper: part(rig.slope.upper),
          name: name ?? "unnamed rig",
          style: styles[i],
        }];
      }),
    };
  });
  if (rows.length === 0) {
    return drawNothing("No reference shoe has been benched, so drift can't be seen.", {
      title,
      ...options,
    });
  }
  const unmeasured = rows.filter(({ intervals }) =>
    intervals.some(({ estimate_reason }) => estimate_reason === UNMEASURED)
  );
  return drawIntervalRows(rows, {
    ...options,
    title,
    alt: driftFound(rigs),
    domain: [-2, 2],
    label: "Change a year, in smallest differences that matter",
    ticks: [-2, -1, 0, 1, 2],
    tickFormat: (value) => value < 0 ? `−${-value}` : String(value),
    bands: [
      { from: -1, to: 0 },
      { from: -2, to: -1 },
      { from: 0, to: 1 },
      { from: 1, to: 2 },
    ],
    key: names.map((name, i) => intervalKey(name ?? "unnamed rig", { style: styles[i] })),
    notes: [
      `Bars are ${
        Math.round(confidence * 100)
      }% intervals, before the adjustment for the number of metrics that a claim has to pass.`,
      ...(unmeasured.length === 0 ? [] : [
        `${
          counted(unmeasured.length, "metric has", "metrics have")
        } no bar: name the smallest_difference in metrics.json, and there is something to measure drift by.`,
      ]),
    ],
  });
}

/** One verdict where the rigs share it; else each with its rig. */
function verdicts(own: readonly RigDrift[]): string {
  const shared = new Set(own.map(({ verdict }) => verdict)).size === 1;
  return shared
    ? own[0].verdict
    : own.map(({ rig, verdict }) => `${rig ?? "unnamed rig"}: ${verdict}`).join(", ");
}
