import type { Bench } from "../records/types.ts";
import {
  type TrialReliability,
  trialReliability,
} from "../studies/repeatability/trial_reliability.ts";

/**
 * What noise does an answer reckon with, metric by metric?
 *
 * Only the components are used, not their limits, so few draws do: components don't depend on draws.
 *
 * @returns asks for some metrics of this bench, or for all; those that it doesn't have are passed over
 */
export function componentNoise(
  bench: Bench,
  seed: number,
): (metrics?: readonly string[]) => TrialReliability {
  return (metrics) =>
    trialReliability(bench, {
      seed,
      resamples: 100,
      componentLimits: false,
      metrics: metrics &&
        [...new Set(metrics)].filter((id) => bench.metrics.some((metric) => metric.id === id)),
    });
}
