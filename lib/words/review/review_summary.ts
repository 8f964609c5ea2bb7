import type { Problem } from "../../records/types.ts";
import type { BenchCoverage } from "../../studies/coverage/bench_coverage.ts";
import type { CourtPrediction } from "../../studies/prediction/types.ts";
import type { IndexScores } from "../../studies/index/index_scores.ts";
import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import type {
  MetricReliability,
  TrialReliability,
} from "../../studies/repeatability/trial_reliability.ts";
import { reliabilityFinding } from "../repeatability/reliability_sentence.ts";
import { indexSentence } from "../index/index_sentence.ts";
import { markdownList } from "../summary_words.ts";
import {
  gapsAdvice,
  readingsAdvice,
  rigAdvice,
  trialsAdvice,
  unfitAdvice,
} from "./advice_words.ts";
import { counted, midSentence, shoesText } from "../phrases.ts";

/** What a reader with one minute takes away from a review. */
export type ReviewSummary = {
  /** Three things to know. */
  readonly know: readonly string[];
  /** The most pressing things to do, three at most. */
  readonly act: readonly string[];
  /** The same as Markdown: two headings, each with its list. */
  readonly markdown: string;
};

/** The results a summary is drawn from. */
export type ReviewParts = {
  readonly coverage: BenchCoverage;
  readonly reliability: TrialReliability;
  readonly prediction: CourtPrediction;
  readonly scores: IndexScores;
  readonly drift: ReferenceDrift;
  /** What the loader warned of; only readings in trials.csv count here. */
  readonly warnings?: readonly Pick<Problem, "file" | "line" | "column">[];
};

/**
 * What are the three things to know and the three to do after a quarter?
 *
 * What to do is ordered by how much it would mislead a reader if left alone: numbers that may be wrong
 * (drift, odd trials), numbers not fit to publish, then gaps in the catalogue, then predictions that
 * more shoes would settle.
 */
export function reviewSummary(parts: ReviewParts): ReviewSummary {
  const know = [
    trustSentence(parts.reliability.metrics),
    predictorSentence(parts.prediction),
    indexSentence(parts.scores),
  ];
  const act = [
    ...driftAdvice(parts),
    ...flaggedAdvice(parts),
    ...metricAdvice(parts.reliability.metrics),
    ...coverageAdvice(parts.coverage),
    ...unsettledAdvice(parts.prediction),
  ].slice(0, 3);
  if (act.length === 0) {
    act.push(
      parts.reliability.metrics.some(({ verdict }) => verdict === "can't tell")
        ? "Read shoes again on what can't be judged yet: deno task retest -- --sheet plans the visits."
        : "Nothing is pressing: go on benching as planned.",
    );
  }
  return {
    know,
    act,
    markdown: `## Three things to know\n\n${markdownList(know)}\n\n## What to do next\n\n${
      markdownList(act)
    }\n`,
  };
}

function trustSentence(metrics: readonly MetricReliability[]): string {
  if (metrics.length === 0) return "No metric has been benched yet.";
  const having = (verdict: MetricReliability["verdict"]) =>
    metrics.filter((metric) => metric.verdict === verdict);
  const single = having("fit to rank single shoes").length;
  const unfit = having("not fit to publish").filter(({ withdrawn }) => withdrawn === null);
  const gone = metrics.filter(({ withdrawn }) => withdrawn !== null);
  const untold = [...having("too few shoes to tell"), ...having("can't tell")];
  // Of what nobody can judge, none is said to fall short.
  if (having("can't tell").length === metrics.length) return reliabilityFinding(metrics);
  if (unfit.length === metrics.length) {
    return metrics.length === 1
      ? `${unfit[0].title} should not be published as it is measured now.`
      : `None of the ${metrics.length} metrics should be published as it is measured now.`;
  }
  return [
    `${single} of ${counted(metrics.length, "metric")} ${
      metrics.length === 1 || single === 1 ? "is" : "are"
    } repeatable enough to rank single shoes`,
    ...(unfit.length > 0 ? [`${names(unfit)} should not be published`] : []),
    ...(gone.length > 0
      ? [`${names(gone)} ${gone.length === 1 ? "is" : "are"} published no longer`]
      : []),
    ...(untold.length > 0 ? [`${names(untold)} can't be judged yet`] : []),
  ].join("; ") + ".";
}

