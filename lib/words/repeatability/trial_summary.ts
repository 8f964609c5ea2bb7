import * as option from "../../options.ts";
import { rigSentence } from "../drift/drift_sentences.ts";
import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import { estimateInWords, noiseInWords } from "../review/review_tables.ts";
import { sayReason } from "../reasons.ts";
import { verdictWords } from "./reliability_result.ts";
import { correctionGain, driftIsWorst, reliabilitySentence } from "./reliability_sentence.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";
import type { MetricReliability } from "../../studies/repeatability/trial_reliability.ts";
import { ICC_BANDS } from "../../studies/repeatability/icc_bands.ts";
import { coarseReason } from "../../studies/repeatability/coarse_steps.ts";
import { asSentence, counted, midSentence } from "../phrases.ts";

const uses: Readonly<Record<MetricReliability["verdict"], string>> = {
  "fit to rank single shoes": "two shoes side by side in a table mean something",
  "fit for tiers": "tell good from middling from poor, not one shoe from the next",
  "fit for groups only": "compare groups of shoes, not single ones",
  "not fit to publish": "a table of means would mostly show chance",
  "too few shoes to tell": "more shoes have to be read first",
  "can't tell": "shoes have to be read again first",
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
  option.check("words.repeatability.summary", arguments[1], { drift: option.thing });
  const rigs = (drift?.rigs ?? []).filter(({ metric }) => metric === study.metric);
  return notebookSummary([
    `${headWords(study)}: ${uses[study.verdict]}. ${iccWords(study)}`,
    reliabilitySentence(study),
    ...driftWords(study),
    ...(study.steps === null
      ? []
      : [`${asSentence(sayReason(coarseReason(study.steps, study)))}.`]),
    ...rigs.filter(({ claimed }) => claimed).map(rigSentence),
  ], [
    ...(rigs.some(({ claimed }) => claimed)
      ? ["Check the rig that drifts before the next session; older figures no longer compare."]
      : []),
    ...(driftIsWorst(study)
      ? [
        `Correct to the reference shoes (${
          correctionGain(study)
        }): write "${study.metric}" into corrected_metrics of bench.json.`,
      ]
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
      : study.verdict === "can't tell"
      ? ["Read each shoe at least twice in a visit, and some of them in two sessions."]
      : study.verdict === "not fit to publish"
      ? ["Don't publish it as it is measured now: change the method, or average over more visits."]
      : []),
  ]);
}

function headWords(study: MetricReliability): string {
  switch (study.verdict) {
    case "too few shoes to tell":
      return `For ${midSentence(study.title)} there are too few shoes to tell`;
    case "can't tell":
      return `Of ${midSentence(study.title)} nobody can tell yet what it is good for, since ${
        sayReason(study.verdict_reason)
      }`;
    default:
      return `${study.title} is ${verdictWords(study)}`;
  }
}

/** Noise as published and corrected side by side, where both are known. */
function driftWords({ drift_noise }: MetricReliability): string[] {
  const { as_read, corrected, in_force } = drift_noise;
  if (corrected === null) return [];
  const figures = ({ icc_mean, mdc, verdict }: typeof as_read) =>
    `ICC ${estimateInWords(icc_mean, 2)}, MDC ${noiseInWords(mdc)}, ${verdict}`;
  return [
    `As read${in_force === "as read" ? ", and published so" : ""}: ${
      figures(as_read)
    }. Corrected to the reference shoes${in_force === "corrected" ? ", and published so" : ""}: ${
      figures(corrected)
    }.`,
  ];
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
function neverEnough(study: MetricReliability) {
  const { trials_needed: needed, verdict, icc_mean } = study;
  return needed.icc_90 === null && (icc_mean.estimate ?? 1) < ICC_BANDS.singles &&
    !driftIsWorst(study) &&
    (verdict === "fit for groups only" || verdict === "fit for tiers");
}

function trialsAdvice(study: MetricReliability): string[] {
  const { trials_per_visit: k, trials_needed: needed, verdict } = study;
  if (verdict === "too few shoes to tell" || verdict === "can't tell" || driftIsWorst(study)) {
    return [];
  }
  const [trials, goal] = verdict === "fit to rank single shoes"
    ? [needed.smallest_difference, "to see what a player feels"]
    : [needed.icc_90, "to rank single shoes"];
  if (trials === null || trials === k) return [];
  return trials > k
    ? [`Take ${trials} trials a visit instead of ${k}, ${goal}.`]
    : [`${counted(trials, "trial")} a visit would do ${goal}; you take ${k}.`];
}
