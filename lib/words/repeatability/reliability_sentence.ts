import type { MetricReliability } from "../../studies/repeatability/trial_reliability.ts";
import { sayReason } from "../reasons.ts";
import { inUnit } from "../unit_words.ts";

/**
 * What does a metric's reliability mean to somebody who watches the video?
 *
 * The MDC is that of means from two sessions, or from one where sessions can't be told from trials; the
 * number of trials is for the smallest difference that matters, or for an ICC of .90 without one.
 */
export function reliabilitySentence(
  metric: Omit<MetricReliability, "sentence">,
): string {
  const { mdc, trials_per_visit: k, trials_needed: needed, smallest_difference } = metric;
  const taken = `you take ${k}`;
  const mdcUsed = mdc.mean_across_sessions.estimate !== null ? mdc.mean_across_sessions : mdc.mean;
  if (mdcUsed.estimate === null) {
    return `Nobody can say yet how far two shoes must differ on this test: ${
      sayReason(mdcUsed.estimate_reason!)
    }.`;
  }
  const where = mdcUsed === mdc.mean ? " benched in one session" : "";
  const first = `Two shoes${where} must differ by ${
    inUnit(mdcUsed.estimate, metric)
  } before this test can tell them apart`;
  const matters = smallest_difference === null
    ? null
    : `the ${inUnit(smallest_difference, metric)} that matter${
      smallest_difference === 1 ? "s" : ""
    } to a player`;
  const trials = matters === null ? needed.icc_90 : needed.smallest_difference;
  const reason = matters === null ? needed.icc_90_reason : needed.smallest_difference_reason;
  const goal = matters === null ? "rank single shoes" : `see ${matters}`;
  const second = trials === null
    ? `no number of trials a visit will ${goal}: ${sayReason(reason!)}`
    : `to ${goal} you would need ${trials} ${trials === 1 ? "trial" : "trials"}, ${taken}`;
  return `${first}; ${second}.`;
}