function predictorSentence({ pairs, attributes, kin }: CourtPrediction): string {
  if (pairs.length === 0) return "Nothing was both benched and played in yet.";
  const titles = new Map(pairs.map((pair) => [pair.metric, midSentence(pair.metric_title)]));
  const unseen = (metric: string, attribute: string) =>
    pairs.some((pair) =>
        pair.metric === metric && pair.attribute === attribute &&
        pair.unknowing !== null && !pair.unknowing.borne_out
      )
      ? " (not yet seen blind)"
      : "";
  const predicted = attributes.filter(({ predicts }) => predicts.length > 0).map((attribute) =>
    `${attribute.title.toLowerCase()} by ${
      inWords(
        attribute.predicts.map((id) => `${titles.get(id)!}${unseen(id, attribute.attribute)}`),
      )
    }`
  );
  const open = attributes.filter(({ predicts }) => predicts.length === 0)
    .map(({ title }) => title.toLowerCase());
  const shown = predicted.length === 0
    ? "No metric is shown to predict how a shoe plays"
    : `Over ${kin.shoes} shoes, ${kin.lines} ${
      kin.lines === 1 ? "line" : "lines"
    } and ${kin.makers} ${kin.makers === 1 ? "maker" : "makers"} the bench predicts ${
      predicted.join("; ")
    }`;
  return predicted.length > 0 && open.length > 0
    ? `${shown}. No metric is shown to predict ${inWords(open, "or")}.`
    : `${shown}.`;
}

function driftAdvice({ drift: { rigs }, reliability }: ReviewParts): string[] {
  const drifting = rigs.filter(({ claimed }) => claimed);
  if (drifting.length === 0) return [];
  const [worst] = drifting;
  const more = drifting.length - 1;
  const metric = reliability.metrics.find(({ metric }) => metric === worst.metric);
  return [
    `${rigAdvice(worst, metric)}${
      more === 0 ? "" : ` ${more} more ${more === 1 ? "drifts" : "drift"}.`
    }`,
  ];
}

/** A reading is a line of trials.csv, however many metrics are computed from it or checks it fails. */
function flaggedAdvice({ reliability, warnings = [] }: ReviewParts): string[] {
  const lines = new Set([
    ...reliability.metrics.flatMap(({ outliers }) => outliers.map(({ line }) => line)),
    ...warnings.filter(({ file, column }) => file === "trials.csv" && column === "value")
      .flatMap(({ line }) => line === null ? [] : [line]),
  ]);
  return lines.size === 0 ? [] : [readingsAdvice([...lines])];
}

function metricAdvice(metrics: readonly MetricReliability[]): string[] {
  const unfit = metrics.filter(({ verdict, withdrawn }) =>
    verdict === "not fit to publish" && withdrawn === null
  );
  const helped = metrics.find((metric) =>
    metric.verdict === "fit for groups only" && metric.trials_needed.icc_90 !== null &&
    metric.trials_needed.icc_90 > metric.trials_per_visit
  );
  return [
    ...(unfit.length > 0 ? [unfitAdvice(unfit)] : []),
    ...(helped === undefined ? [] : [trialsAdvice(helped)]),
  ];
}

function coverageAdvice({ metrics }: BenchCoverage): string[] {
  const late = metrics.filter(({ shoes_before_metric }) => shoes_before_metric > 0)
    .toSorted((a, b) => b.shoes_before_metric - a.shoes_before_metric)[0];
  const missing = metrics.filter(({ shoes_missing }) => shoes_missing > 0)
    .toSorted((a, b) => b.shoes_missing - a.shoes_missing)[0];
  return [
    ...(late === undefined
      ? []
      : [gapsAdvice({ ...late, shoes: late.shoes_before_metric, late: true })]),
    ...(missing === undefined
      ? []
      : [gapsAdvice({ ...missing, shoes: missing.shoes_missing, late: false })]),
  ];
}

function unsettledAdvice({ unsettled }: CourtPrediction): string[] {
  const next = unsettled.find(({ shoes }) => shoes !== null);
  return next === undefined ? [] : [
    `${shoesText(next.low!)} to ${shoesText(next.high!)} shoes (${shoesText(next.lines_low!)} to ${
      shoesText(next.lines_high!)
    } lines) would settle whether ${next.metric_title.toLowerCase()} goes with ${next.attribute_title.toLowerCase()}; there are ${next.n} of ${next.lines} lines.`,
  ];
}

function names(metrics: readonly MetricReliability[]): string {
  return inWords(metrics.map(({ title }) => midSentence(title)));
}

function inWords(items: readonly string[], last = "and"): string {
  return items.length < 2
    ? items.join("")
    : `${items.slice(0, -1).join(", ")} ${last} ${items.at(-1)}`;
}
