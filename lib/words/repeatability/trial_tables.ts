import type { Bench } from "../../records/types.ts";
import { metricOf } from "../../studies/repeatability/metric_trials.ts";
import { estimateInWords, noiseInWords, type ReviewRow } from "../review/review_tables.ts";
import { shoeName } from "../../studies/shoes/shoe_name.ts";
import { sourceWords } from "./source_words.ts";
import { unitWords } from "../unit_words.ts";
import type { AttributeAgreement } from "../../studies/panel/panel_agreement.ts";
import type { TrialReliability } from "../../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../reasons.ts";
import { counted } from "../phrases.ts";

/** What is known of one metric's repeatability? One row a figure, with what it says in plain words. */
export function metricFigureRows(reliability: TrialReliability, metric: string): ReviewRow[] {
  const study = metricOf(reliability, metric);
  const k = study.trials_per_visit;
  const mean = k === 1 ? "a single trial" : `a mean of ${k} trials`;
  const chance = `${Math.round(100 * reliability.confidence)} times in 100`;
  const figure = (name: string, value: string | number | null, meaning: string) => ({
    figure: name,
    value,
    "what it says": meaning,
  });
  const measured = (
    name: string,
    value: Parameters<typeof estimateInWords>[0],
    meaning: string,
  ) => figure(withUnit(name, study.unit), noiseInWords(value), meaning);
  return [
    measured(
      "Repeatability SD",
      study.repeatability_sd,
      "how far a trial typically lies from the mean of its visit",
    ),
    measured(
      "Repeatability limit",
      study.repeatability_limit,
      `two trials of one visit differ by less, ${chance}`,
    ),
    measured("SEM", study.sem, `how far the scatter of trials typically puts ${mean} off`),
    measured(
      "MDC, single trials",
      study.mdc.single,
      "two shoes closer than this, by one trial each in one session: perhaps noise",
    ),
    measured("MDC, one session", study.mdc.mean, `the same by ${mean} each`),
    measured(
      "MDC, two sessions",
      study.mdc.mean_across_sessions,
      "the same for shoes benched on different days: the one to publish by",
    ),
    figure(
      "CV, %",
      study.cv.estimate === null
        ? sayReason(study.cv.estimate_reason)
        : sharePercent(study.cv.estimate),
      "scatter of trials as a part of the value",
    ),
    figure(
      "ICC of a trial",
      estimateInWords(study.icc_single, 2),
      "share of the scatter between single trials that lies between shoes",
    ),
    figure("ICC of the mean", estimateInWords(study.icc_mean, 2), `the same for ${mean}`),
    figure(
      "Distinct categories",
      study.distinct_categories?.toFixed(0) ?? sayReason(study.distinct_categories_reason),
      "groups of shoes that one trial can keep apart",
    ),
  ];
}

/**
 * Where does one metric's scatter come from? One row a source, its scatter as a standard deviation in the
 * metric's unit, with the limits of it.
 */
export function componentRows(reliability: TrialReliability, metric: string): ReviewRow[] {
  const study = metricOf(reliability, metric);
  const sd = (variance: number | null) =>
    variance === null ? null : Math.sqrt(variance).toFixed(study.decimals + 2);
  return study.components.map((component) => ({
    scatter: sourceWords(component.source),
    [withUnit("SD", study.unit)]: sd(component.variance),
    "at least": sd(component.lower),
    "at most": component.upper === null ? "can't tell" : sd(component.upper),
    "share of the variance, %": component.boundary ? "none seen" : sharePercent(component.share),
    "seen in": levelWords(component.source, component.levels),
  }));
}

/**
 * Which trials of a metric should somebody look up? One row a flagged trial; how far it lies off is told
 * in the metric's unit and in standard deviations of such trials.
 */
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
    [withUnit("value", study.unit)]: flag.value,
    [withUnit("off its visit by", study.unit)]: Number(flag.residual.toFixed(study.decimals + 1)),
    "in SDs": Number(flag.statistic.toFixed(1)),
    "chance allows, in SDs": Number(flag.critical.toFixed(1)),
  }));
}

/** In percent, to one decimal; what that would make 0 is called smaller than it. */
function sharePercent(share: number): string {
  return share < 0.0005 ? "below 0.1" : (100 * share).toFixed(1);
}

function levelWords(source: string, levels: number): string {
  const noun = source === "residual" ? "trial" : source === "shoe:session" ? "visit" : source;
  return counted(levels, noun);
}

function withUnit(name: string, unit: string): string {
  const words = unitWords(unit);
  return words === "" ? name : `${name}, ${words}`;
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
