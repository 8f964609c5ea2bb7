import { counted, midSentence } from "../comparison/answer_words.ts";
import { rigSentence } from "../drift/drift_sentences.ts";
import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import { estimateInWords } from "../review/review_tables.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";
import type { MetricReliability } from "../../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../reasons.ts";

const uses: Readonly<Record<MetricReliability["verdict"], string>> = {
  "fit to rank single shoes": "two shoes side by side in a table mean something",
  "fit for tiers": "tell good from middling from poor, not one shoe from the next",
  "fit for groups only": "compare groups of shoes, not single ones",
  "not fit to publish": "a table of means would mostly show chance",
  "too few shoes to tell": "more shoes, or more repeats, have to be read first",
};

/**
 * What is one metric good for, and what is to be done about it?
 *
 * @param study the metric, from `trialReliability`
 * @param drift what the reference shoes say of it, if that was looked at
 */
export function trialSummary(
  study: MetricReliability,
  { drift }: { readonly drift?: Pick<ReferenceDrift, "rigs"> } = {},
): NotebookSummary {
  const rigs = (drift?.rigs ?? []).filter(({ metric }) => metric === study.metric);
  return notebookSummary([
    `${
      study.verdict === "too few shoes to tell"
        ? `For ${midSentence(study.title)} there are ${study.verdict}`
        : `${study.title} is ${study.verdict}`
    }: ${uses[study.verdict]}. ${iccWords(study)}`,
    study.sentence,
    ...rigs.filter(({ claimed }) => claimed).map(rigSentence),
  ], [
    ...(rigs.some(({ claimed }) => claimed)
      ? ["Check the rig that drifts before the next session; older figures no longer compare."]
      : []),
    ...outlierAdvice(study),
    ...(study.order_test.found
      ? [
        "Warm the test up, or take the same number of trials every time: trials depend on their order.",
      ]
      : []),
    ...trialsAdvice(study),
    ...(neverEnough(study)
      ? [
        "More trials a visit won't help; look for what changes between sessions, or bench a shoe in more of them.",
      ]
      : []),
    ...(study.verdict === "too few shoes to tell"
      ? ["Read more shoes on this test, each at least twice in a visit."]
      : study.verdict === "not fit to publish"
      ? ["Don't publish it as it is measured now: change the method, or average over more visits."]
      : []),
  ]);
}

function iccWords({ icc_mean, trials_per_visit: k }: MetricReliability): string {
  const of = k === 1 ? "a single trial" : `a mean of ${k} trials`;
  return icc_mean.estimate === null
    ? `Of its ICC, the share of the scatter that lies between shoes, nothing is known: ${
      sayReason(icc_mean.estimate_reason!)
    }.`
    : `The ICC of ${of}, the share of the scatter that lies between shoes, is ${
      estimateInWords(icc_mean, 2)
    }; the brackets say where it may well lie, and their lower end decides.`;
}

function outlierAdvice({ outliers }: MetricReliability): string[] {
  if (outliers.length === 0) return [];
  const [first] = outliers;
  return [
    `Look up ${
      counted(outliers.length, "trial that stands", "trials that stand")
    } out, first line ${first.line} of trials.csv; a trial counts until somebody writes a reason into "excluded".`,
  ];
}

/** Is it the visits that scatter, so that trials don't count? */
function neverEnough({ trials_needed: needed, smallest_difference, verdict }: MetricReliability) {
  const trials = smallest_difference === null ? needed.icc_90 : needed.smallest_difference;
  return trials === null && (verdict === "fit for groups only" || verdict === "fit for tiers");
}

function trialsAdvice(study: MetricReliability): string[] {
  const { trials_per_visit: k, trials_needed: needed, smallest_difference } = study;
  const [trials, goal] = smallest_difference === null
    ? [needed.icc_90, "to rank single shoes"]
    : [needed.smallest_difference, "to see what a player feels"];
  if (trials === null || trials === k) return [];
  return trials > k
    ? [`Take ${trials} trials a visit instead of ${k}, ${goal}.`]
    : [`${counted(trials, "trial")} a visit would do ${goal}; you take ${k}.`];
}
