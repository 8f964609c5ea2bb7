import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import type { BenchStep, RigDrift } from "../../studies/drift/rig_drift.ts";
import {
  driftMethod,
  driftSentence,
  driftWarnings,
  rigSentence,
  stepSentence,
} from "./drift_sentences.ts";

/** A drift study with its sentences, as a result file has it. */
export type DriftResult = Omit<ReferenceDrift, "rigs" | "steps"> & {
  readonly rigs: readonly (RigDrift & { readonly sentence: string })[];
  readonly steps: readonly (BenchStep & { readonly sentence: string })[];
  readonly method: string;
  readonly warnings: readonly string[];
  readonly sentence: string;
};

/** What does a drift study look like in a result file: the numbers, each claim with its sentence? */
export function driftResult(drift: ReferenceDrift): DriftResult {
  return {
    ...drift,
    rigs: drift.rigs.map((rig) => ({ ...rig, sentence: rigSentence(rig) })),
    steps: drift.steps.map((step) => ({ ...step, sentence: stepSentence(step) })),
    method: driftMethod(drift),
    warnings: driftWarnings(drift),
    sentence: driftSentence(drift),
  };
}
