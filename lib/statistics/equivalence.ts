import * as option from "../options.ts";
import { normalQuantile, normalUpper, tQuantile, tUpper } from "./distributions.ts";

/** Whether a difference is shown to be too small to matter. */
export type Equivalence = {
  /** True if the difference is shown to lie inside the margin. */
  readonly equivalent: boolean;
  /** True if it is shown to lie outside on one side. */
  readonly beyond: boolean;
  /** The larger of the two one-sided p-values. */
  readonly p: number | null;
  readonly p_above_low: number | null;
  readonly p_below_high: number | null;
  readonly estimate: number;
  /** Interval that has to lie inside the margin. */
  readonly lower: number;
  readonly upper: number;
  readonly confidence: number;
  readonly margin: readonly [number, number];
  readonly method: string;
};

/**
 * Are two things alike enough for the difference not to matter?
 *
 * Two one-sided tests, each at the level 1 − confidence: the same as asking whether the two-sided
 * interval of confidence 1 − 2·(1 − confidence) lies inside the margin. Finding no difference is not
 * this: a wide interval shows neither.
 *
 * @param estimate the difference, in the metric's unit
 * @param standardError its standard error; 0 if the difference is known
 * @param freedom its degrees of freedom; Infinity (the default) for a normal one
 * @param margin the largest difference that does not matter, or [low, high]
 * @throws {RangeError} if the margin does not hold 0 or an argument is out of range
 * @see Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15:657
 *
 * @example A difference of 0.2 ± 0.1 mm against a margin of 0.5 mm
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const found = statistics.equivalence({ estimate: 0.2, standardError: 0.1, freedom: 18 }, { margin: 0.5 });
 * assert.equal(found.equivalent, true);
 * ```
 */
export function equivalence(
  { estimate, standardError, freedom = Infinity }: {
    readonly estimate: number;
    readonly standardError: number;
    readonly freedom?: number;
  },
  { margin, confidence = 0.95 }: {
    readonly margin: number | readonly [number, number];
    readonly confidence?: number;
  },
): Equivalence {
  option.check("statistics.equivalence", arguments[1], {
    margin: option.needed(option.either(option.number, option.thing)),
    confidence: option.share,
  });
  const [low, high] = typeof margin === "number" ? [-margin, margin] : margin;
  if (!(low < 0 && high > 0 && Number.isFinite(high - low))) {
    throw new RangeError(`A margin has 0 inside it, was given ${low} to ${high}`);
  }
  if (!Number.isFinite(estimate) || !(standardError >= 0) || !Number.isFinite(standardError)) {
    throw new RangeError(
      `Expected a finite difference and a standard error of at least 0, was given ${estimate} and ${standardError}`,
    );
  }
  if (!(freedom > 0)) throw new RangeError(`Degrees of freedom are above 0, was given ${freedom}`);
  if (!(confidence > 0.5 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0.5 and 1, was given ${confidence}`);
  }
  const normal = freedom === Infinity;
  const upperTail = (t: number) => normal ? normalUpper(t) : tUpper(t, freedom);
  // A known difference (standard error 0) is inside or not.
  const tail = (distance: number) =>
    standardError === 0 ? (distance > 0 ? 0 : 1) : upperTail(distance / standardError);
  const p_above_low = tail(estimate - low);
  const p_below_high = tail(high - estimate);
  const half = (normal ? normalQuantile(confidence) : tQuantile(confidence, freedom)) *
    standardError;
  const lower = estimate - half;
  const upper = estimate + half;
  return {
    equivalent: lower > low && upper < high,
    beyond: lower > high || upper < low,
    p: Math.max(p_above_low, p_below_high),
    p_above_low,
    p_below_high,
    estimate,
    lower,
    upper,
    confidence: 1 - 2 * (1 - confidence),
    margin: [low, high],
    method: `two one-sided ${normal ? "z" : "t"} tests at ${+(1 - confidence).toPrecision(6)}`,
  };
}
