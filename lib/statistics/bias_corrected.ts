import { normalCdf, normalQuantile } from "./distributions.ts";
import type { Reason } from "./reason.ts";

/** What the bias-corrected and accelerated interval takes its percentiles from. */
type BiasCorrection = {
  /** Share of the resamples that lies below the lower and the upper limit. */
  readonly lowerShare: number;
  readonly upperShare: number;
  /** Median bias of the resamples in standard normal units. */
  readonly bias: number;
  /** How fast the standard error changes with the value. */
  readonly acceleration: number;
  /** Set when the correction broke down and plain percentiles stand in. */
  readonly warning: Reason | null;
};

/**
 * At which percentiles of the resamples do the limits stand?
 *
 * @param below, equal, resamples resampled values below and equal to the estimate, and all of them
 * @param jackknife the estimate with each row left out
 * @see Efron & Tibshirani 1993, An Introduction to the Bootstrap, section 14.3. Ties with the
 *   estimate count half, and the share below is kept off 0 and 1 by half a resample.
 */
export function biasCorrectedShares(
  { below, equal, resamples, jackknife, confidence }: {
    readonly below: number;
    readonly equal: number;
    readonly resamples: number;
    readonly jackknife: ArrayLike<number>;
    readonly confidence: number;
  },
): BiasCorrection {
  const half = 0.5 / resamples;
  const share = Math.min(Math.max((below + equal / 2) / resamples, half), 1 - half);
  const bias = normalQuantile(share);
  const acceleration = jackknifeAcceleration(jackknife);
  const tail = (1 - confidence) / 2;
  const z = normalQuantile(tail);
  const shifted = (point: number) => {
    const scale = 1 - acceleration * (bias + point);
    return scale > 0 ? normalCdf(bias + (bias + point) / scale) : null;
  };
  const lowerShare = shifted(z);
  const upperShare = shifted(-z);
  if (lowerShare === null || upperShare === null) {
    return {
      lowerShare: tail,
      upperShare: 1 - tail,
      bias,
      acceleration,
      warning: { code: "not-corrected" },
    };
  }
  return { lowerShare, upperShare, bias, acceleration, warning: null };
}

/** Efron's acceleration from the leave-one-out values; 0 when they do not vary. NaN values are left out. */
export function jackknifeAcceleration(jackknife: ArrayLike<number>): number {
  let n = 0;
  let mean = 0;
  for (let i = 0; i < jackknife.length; i++) {
    if (jackknife[i] !== jackknife[i]) continue;
    n++;
    mean += (jackknife[i] - mean) / n;
  }
  let squares = 0;
  let cubes = 0;
  for (let i = 0; i < jackknife.length; i++) {
    if (jackknife[i] !== jackknife[i]) continue;
    const away = mean - jackknife[i];
    squares += away * away;
    cubes += away * away * away;
  }
  // Rounding alone gives squares of this size; their ratio would be noise.
  if (squares <= n * (1e-13 * mean) ** 2) return 0;
  return cubes / (6 * squares ** 1.5);
}
