import { normalUpperQuantile } from "../../statistics/distributions.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { BenchNoise } from "./bench_noise.ts";

/** By how much must published means of two different sessions differ before it is more than noise? */
export function mdcAcross(
  { noise_across: noise }: Pick<BenchNoise, "noise_across">,
  confidence: number,
): Estimate {
  const factor = Math.SQRT2 * normalUpperQuantile((1 - confidence) / 2);
  const root = (variance: number | null) => variance === null ? null : factor * Math.sqrt(variance);
  return {
    ...noise,
    estimate: root(noise.estimate),
    lower: root(noise.lower),
    upper: root(noise.upper),
    method: `${factor.toFixed(3)} times the root of: ${noise.method}`,
  };
}
