import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import {
  type PredictionAudit,
  predictionAudit,
  type PredictionAuditOptions,
} from "./prediction_audit.ts";
import { type RepeatabilityAudit, repeatabilityAudit } from "./repeatability_audit.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** Whether a review's studies can be trusted at this size, each part null when it was not asked for. */
export type StudyAudit = {
  readonly repeatability: RepeatabilityAudit | null;
  readonly prediction: PredictionAudit | null;
};

/**
 * Can this study be trusted at this size?
 *
 * Draws benches of the lab's own design from what was fitted, runs the studies on them again and counts:
 * how often intervals hold the truth, how often nothing passes for something, how often something is found.
 *
 * @param reliability as `trialReliability` found it on this bench
 * @param options.repeatability, options.prediction sizes of each part; null leaves it out
 */
export function studyAudit(
  bench: Bench,
  reliability: TrialReliability,
  { seed, repeatability = {}, prediction = {} }: {
    readonly seed: number;
    readonly repeatability?:
      | Omit<NonNullable<Parameters<typeof repeatabilityAudit>[2]>, "seed">
      | null;
    readonly prediction?: Omit<PredictionAuditOptions, "seed" | "reliability"> | null;
  },
): StudyAudit {
  option.check("studies.studyAudit", arguments[2], {
    seed: option.needed(option.seed),
    repeatability: option.orNull(option.thing),
    prediction: option.orNull(option.thing),
  });
  return {
    repeatability: repeatability === null
      ? null
      : repeatabilityAudit(bench, reliability, { seed, ...repeatability }),
    prediction: prediction === null
      ? null
      : predictionAudit(bench, { seed, reliability, ...prediction }),
  };
}
