import type { Estimate } from "../../statistics/estimate.ts";
import { hasCode } from "../../statistics/reason.ts";
import type { PredictionAudit } from "../../studies/audit/prediction_audit.ts";
import type { RepeatabilityAudit } from "../../studies/audit/repeatability_audit.ts";
import type { StudyAudit } from "../../studies/audit/study_audit.ts";
import { sayReason, sayWarning } from "../reasons.ts";
import { counted, listed, percent } from "../phrases.ts";

/** An audit with its sentence, its warnings in words. */
export type ToldAudit<Audit> = Omit<Audit, "warnings"> & {
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** An audit with what it says, as a result file has it. */
export type AuditResult = {
  readonly repeatability: ToldAudit<RepeatabilityAudit> | null;
  readonly prediction: ToldAudit<PredictionAudit> | null;
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** What does an audit look like in a result file: the numbers, each part with its sentence? */
export function auditResult(audit: StudyAudit): AuditResult {
  const repeatability = audit.repeatability === null ? null : {
    ...told(audit.repeatability),
    sentence: repeatabilityAuditSentence(audit.repeatability),
  };
  const prediction = audit.prediction === null ? null : predictionAuditResult(audit.prediction);
  return {
    repeatability,
    prediction,
    sentence: auditSentence(audit),
    warnings: [...repeatability?.warnings ?? [], ...prediction?.warnings ?? []],
  };
}

/** What does the audit of the claims about the court look like in a result file? */
export function predictionAuditResult(audit: PredictionAudit): ToldAudit<PredictionAudit> {
  return { ...told(audit), sentence: predictionAuditSentence(audit) };
}

function told<Audit extends RepeatabilityAudit | PredictionAudit>(audit: Audit) {
  return { ...audit, warnings: audit.warnings.map(sayWarning) };
}

/** What do the parts of an audit that were asked for come to? */
export function auditSentence({ repeatability, prediction }: StudyAudit): string {
  return [
    ...(repeatability === null ? [] : [repeatabilityAuditSentence(repeatability)]),
    ...(prediction === null ? [] : [predictionAuditSentence(prediction)]),
  ].join(" ");
}

/** Do the intervals of the repeatability study hold the truth, and how often does noise pass for a finding? */
export function repeatabilityAuditSentence(
  { coverage: { icc_mean: icc }, false_alarms: alarms, simulations, promised }: RepeatabilityAudit,
): string {
  if (icc.estimate === null) {
    return `How the figures of repeatability do can't be tried out: ${
      sayReason(icc.estimate_reason)
    }.`;
  }
  const benches = simulations.false_alarms;
  const alarm = (name: string, { estimate }: Estimate) =>
    estimate === null ? [] : [`${name} on ${Math.round(estimate * benches)}`];
  return `On ${
    counted(simulations.intervals, "simulated bench", "simulated benches")
  } of this design the ${percent(promised.coverage)} intervals of the ICC held the truth for ${
    Math.round(icc.estimate * icc.n)
  } of ${counted(icc.n, "metric")} in all; where nothing was wrong, the study claimed ${
    [
      ...alarm("a drift", alarms.drift),
      ...alarm("an order effect", alarms.order_effect),
      ...alarm("an outlying trial", alarms.outliers),
    ].join(", ")
  } of ${benches} benches.`;
}

/** How often is a prediction claimed where nothing is true, and how often is a true one found? */
export function predictionAuditSentence(
  { shoes, metrics, courts, false_predicts: none, power }: PredictionAudit,
): string {
  const unknown = none.estimate_reason;
  // Nobody may have asked for benches in which nothing is true.
  if (unknown !== null && !hasCode(unknown, "not-simulated")) {
    return `The claims about the court can't be audited: ${sayReason(unknown)}.`;
  }
  return `On ${
    counted(none.n, "simulated bench", "simulated benches")
  } with these ${shoes} shoes, ${metrics} metrics, their gaps, makers${
    courts > 1 ? ", lines and courts" : " and lines"
  }, a first review in which nothing is true claims a prediction in ${withLimits(none)} of cases${
    power.length === 0
      ? ""
      : `; on ${
        listed([...new Set(power.map(({ found }) => String(found.n)))])
      } more each, a true correlation of ${
        power.map(({ rho, found }) => `${rho} is found in ${withLimits(found)}`).join(", of ")
      }`
  }.`;
}

function withLimits({ estimate, lower, upper }: Estimate): string {
  return estimate === null
    ? "unknown"
    : `${percent(estimate)} (${Math.round(100 * lower!)} to ${percent(upper!)})`;
}
