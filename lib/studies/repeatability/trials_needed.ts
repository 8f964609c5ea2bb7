import { normalUpperQuantile } from "../../statistics/distributions.ts";
import type { ReasonOrWords } from "../../statistics/reason.ts";

const MOST = 200;

/** A number of trials a visit, or why there is none. */
export type TrialsNeeded = {
  readonly trials: number | null;
  readonly reason: ReasonOrWords | null;
};

/** Variances that decide how many trials are worth taking; in the metric's unit, squared. */
export type NoiseShares = {
  readonly shoe: number;
  /** Session, shoe:session, operator: what more trials in a visit do not lessen. */
  readonly visit: number;
  readonly trial: number;
};

/**
 * How many trials a visit until the mean has a wanted ICC?
 *
 * The smallest k with shoe / (shoe + visit + trial/k) ≥ wanted: Spearman and Brown's step-up, but for
 * the part that differs between visits, which no number of trials lessens.
 */
export function trialsForIcc({ shoe, visit, trial }: NoiseShares, wanted: number): TrialsNeeded {
  if (!(shoe > 0)) return { trials: null, reason: "shoes do not differ beyond noise" };
  const room = shoe * (1 - wanted) / wanted - visit;
  const words = wanted.toFixed(2).replace(/^0/, "");
  return fewest(trial, room, `an ICC of ${words}`);
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
  return fewest(
    trial,
    difference ** 2 / (2 * z * z) - visit,
    "the smallest difference that matters",
  );
}

function fewest(trial: number, room: number, goal: string): TrialsNeeded {
  if (room <= 0) {
    return { trials: null, reason: "visits of one shoe differ too much by themselves" };
  }
  // 3.0000000000000004 is three.
  const trials = Math.max(1, Math.ceil(trial / room * (1 - 1e-12)));
  return trials > MOST
    ? { trials: null, reason: `more than ${MOST} a visit would be needed for ${goal}` }
    : { trials, reason: null };
}
