import type { MetricReliability } from "../../studies/repeatability/types.ts";
import { coarseReason } from "../../studies/repeatability/coarse_steps.ts";
import { sayReason } from "../reasons.ts";
import { inUnit, noiseInUnit } from "../unit_words.ts";
import { noiseDecimals } from "../digits.ts";
import { ICC_BANDS } from "../../studies/repeatability/icc_bands.ts";
import { counted, listed, midSentence } from "../phrases.ts";
import { VERDICTS } from "../../studies/repeatability/verdicts.ts";

/**
 * What does a metric's reliability mean to somebody who watches the video?
 *
 * First the MDC: of means from two sessions, or from one where sessions can't be told from trials. Then what
 * follows from its largest cause: a drift to be taken out; or how many trials would do, by the limits that
 * the verdict goes by, so that both say the same.
 */
export function reliabilitySentence(metric: MetricReliability): string {
  const { mdc, drift_noise, verdict_reason } = metric;
  if (verdict_reason.code === "too-coarse") {
    return `Nobody can say how shoes differ on this test: ${sayReason(verdict_reason)}.`;
  }
  const used = mdcInUse(metric);
  if (used.estimate === null) {
    return `Nobody can say yet how far two shoes must differ on this test: ${
      sayReason(used.estimate_reason!)
    }.`;
  }
  const asRead = drift_noise.as_read.mdc.estimate;
  const first = `${
    drift_noise.in_force === "corrected" ? "Corrected to the reference shoes, two" : "Two"
  } shoes${used === mdc.mean ? " benched in one session" : ""} must differ by ${
    noiseInUnit(used.estimate, metric)
  }${noiseLimits(used)} before this test can tell them apart${
    drift_noise.in_force === "corrected" && asRead !== null
      ? ` (${noiseInUnit(asRead, metric)} as read)`
      : ""
  }`;
  return [first, driftClause(metric) ?? trialsClause(metric), daysClause(metric)]
    .filter((clause) => clause !== null).join("; ") + ".";
}

/** " (1.8 to 3.0)": the limits of a figure of noise behind it, to its own decimals; nothing where there are none. */
export function noiseLimits(
  { estimate, lower, upper }: Pick<MetricReliability["sem"], "estimate" | "lower" | "upper">,
): string {
  if (estimate === null || lower === null || upper === null) return "";
  const decimals = noiseDecimals(estimate);
  return ` (${lower.toFixed(decimals)} to ${upper.toFixed(decimals)})`;
}

/** The MDC to publish by. */
export function mdcInUse(
  { mdc }: Pick<MetricReliability, "mdc">,
): MetricReliability["mdc"]["mean"] {
  return mdc.mean_across_sessions.estimate !== null ? mdc.mean_across_sessions : mdc.mean;
}

/** Is a drift that could be taken out the largest part of the noise? */
export function driftIsWorst({ drift_noise }: Pick<MetricReliability, "drift_noise">): boolean {
  return drift_noise.drift_found && drift_noise.in_force === "as read" &&
    drift_noise.largest === "drift" && drift_noise.corrected !== null;
}

/** What drift makes of the noise where it is the largest part. */
function driftPart({ drift_noise: { causes } }: Pick<MetricReliability, "drift_noise">): string {
  return causes !== null && causes.drift > causes.visits + causes.trials
    ? "Most"
    : "The largest part";
}

/** "MDC 2.3 → 0.89 cm": what correcting does. */
export function correctionGain(metric: MetricReliability): string {
  const { as_read, corrected } = metric.drift_noise;
  const [from, to] = [as_read.mdc.estimate!, corrected!.mdc.estimate!];
  return `MDC ${from.toFixed(noiseDecimals(from))} → ${noiseInUnit(to, metric)}`;
}

/**
 * How far can the bench's metrics be trusted, taken together?
 *
 * How many have each verdict, then for which of those published as read a drift is the largest noise, and
 * what correcting it would give.
 */
