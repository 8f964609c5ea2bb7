import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { ReliabilityVerdict } from "./types.ts";
import { ICC_BANDS } from "./icc_bands.ts";

const grades = [
  [ICC_BANDS.singles, "fit to rank single shoes"],
  [ICC_BANDS.tiers, "fit for tiers"],
  [ICC_BANDS.groups, "fit for groups only"],
] as const;

/**
 * What is a published mean good for?
 *
 * By the lower limit of its ICC: .90 or more to rank single shoes, .75 for tiers, .50 for groups, below
 * not fit to publish. Too few shoes to tell: one shoe, or an interval that reaches from below .50 to .90 or
 * above, so that the same data would do for the best verdict and for the worst. Can't tell: no interval
 * for another reason, which is given.
 */
export function reliabilityVerdict(
  { estimate, estimate_reason, lower, upper }: Pick<
    Estimate,
    "estimate" | "estimate_reason" | "lower" | "upper"
  >,
): { readonly verdict: ReliabilityVerdict; readonly reason: Reason } {
  if (estimate === null || lower === null || upper === null) {
    const reason = estimate_reason ?? { code: "no-limits" };
    const few = reason.code === "too-few" && reason.of === "subjects";
    return { verdict: few ? "too few shoes to tell" : "can't tell", reason };
  }
  if (lower < ICC_BANDS.groups && upper >= ICC_BANDS.singles) {
    return { verdict: "too few shoes to tell", reason: { code: "verdict-too-wide", lower, upper } };
  }
  const [least, verdict] = grades.find(([least]) => lower >= least) ??
    [0, "not fit to publish"] as const;
  return { verdict, reason: { code: "verdict-by-limit", lower, upper, least } };
}
