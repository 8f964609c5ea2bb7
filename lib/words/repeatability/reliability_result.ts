import type { MetricReliability, TrialReliability } from "../../studies/repeatability/types.ts";
import { sayReason } from "../reasons.ts";
import { reliabilitySentence } from "./reliability_sentence.ts";
import { sourceWords } from "./source_words.ts";

/** A repeatability study with its sentences, as a result file has it. */
export type ReliabilityResult = Omit<TrialReliability, "metrics" | "warnings"> & {
  readonly metrics: readonly (MetricReliability & { readonly sentence: string })[];
  readonly warnings: readonly string[];
};

/** What does a repeatability study look like in a result file: the numbers, each metric with its sentence? */
export function reliabilityResult(reliability: TrialReliability): ReliabilityResult {
  return {
    ...reliability,
    metrics: reliability.metrics.map((metric) => ({
      ...metric,
      sentence: reliabilitySentence(metric),
    })),
    warnings: reliabilityWarnings(reliability),
  };
}

/** What should a reader of repeatability figures know, and of which metrics? */
export function reliabilityWarnings({ warnings }: Pick<TrialReliability, "warnings">): string[] {
  return warnings.map(({ metrics, reason }) =>
    metrics === null ? sayReason(reason) : `${metrics.join(", ")}: ${sayReason(reason)}`
  );
}

/** Which sources of scatter could a design not tell apart, and why? One clause each. */
export function droppedWords({ dropped }: Pick<MetricReliability, "dropped">): string[] {
  return dropped.map(({ source, reason }) => `${sourceWords(source)}: ${sayReason(reason)}`);
}

/** A verdict in words, with the scatter that it has not seen. */
export function verdictWords(
  { verdict, unseen }: Pick<MetricReliability, "verdict" | "unseen">,
): string {
  const fit = verdict.startsWith("fit ");
  return fit && unseen.includes("days") ? `${verdict}, as far as one session shows` : verdict;
}
