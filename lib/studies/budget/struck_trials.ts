import { visitsOf, visitsOfTrials } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { repeatabilitySd } from "../../statistics/repeatability_sd.ts";
import { benchNoise, type BenchNoiseOptions } from "../repeatability/bench_noise.ts";
import { mdcAcross } from "../repeatability/mdc_across.ts";
import { visitRuns } from "../repeatability/visit_runs.ts";

/** Noise figures of one metric, with some readings counted or not. */
export type StruckFigures = {
  readonly repeatability_sd: number | null;
  readonly mdc: number | null;
};

/** Readings of one metric that somebody struck out, and what they would make of its noise. */
export type StruckTrials = {
  readonly struck: number;
  readonly of: number;
  readonly by_reason: Readonly<Record<string, number>>;
  readonly by_rig: Readonly<Record<string, number>>;
  readonly by_operator: Readonly<Record<string, number>>;
  readonly without: StruckFigures;
  /** The same with every struck reading put back. */
  readonly with: StruckFigures;
};

/**
 * How many readings of a metric were struck out, why and by whom, and how much smaller does that make its noise?
 *
 * A tester who strikes every reading that stands out makes the noise look smaller than it is.
 */
export function struckTrials(
  bench: Bench,
  metric: string,
  options: BenchNoiseOptions,
): StruckTrials {
  const own = bench.trials.filter((trial) => trial.metric_id === metric && trial.value !== null);
  const struck = own.filter(({ excluded }) => excluded !== null);
  const sessions = new Map(bench.sessions.map((session) => [session.session_id, session]));
  const count = (of: (trial: (typeof own)[number]) => string) =>
    Object.fromEntries(
      [...Map.groupBy(struck, of)].map(([name, some]) => [name, some.length] as const)
        .sort(([a], [b]) => a < b ? -1 : 1),
    );
  const counted = visitsOf(bench, metric);
  const figures = (visits: typeof counted): StruckFigures => ({
    repeatability_sd: repeatabilitySd(visitRuns(visits).map(({ values }) => values)).estimate,
    mdc: mdcAcross(
      benchNoise(visits, { ...options, resamples: 2, componentLimits: false }),
      options.confidence,
    ).estimate,
  });
  const back = new Set(counted.flatMap(({ trials }) => trials));
  const without = figures(counted);
  return {
    struck: struck.length,
    of: own.length,
    by_reason: count(({ excluded }) => excluded!.trim()),
    by_rig: count(({ session_id }) => sessions.get(session_id)?.rig ?? "no rig named"),
    by_operator: count(({ session_id }) => sessions.get(session_id)?.operator ?? ""),
    without,
    with: struck.length === 0
      ? without
      : figures(visitsOfTrials([...back, ...struck], bench.sessions)),
  };
}
