import * as option from "../../options.ts";
import type { Bench, Metric, Trial } from "../../records/types.ts";
import { benchUntil, quarterEnd, quarterStart } from "../../records/quarters.ts";
import { isPublishable } from "../../records/selection.ts";
import { shoeName } from "../shoes/shoe_name.ts";

/** What is known of one shoe on one metric at the end of a quarter. */
export type CoverageState =
  | "this quarter"
  | "earlier"
  | "too few trials"
  | "missing"
  | "before the metric";

/** One shoe on one metric. */
export type CoverageCell = {
  readonly shoe_id: string;
  readonly metric: string;
  readonly state: CoverageState;
  /** Trials that count, over all visits. */
  readonly trials: number;
  readonly visits: number;
  /** Trials taken and set aside, each with its reason in trials.csv. */
  readonly excluded: number;
  /** Readings lost: blank or NA in the file. */
  readonly lost: number;
  readonly last_benched: string | null;
};

/** One metric over the catalogue. */
export type MetricCoverage = {
  readonly metric: string;
  readonly title: string;
  readonly introduced: string;
  readonly introduced_this_quarter: boolean;
  readonly shoes_benched: number;
  readonly shoes_this_quarter: number;
  /** Shoes never benched on it although it already existed at one of their visits. */
  readonly shoes_missing: number;
  /** Shoes last benched before the metric existed: the back catalogue to be re-done. */
  readonly shoes_before_metric: number;
  /** Share of the catalogue with a value. */
  readonly share: number;
};

/** One shoe over all metrics. */
export type ShoeCoverage = {
  readonly shoe_id: string;
  readonly name: string;
  readonly reference: boolean;
  readonly first_benched: string | null;
  readonly new_this_quarter: boolean;
  readonly metrics_benched: number;
  readonly testers: number;
};

/** What was measured, when, and what is missing. */
export type BenchCoverage = {
  readonly quarter: string;
  readonly from: string;
  readonly until: string;
  readonly shoes: readonly ShoeCoverage[];
  readonly metrics: readonly MetricCoverage[];
  readonly cells: readonly CoverageCell[];
  readonly totals: {
    readonly trials: number;
    readonly trials_this_quarter: number;
    readonly trials_excluded: number;
    readonly trials_lost: number;
    readonly sessions_this_quarter: number;
    readonly impressions: number;
    readonly impressions_this_quarter: number;
    readonly new_shoes: number;
    readonly new_metrics: number;
    readonly cells_missing: number;
    readonly cells_before_metric: number;
  };
};

/**
 * What was measured up to the end of a quarter, what is new in it, and what is missing?
 *
 * A cell counts as `too few trials` when its kept trials, over all visits, are fewer than two: one
 * reading carries no scatter of its own; readings of played pairs and of another size don't count here. It is `before the metric` when every visit of the shoe came
 * before the metric was introduced.
 *
 * @param everything the whole bench; what came after the quarter's end is left out
 * @param quarter such as `2026Q3`
 * @returns one cell a shoe and metric, with totals per metric, per shoe and overall
 * @throws {RangeError} if the quarter is not written like `2026Q3`
 */
