import { quoted } from "./problem.ts";
import { didYouMean, unitReader } from "./read_trials.ts";
import type { calibrationSchema } from "./schemas.ts";
import type { z } from "zod";
import type { Calibration, Metric, Problem, Session } from "./types.ts";

/** Rows of `calibrations.csv` as they stand in the file, with the line of each. */
type PlacedCalibrations = {
  readonly rows: readonly z.output<typeof calibrationSchema>[];
  readonly lines: readonly number[];
};

/** Checks each calibration against metrics and rigs, and converts it to its metric's unit. */
export function readCalibrations(
  { rows, lines }: PlacedCalibrations,
  { metrics, sessions, excuses }: {
    readonly metrics: readonly Metric[];
    readonly sessions: readonly Session[];
    /** Whether a metric has problems of its own already. */
    readonly excuses: (metric: string) => boolean;
  },
  onProblem: (problem: Problem) => void,
): Calibration[] {
  const rigs = [...new Set(sessions.flatMap(({ rig }) => rig === null ? [] : [rig]))];
  return rows.flatMap(({ unit, ...row }, i) => {
    const place = { file: "calibrations.csv", line: lines[i], severity: "error" } as const;
    const metric = metrics.find(({ id }) => id === row.metric_id);
    if (metric === undefined) {
      if (excuses(row.metric_id)) return [];
      onProblem({
        ...place,
        column: "metric_id",
        found: quoted(row.metric_id),
        expected: "a metric of metrics.json",
        fix: didYouMean(row.metric_id, metrics.map(({ id }) => id), "Add the metric."),
      });
      return [];
    }
    const convert = unitReader(metric)(unit);
    if (typeof convert !== "function") {
      onProblem({ ...place, column: "unit", found: quoted(unit), ...convert });
      return [];
    }
    if (!rigs.includes(row.rig)) {
      onProblem({
        ...place,
        column: "rig",
        found: quoted(row.rig),
        expected: "a rig of sessions.csv",
        fix: didYouMean(row.rig, rigs, "No session names it, so the check says nothing of a shoe."),
        severity: "warning",
      });
    }
    // An uncertainty is a difference: offsets of a scale, such as 0 °C, drop out.
    const { reference_uncertainty: u, reference_value } = row;
    return [{
      ...row,
      reference_value: convert(reference_value),
      reading: convert(row.reading),
      reference_uncertainty: u === null
        ? null
        : Math.abs(convert(reference_value + u) - convert(reference_value)),
      line: lines[i],
    }];
  });
}
