import { normalUpperQuantile } from "../../statistics/distributions.ts";
import type { Reason } from "../../statistics/reason.ts";

const MOST = 200;

/** A number of trials a visit, or why there is none. */
export type TrialsNeeded = {
  readonly trials: number | null;
  readonly reason: Reason | null;
};

/** Variances that decide how many trials are worth taking; in the metric's unit, squared. */
export type NoiseShares = {
  readonly shoe: number;
  /** Session, shoe:session, pair, operator: what more trials in a visit do not lessen. */
  readonly visit: number;
  readonly trial: number;
};

/**
 * How many trials a visit until the mean has a wanted ICC?
 *
 * The smallest k with shoe / (shoe + visit + trial/k) ≥ wanted: Spearman and Brown's step-up, but for
 * the part that differs between visits, which no number of trials lessens. For a number that a verdict
 * would bear out, give noise as large as its limit allows (`noiseAtLimit`).
 */
export function trialsForIcc({ shoe, visit, trial }: NoiseShares, wanted: number): TrialsNeeded {
  if (!(shoe > 0)) return { trials: null, reason: { code: "no-difference" } };
  return fewest(trial, shoe * (1 - wanted) / wanted - visit, { icc: wanted });
}

/**
 * How many trials a visit until two means can be told apart at a wanted difference?
 *
 * The smallest k with z·√2·√(visit + trial/k) ≤ difference.
 */
export function trialsForDifference(
  { visit, trial }: Pick<NoiseShares, "visit" | "trial">,
  difference: number,
  confidence: number,
): TrialsNeeded {
  const z = normalUpperQuantile((1 - confidence) / 2);
  return fewest(trial, difference ** 2 / (2 * z * z) - visit, { difference });
}

/**
 * Variances with noise so large that the ICC of the published mean is at its lower limit.
 *
 * A verdict goes by that limit, so a number of trials beside it must too: never "2 trials would do" where
 * the verdict doesn't say so.
 */
export function noiseAtLimit(
  { shoe, visit, trial }: NoiseShares,
  { estimate, lower }: { readonly estimate: number; readonly lower: number },
): NoiseShares {
  if (!(lower > 0) || !(estimate > 0)) return { shoe: 0, visit, trial };
  if (estimate >= 1) return { shoe, visit, trial };
  const times = (1 - lower) / lower / ((1 - estimate) / estimate);
  return { shoe, visit: visit * times, trial: trial * times };
}

function fewest(
  trial: number,
  room: number,
  goal: { readonly icc: number } | { readonly difference: number },
): TrialsNeeded {
  if (room <= 0) return { trials: null, reason: { code: "visits-differ", ...goal } };
  // 3.0000000000000004 is three.
  const trials = Math.max(1, Math.ceil(trial / room * (1 - 1e-12)));
  return trials > MOST
    ? { trials: null, reason: { code: "too-many-trials", most: MOST, ...goal } }
    : { trials, reason: null };
}
