import type { StudyAudit } from "../../studies/audit/study_audit.ts";
import { auditSentence } from "./audit_words.ts";
import { percent } from "../phrases.ts";

/**
 * Do the intervals hold the truth, does nothing pass for something, is something found: one sentence?
 *
 * Of the true correlations that were tried the middle one; all of them stand in `auditSentence`.
 */
export function auditFinding(audit: StudyAudit): string {
  const icc = audit.repeatability?.coverage.icc_mean ?? null;
  const claims = audit.prediction?.false_predicts ?? null;
  if (icc === null || icc.estimate === null || claims === null || claims.estimate === null) {
    return auditSentence(audit);
  }
  const power = audit.prediction!.power.filter(({ found }) => found.estimate !== null);
  const middle = power[Math.floor(power.length / 2)];
  return `On simulated benches of this design the intervals of the ICC held the truth for ${
    percent(icc.estimate)
  } of ${icc.n} metrics (${
    percent(audit.repeatability!.promised.coverage)
  } is promised); with nothing true, ${
    limits(claims)
  } of ${claims.n} first reviews claim a prediction${
    middle === undefined
      ? ""
      : `; a true correlation of ${middle.rho} is found in ${limits(middle.found)}`
  }.`;
}

function limits(
  { estimate, lower, upper }: {
    readonly estimate: number | null;
    readonly lower: number | null;
    readonly upper: number | null;
  },
): string {
  return lower === null || upper === null
    ? percent(estimate!)
    : `${percent(estimate!)} (${Math.round(100 * lower)} to ${percent(upper)})`;
}
