import type { Estimate } from "../../statistics/estimate.ts";
import { sayReason } from "../../words/reasons.ts";
import type { ReliabilityVerdict } from "./trial_reliability.ts";

const grades = [
  [0.9, "fit to rank single shoes"],
  [0.75, "fit for tiers"],
  [0.5, "fit for groups only"],
] as const;

/**
 * What is a published mean good for?
 *
 * By the lower limit of its ICC: .90 or more to rank single shoes, .75 for tiers, .50 for groups, below
 * not fit to publish. Too few shoes to tell: no interval, or one that reaches from below .50 to .90 or
 * above, so that the same data would do for the best verdict and for the worst.
 */
export function reliabilityVerdict(
  { estimate, estimate_reason, lower, upper }: Pick<
    Estimate,
    "estimate" | "estimate_reason" | "lower" | "upper"
  >,
): { readonly verdict: ReliabilityVerdict; readonly reason: string } {
  if (estimate === null || lower === null || upper === null) {
    return {
      verdict: "too few shoes to tell",
      reason: `there is no interval to judge by: ${
        sayReason(estimate_reason ?? "the data give no limits")
      }`,
    };
  }
  const range = `the ICC of the published mean lies between ${lower.toFixed(2)} and ${
    upper.toFixed(2)
  }`;
  if (lower < 0.5 && upper >= 0.9) {
    return { verdict: "too few shoes to tell", reason: `${range}: from useless to excellent` };
  }
  const grade = grades.find(([least]) => lower >= least);
  return grade === undefined
    ? { verdict: "not fit to publish", reason: `${range}; its lower limit is below 0.50` }
    : {
      verdict: grade[1],
      reason: `${range}; its lower limit is at least ${grade[0].toFixed(2)}`,
    };
}
