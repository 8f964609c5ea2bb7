import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import type { BenchStep, RigDrift } from "../../studies/drift/rig_drift.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords, type ReviewRow } from "../review/review_tables.ts";
import { inUnit, unitWords, valueInUnit } from "../unit_words.ts";
import { amountLimits, listed, midSentence } from "../phrases.ts";

/** What do the reference shoes say of one metric on one rig? A slope is told only where one is claimed. */
export function rigSentence(rig: RigDrift): string {
  const { title, slope, smallest_difference: margin, verdict } = rig;
  const where = rig.rig === null ? "on the bench" : `on ${rig.rig}`;
  const open = `${title} ${where}: can't tell yet whether it drifts`;
  if (verdict === "no drift") {
    return `${title} ${where} changes by less than the ${
      inUnit(margin!, rig)
    } a year that matter to a player.`;
  }
  if (verdict === "can't tell") {
    const reason = slope.estimate === null ? slope.estimate_reason : rig.p_reason;
    return `${open}${reason === null ? "" : `; ${sayReason(reason)}`}${
      margin === null && slope.estimate !== null
        ? "; with its smallest_difference in metrics.json, a drift too small to matter could be told"
        : ""
    }.`;
  }
  const change = `${title} ${where} ${changeWords(rig)}`;
  switch (verdict) {
    case "bench or reference":
      return `${change}; with one reference shoe that may be the bench or the shoe.`;
    case "the references disagree":
      return `${change}, but the reference shoes change at different rates, so at least one of them ages.`;
    case "the references age":
      return `${change}, but shoes that rest between sessions don't: the reference shoes age, not the bench.`;
    case "bench or references":
      return `${change}, and ${rig.references} reference shoes agree: the bench, or ${
        rig.references === 2 ? "both" : "all"
      } references alike, since they were benched alike; a shoe that rests between sessions would tell.`;
    case "the bench drifts":
      return `${change}, and ${rig.references} reference ${
        rig.references === 1 ? "shoe" : "shoes"
      } and shoes that rest between sessions agree: the bench drifts, not a shoe.`;
  }
}

/** The change of a rig in half a sentence, such as `Heel rebound on bench-b falls by 1.9 cm a year (…)`. */
export function rigChange(rig: RigDrift): string {
  return `${rig.title} ${rig.rig === null ? "on the bench" : `on ${rig.rig}`} ${changeWords(rig)}`;
}

/** A year's change; what was seen, where that was less than a year. */
function changeWords(rig: RigDrift): string {
  const { slope, from, to, smallest_difference: margin } = rig;
  const years = (Date.parse(to!) - Date.parse(from!)) / (365.25 * 86400000);
  const [times, verb, when] = years < 1
    ? [years, slope.estimate! < 0 ? "fell" : "rose", `from ${from} to ${to}`]
    : [1, slope.estimate! < 0 ? "falls" : "rises", "a year"];
  const small = margin !== null && slope.lower! > -margin && slope.upper! < margin;
  const seen = { lower: slope.lower! * times, upper: slope.upper! * times };
  const figure = (value: number) => valueInUnit(value, rig, seen);
  const [least, most] = amountLimits(seen.lower, seen.upper);
  return `${verb} by ${figure(Math.abs(slope.estimate!) * times)} ${when} (${figure(least)} to ${
    figure(most)
  })${small ? ", less in a year than matters to a player" : ""}`;
}

/** How far do readings jump where a rig, an operator or a method changes? */
export function stepSentence(step: BenchStep): string {
  const { title, difference, from, to } = step;
  if (difference.estimate === null || difference.lower === null || difference.upper === null) {
    return `${title}, ${from} and ${to}: can't be compared, ${
      sayReason(difference.estimate_reason ?? { code: "no-fit" })
    }.`;
  }
  const figure = (value: number) => valueInUnit(value, step, difference);
  const range = `${figure(difference.lower)} to ${figure(difference.upper)}`;
  return step.found
    ? `${title}: ${to} reads ${figure(Math.abs(difference.estimate))} ${
      difference.estimate < 0 ? "below" : "above"
    } ${from} on the same shoes (${range}).`
    : `${title}: no sure step from ${from} to ${to} (${range}).`;
}