export function reliabilityFinding(metrics: readonly MetricReliability[]): string {
  if (metrics.length === 0) return "No metric has been benched yet.";
  const verdicts = VERDICTS.flatMap((verdict) => {
    const count = metrics.filter((metric) => metric.verdict === verdict).length;
    return count === 0 ? [] : [`${count} ${count === 1 ? "is" : "are"} ${groupWords(verdict)}`];
  });
  const remedies = metrics.filter((metric) =>
    driftIsWorst(metric) && metric.drift_noise.corrected?.mdc.estimate != null
  ).map((metric) =>
    ` ${driftPart(metric)} of the noise of ${
      midSentence(metric.title)
    } is a drift of rigs and days, which no number of trials lessens: correct it to the reference shoes (${
      correctionGain(metric)
    }).`
  );
  const coarse = metrics.flatMap((metric) =>
    metric.steps === null
      ? []
      : ` Of ${midSentence(metric.title)} ${sayReason(coarseReason(metric.steps, metric))}.`
  );
  const [{ verdict }] = metrics;
  const all = metrics.every((metric) => metric.verdict === verdict);
  return `${
    all ? allWords(metrics) : `Of ${counted(metrics.length, "metric")} ${listed(verdicts)}`
  }.${[...remedies, ...coarse].join("")}`;
}

/** Where one verdict holds for all: with the reason, where it is that nobody can tell. */
function allWords(metrics: readonly MetricReliability[]): string {
  const [{ verdict, verdict_reason }] = metrics;
  const which = metrics.length === 1 ? "The one metric is" : `All ${metrics.length} metrics are`;
  if (verdict !== "can't tell") return `${which} ${groupWords(verdict)}`;
  const same = metrics.every((metric) => metric.verdict_reason.code === verdict_reason.code);
  return `${metrics.length === 1 ? "The one metric" : `None of ${metrics.length} metrics`} can${
    metrics.length === 1 ? "'t" : ""
  } be judged yet${same ? `: ${sayReason(verdict_reason)}` : ""}`;
}

function groupWords(verdict: MetricReliability["verdict"]): string {
  switch (verdict) {
    case "too few shoes to tell":
      return "read on too few shoes to tell";
    case "can't tell":
      return "not to be judged yet";
    default:
      return verdict;
  }
}

function driftClause(metric: MetricReliability): string | null {
  return driftIsWorst(metric) && metric.drift_noise.corrected?.mdc.estimate != null
    ? `${
      midSentence(driftPart(metric))
    } of that is a drift of rigs and days, which no number of trials lessens: correct to the reference shoes (${
      correctionGain(metric)
    })`
    : null;
}

function trialsClause(metric: MetricReliability): string | null {
  const { trials_per_visit: k, trials_needed: needed, smallest_difference, verdict } = metric;
  if (verdict === "too few shoes to tell" || verdict === "can't tell") return null;
  const ranks = verdict === "fit to rank single shoes";
  if (ranks && smallest_difference === null) return null;
  const [trials, reason, goal] = ranks
    ? [
      needed.smallest_difference,
      needed.smallest_difference_reason,
      `see the ${inUnit(smallest_difference!, metric)} that matter${
        smallest_difference === 1 ? "s" : ""
      } to a player`,
    ] as const
    : [needed.icc_90, needed.icc_90_reason, "rank single shoes"] as const;
  if (trials !== null) {
    return `to ${goal} you would need ${trials} ${
      trials === 1 ? "trial" : "trials"
    }, you take ${k}`;
  }
  if (!ranks && (metric.icc_mean.estimate ?? 0) >= ICC_BANDS.singles) {
    return `more shoes or visits, not more trials, would show whether it can ${goal}`;
  }
  return `no number of trials a visit will surely ${goal}: ${sayReason(reason!)}`;
}

function daysClause({ unseen }: MetricReliability): string | null {
  return unseen.includes("days")
    ? "what differs from day to day is in no figure, since no shoe was benched in two sessions"
    : null;
}
