import * as option from "../options.ts";
import { normalUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";

/**
 * By how much must two means of k trials differ before the difference is more than noise?
 *
 * z·√2·√(s_r²/k + σ_session²): the session term joins when the two were read in different sessions.
 * Limits recover each variance's own limits around the sum (Graybill & Wang's modified large-sample
 * method, Zou & Donner's MOVER), which is the chi-squared interval when there is one variance.
 *
 * @param repeatability SD of a single trial, as `repeatabilitySd` gives it
 * @param options.averaged trials in each mean, k
 * @param options.session SD between sessions of the same subject, when the means are of two sessions
 * @param options.probability how seldom noise alone goes past it: 0.95 for one in twenty
 * @throws {RangeError} if k is less than 1
 * @see Weir 2005; Burdick & Graybill 1992
 */
export function minimalDetectableChange(
  repeatability: Estimate,
  { averaged = 1, session, probability = 0.95 }: {
    readonly averaged?: number;
    readonly session?: Estimate;
    readonly probability?: number;
  } = {},
): Estimate {
  option.check("statistics.minimalDetectableChange", arguments[1], {
    averaged: option.whole(1),
    session: option.thing,
    probability: option.share,
  });
  if (!(averaged >= 1 && averaged < Infinity)) {
    throw new RangeError(`A mean is of 1 trial or more, was given ${averaged}`);
  }
  const factor = Math.SQRT2 * normalUpperQuantile((1 - probability) / 2);
  const about = {
    confidence: repeatability.confidence,
    n: repeatability.n,
    method: `${factor.toFixed(3)} times the SD of a mean of ${averaged}${
      session ? ", sessions included" : ""
    }`,
    warnings: [...repeatability.warnings, ...(session?.warnings ?? [])],
  };
  for (const part of [repeatability, session]) {
    if (part && part.estimate === null) return noEstimate(part.estimate_reason!, about);
  }
  const variance = variancesOf(repeatability, averaged);
  const other = session ? variancesOf(session, 1) : { value: 0, lower: 0, upper: 0 };
  const whole = variance.value + other.value;
  const side = (end: "lower" | "upper", sign: number) => {
    const [own, more] = [variance[end], other[end]];
    if (own === null || more === null) return null;
    const reach = Math.hypot(own - variance.value, more - other.value);
    return factor * Math.sqrt(Math.max(0, whole + sign * reach));
  };
  return {
    estimate: factor * Math.sqrt(whole),
    estimate_reason: null,
    lower: side("lower", -1),
    upper: side("upper", 1),
    ...about,
  };
}

function variancesOf(sd: Estimate, over: number) {
  const squared = (x: number | null) => x === null ? null : x * x / over;
  return { value: sd.estimate! ** 2 / over, lower: squared(sd.lower), upper: squared(sd.upper) };
}