/**
 * What do the reference shoes say of the whole bench? Claims first, then between whom readings jump (by how much
 * says `stepRows`), then how much is open.
 */
export function driftSentence({ rigs, steps, references }: ReferenceDrift): string {
  if (references.length === 0) return "No reference shoe is benched again, so drift can't be seen.";
  const jumps = stepsTogether(steps.filter((step) => step.found));
  return driftFound(rigs, jumps);
}

/** Which metrics drift on which rig, and how many nobody can judge? */
export function driftFound(
  rigs: readonly RigDrift[],
  /** What else was found, to stand before what is open. */
  between: readonly string[] = [],
): string {
  const claimed = rigs.filter((rig) => rig.claimed);
  const open = rigs.filter(({ verdict }) => verdict === "can't tell");
  const unmeasured = open.filter(({ smallest_difference }) => smallest_difference === null).length;
  const help = unmeasured === 0
    ? ""
    : `; for ${unmeasured} of them a smallest_difference in metrics.json would help`;
  if (open.length === rigs.length && claimed.length === 0) {
    return [
      `Whether the bench drifts can't be told yet on any metric and rig (${rigs.length} looked at)${help}.`,
      ...between,
    ].join(" ");
  }
  return [
    claimed.length === 0
      ? "No metric is seen to drift on any rig."
      : claimed.map(rigSentence).join(" "),
    ...between,
    ...(open.length === 0
      ? []
      : [`${open.length} of ${rigs.length} metrics on a rig can't be judged yet${help}.`]),
  ].join(" ");
}

/** What stands where no step is found: nothing to compare is not the same as no jump. */
export function noStepsSentence({ steps }: Pick<ReferenceDrift, "steps">): string {
  const compared = steps.filter(({ difference }) => difference.estimate !== null).length;
  return compared === 0
    ? "Whether readings jump can't be told: no reference shoe was read on both sides of a change."
    : `No jump was found in ${
      compared === 1 ? "the one comparison" : `${compared} comparisons`
    } that can be made.`;
}

/** Readings that jump, counted by what changed: how far they do stands in a table. */
function stepsTogether(steps: readonly BenchStep[]): string[] {
  const [only] = steps;
  if (steps.length < 2) return only === undefined ? [] : [stepSentence(only)];
  const metrics = [...new Set(steps.map(({ title }) => midSentence(title)))];
  return [
    `Between rigs, operators or methods, readings of the same shoes jump on ${listed(metrics)}.`,
  ];
}

/** How far do readings jump where a rig, an operator or a method changes? A row a step that is found. */
export function stepRows({ steps }: Pick<ReferenceDrift, "steps">): ReviewRow[] {
  return steps.filter(({ found }) => found).map((step) => ({
    metric: step.title,
    from: step.from,
    to: step.to,
    unit: unitWords(step.unit) || "no unit",
    "reads more by": estimateInWords(step.difference, step.decimals),
  }));
}

/** How are false alarms kept down? */
export function driftMethod({ tested, confidence }: ReferenceDrift): string {
  const risk = Number((1 - confidence).toPrecision(2));
  return `Claims keep the risk of any false one among ${tested.slopes} slopes, and among ${tested.steps} steps, below ${risk} each (Holm). Signals of single charts are not adjusted: a person looks at them.`;
}

/** What can the bench's choice of reference shoes not show? */
export function driftWarnings({ references }: Pick<ReferenceDrift, "references">): string[] {
  return references.length === 0
    ? ["The bench names no reference shoe, so a drift of the bench can't be seen."]
    : references.length === 1
    ? ["There is one reference shoe, so its own ageing can't be told from a drift of the bench."]
    : [];
}
