import type { TrialsCurve } from "../../studies/repeatability/trials_curve.ts";
import { sayReason } from "../reasons.ts";
import { inUnit, noiseInUnit } from "../unit_words.ts";

/** What would more trials a visit come to, for the ICC of the mean or for the difference that they show? */
export function trialsNeededWords(
  curve: TrialsCurve,
  limit: NonNullable<TrialsCurve["limit"]>,
  of: "icc" | "mdc",
): string {
  const { points, taken, smallest_difference, needed_90 } = curve;
  const now = points[taken - 1];
  if (of === "mdc") {
    return `With ${taken} trials two shoes must differ by ${
      noiseInUnit(now.mdc, curve)
    }, with trials without end by ${noiseInUnit(limit.mdc, curve)}.${
      smallest_difference === null ? "" : ` A player feels ${inUnit(smallest_difference, curve)}.`
    }`;
  }
  return `With ${taken} trials the ICC of the mean is ${
    now.icc.toFixed(2)
  }, with trials without end ${limit.icc.toFixed(2)}. ${
    needed_90 === null
      ? `It does not surely reach 0.90: ${sayReason(curve.needed_90_reason!)}.`
      : `${needed_90} ${needed_90 === 1 ? "trial surely reaches" : "trials surely reach"} 0.90.`
  }`;
}
