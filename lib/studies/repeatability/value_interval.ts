import { tQuantile } from "../../statistics/distributions.ts";
import type { PairNoise } from "./pair_noise.ts";

/**
 * Between what limits does a value, or a difference of two, lie given its noise?
 *
 * @param noise null where it is unknown; repeats that agree to the digit hide it, which does not show that there is none
 * @returns limits of Student's t with the noise's freedom, in the value's unit; nulls where the noise is unknown
 */
export function valueInterval(
  value: number,
  noise: PairNoise | null,
  confidence: number,
): { readonly lower: number | null; readonly upper: number | null } {
  if (noise === null || noise.variance === 0) return { lower: null, upper: null };
  const half = tQuantile((1 + confidence) / 2, noise.freedom) * Math.sqrt(noise.variance);
  return { lower: value - half, upper: value + half };
}
