import type { Bench } from "../records/types.ts";
import { metricOf } from "./metric_trials.ts";
import type { ReferenceDrift } from "./reference_drift.ts";
import { estimateInWords, type ReviewRow } from "./review_tables.ts";
import { shoeName } from "./shoe_name.ts";
import type { AttributeAgreement } from "./panel_agreement.ts";
import type { TrialReliability } from "./trial_reliability.ts";

/** What is known of one metric's repeatability? One row a figure. */
export function metricFigureRows(reliability: TrialReliability, metric: string): ReviewRow[] {
  const study = metricOf(reliability, metric);
  const digits = study.decimals + 1;
  const k = study.trials_per_visit;
  const figure = (name: string, value: string | number | null, meaning: string) => ({
    figure: name,
    value,
    meaning,
  });
  return [
    figure(
      "Repeatability SD",
      estimateInWords(study.repeatability_sd, digits),
      "scatter of trials of one shoe in one visit",
    ),
    figure(
      "Repeatability limit",
      estimateInWords(study.repeatability_limit, digits),
      "two trials of one visit seldom differ by more",
    ),
    figure("SEM", estimateInWords(study.sem, digits), `standard error of a mean of ${k}`),
    figure("MDC of two trials", estimateInWords(study.mdc.single, digits), "in one session"),
    figure("MDC of two means", estimateInWords(study.mdc.mean, digits), "in one session"),
    figure(
      "MDC across sessions",
      estimateInWords(study.mdc.mean_across_sessions, digits),
      "two means of two sessions",
    ),
    figure(
      "CV, %",
      study.cv.estimate === null
        ? study.cv.estimate_reason
        : Number((100 * study.cv.estimate).toFixed(1)),
      "scatter of trials as a part of the value",
    ),
    figure("ICC of a trial", estimateInWords(study.icc_single, 2), "share of shoes in the scatter"),
    figure("ICC of the mean", estimateInWords(study.icc_mean, 2), `the same for a mean of ${k}`),
    figure(
      "Distinct categories",
      study.distinct_categories ?? study.distinct_categories_reason,
      "groups of shoes that one trial can keep apart",
    ),
  ];
}

/** Where does one metric's scatter come from? One row a source, with its limits. */
export function componentRows(reliability: TrialReliability, metric: string): ReviewRow[] {
  const study = metricOf(reliability, metric);
  const digits = 3;
  const number = (value: number | null) =>
    value === null ? "no bound" : Number(value.toPrecision(digits));
  return study.components.map((component) => ({
    source: component.source === "residual" ? "trial" : component.source,
    variance: Number(component.variance.toPrecision(digits)),
    from: number(component.lower),
    to: number(component.upper),
    "share, %": Number((100 * component.share).toFixed(1)),
    levels: component.levels,
  }));
}

/** Which trials of a metric should somebody look up? One row a flagged trial. */
export function flaggedRows(
  bench: Pick<Bench, "shoes" | "sessions">,
  reliability: TrialReliability,
  metric: string,
): ReviewRow[] {
  const study = metricOf(reliability, metric);
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const dates = new Map(bench.sessions.map(({ session_id, date }) => [session_id, date]));
  return study.outliers.map((flag) => ({
    "line in trials.csv": flag.line,
    shoe: names.get(flag.shoe_id) ?? flag.shoe_id,
    date: dates.get(flag.session_id) ?? null,
    trial: flag.trial,
    value: flag.value,
    "off its visit by": Number(flag.residual.toFixed(study.decimals + 1)),
    statistic: Number(flag.statistic.toFixed(2)),
    critical: Number(flag.critical.toFixed(2)),
  }));
}

/** How does the bench change? One row a metric and rig. */
export function driftRows({ rigs }: Pick<ReferenceDrift, "rigs">): ReviewRow[] {
  return rigs.map((rig) => ({
    metric: rig.title,
    unit: rig.unit,
    rig: rig.rig,
    sessions: rig.sessions,
    references: rig.references,
    "change a year": estimateInWords(rig.slope, rig.decimals + 1),
    "p, all slopes": rig.p_familywise === null
      ? rig.p_reason
      : Number(rig.p_familywise.toPrecision(2)),
    verdict: rig.verdict,
  }));
}

/** How does each tester use the scale? One row a tester. */
export function testerRows({ use }: Pick<AttributeAgreement, "use">): ReviewRow[] {
  return use.map((row) => ({
    tester: row.tester,
    ratings: row.ratings,
    "rated again": row.repeats,
    leniency: estimateInWords(row.leniency, 2),
    range: estimateInWords(row.range, 2),
  }));
}