export function benchCoverage(
  everything: Bench,
  { quarter }: { readonly quarter: string },
): BenchCoverage {
  option.check("studies.benchCoverage", arguments[1], { quarter: option.needed(option.text) });
  const from = quarterStart(quarter);
  const until = quarterEnd(quarter);
  const bench = benchUntil(everything, until);
  const dateOf = new Map(bench.sessions.map((session) => [session.session_id, session.date]));
  const inQuarter = (date: string) => date >= from && date <= until;
  const { trials, metrics, impressions } = bench;

  const firstBenched = new Map<string, string>();
  const lastVisit = new Map<string, string>();
  const isNew = (trial: Trial) => isPublishable(trial, bench.settings);
  for (const trial of trials) {
    const date = dateOf.get(trial.session_id)!;
    if (!isNew(trial)) continue;
    if (date < (firstBenched.get(trial.shoe_id) ?? "9999")) firstBenched.set(trial.shoe_id, date);
    if (date > (lastVisit.get(trial.shoe_id) ?? "")) lastVisit.set(trial.shoe_id, date);
  }

  const byCell = groupByCell(trials);
  const cells = bench.shoes.flatMap((shoe) =>
    metrics.map((metric) =>
      coverageCell(shoe.shoe_id, metric, byCell.get(cellKey(shoe.shoe_id, metric.id)) ?? [], {
        dateOf,
        inQuarter,
        isNew,
        lastVisit: lastVisit.get(shoe.shoe_id) ?? null,
      })
    )
  );
  const hasValue = (cell: CoverageCell) => cell.trials > 0;

  const cellsByMetric = Map.groupBy(cells, (cell) => cell.metric);
  const perMetric = metrics.map((metric): MetricCoverage => {
    const own = cellsByMetric.get(metric.id) ?? [];
    const benched = own.filter(hasValue).length;
    return {
      metric: metric.id,
      title: metric.title,
      introduced: metric.introduced,
      introduced_this_quarter: inQuarter(metric.introduced),
      shoes_benched: benched,
      shoes_this_quarter: own.filter((cell) =>
        cell.last_benched && inQuarter(cell.last_benched)
      ).length,
      shoes_missing: own.filter((cell) => cell.state === "missing").length,
      shoes_before_metric: own.filter((cell) => cell.state === "before the metric").length,
      share: own.length === 0 ? 0 : benched / own.length,
    };
  });

  const cellsByShoe = Map.groupBy(cells, (cell) => cell.shoe_id);
  const testersByShoe = Map.groupBy(impressions, (impression) => impression.shoe_id);
  const references = new Set(bench.settings.reference_shoes);
  const perShoe = bench.shoes.map((shoe): ShoeCoverage => {
    const first = firstBenched.get(shoe.shoe_id) ?? null;
    return {
      shoe_id: shoe.shoe_id,
      name: shoeName(shoe),
      reference: references.has(shoe.shoe_id),
      first_benched: first,
      new_this_quarter: first !== null && inQuarter(first),
      metrics_benched: (cellsByShoe.get(shoe.shoe_id) ?? []).filter(hasValue).length,
      testers: new Set((testersByShoe.get(shoe.shoe_id) ?? []).map((row) => row.tester)).size,
    };
  });

  const totals = {
    trials: trials.filter((trial) => trial.value !== null && trial.excluded === null).length,
    trials_this_quarter:
      trials.filter((trial) =>
        trial.value !== null && trial.excluded === null && inQuarter(dateOf.get(trial.session_id)!)
      ).length,
    trials_excluded: trials.filter((trial) => trial.excluded !== null).length,
    trials_lost: trials.filter((trial) => trial.value === null && trial.excluded === null).length,
    sessions_this_quarter: bench.sessions.filter((session) => inQuarter(session.date)).length,
    impressions: impressions.filter((row) => row.rating !== null).length,
    impressions_this_quarter:
      impressions.filter((row) => row.rating !== null && inQuarter(row.date)).length,
    new_shoes: perShoe.filter((shoe) => shoe.new_this_quarter).length,
    new_metrics: perMetric.filter((metric) => metric.introduced_this_quarter).length,
    cells_missing: cells.filter((cell) => cell.state === "missing").length,
    cells_before_metric: cells.filter((cell) => cell.state === "before the metric").length,
  };
  return {
    quarter,
    from,
    until,
    shoes: perShoe,
    metrics: perMetric,
    cells,
    totals,
  };
}

function cellKey(shoe: string, metric: string): string {
  return JSON.stringify([shoe, metric]);
}

function groupByCell(trials: readonly Trial[]): Map<string, Trial[]> {
  return Map.groupBy(trials, (trial) => cellKey(trial.shoe_id, trial.metric_id));
}

function coverageCell(
  shoe_id: string,
  metric: Metric,
  trials: readonly Trial[],
  { dateOf, inQuarter, isNew, lastVisit }: {
    readonly dateOf: ReadonlyMap<string, string>;
    readonly inQuarter: (date: string) => boolean;
    readonly isNew: (trial: Trial) => boolean;
    readonly lastVisit: string | null;
  },
): CoverageCell {
  const kept = trials.filter((trial) => trial.value !== null && trial.excluded === null);
  const dates = kept.map((trial) => dateOf.get(trial.session_id)!).sort();
  const last = dates.at(-1) ?? null;
  const counting = kept.filter(isNew);
  const state: CoverageState = counting.length > 1
    ? (counting.some(({ session_id }) => inQuarter(dateOf.get(session_id)!))
      ? "this quarter"
      : "earlier")
    : counting.length === 1
    ? "too few trials"
    : lastVisit !== null && lastVisit < metric.introduced
    ? "before the metric"
    : "missing";
  return {
    shoe_id,
    metric: metric.id,
    state,
    trials: kept.length,
    visits: new Set(kept.map((trial) => trial.session_id)).size,
    excluded: trials.filter((trial) => trial.excluded !== null).length,
    lost: trials.filter((trial) => trial.value === null && trial.excluded === null).length,
    last_benched: last,
  };
}
