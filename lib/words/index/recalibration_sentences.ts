import type {
  IndexRecalibration,
  RecalibratedWeight,
} from "../../studies/index/index_recalibration.ts";
import { counted, signed } from "../phrases.ts";
import { sayReason } from "../reasons.ts";
import { settleWords } from "./settle_words.ts";

/** Why is the advice what it is, in one sentence? */
export function adviceReason(result: IndexRecalibration): string {
  const { because, gain, min_gain, shoes, lines, makers, settle } = result;
  if (because.kind === "no-rule") {
    return "there is no index rule in force, so there are no weights to look at.";
  }
  if (because.kind === "no-fit") {
    return `${sayReason(because.because)}, counting the shoes that have a rating and every term.`;
  }
  const on = `on ${counted(shoes, "shoe")} (${counted(lines, "line")}, ${
    counted(makers, "maker")
  })`;
  const own = `the new weights gain ${signed(gain.estimate!)} (${signed(gain.lower!)} to ${
    signed(gain.upper!)
  }) in rank correlation with the court on shoes of lines not seen`;
  if (because.kind === "gain-reached") {
    return `${on}, ${own}, wholly above the ${min_gain} that makes a change worth while.`;
  }
  if (because.kind === "none-reaches") {
    return `${on}, no candidate is worth a change: whichever weights are taken, the gain in rank correlation with the court lies below ${
      signed(because.upper)
    }, and ${min_gain} would be worth one.`;
  }
  const more = settleWords(settle, "a rating and every term");
  const open = gain.upper! >= min_gain
    ? `which leaves open whether it reaches ${min_gain}`
    : `less than the ${min_gain} that makes a change worth while; but ${
      midWord(because.candidate)
    } may gain up to ${signed(because.upper)}, which can't be ruled out`;
  return `${on}, ${own}, ${open}.${more === "" ? "" : ` ${more}`}`;
}

/** The advice and its reason in one line. */
export function adviceSentence(result: IndexRecalibration): string {
  return `${adviceTitle(result.advice)}: ${adviceReason(result)}`;
}

/** Is an old weight off, looked at alone? Intervals of several weights don't hold together. */
export function weightWords(
  { kept, best_fit, new: { lower, upper } }: RecalibratedWeight,
): string {
  return lower === null || upper === null
    ? "nothing to tell by"
    : kept && best_fit === null
    ? "too few shoes for a best fit"
    : kept
    ? "the weight in force may be right"
    : "the weight in force lies outside that interval, looked at alone: of many weights some do by chance";
}

/** Why is there no draft? */
export function noDraftReason({ draft, advice, because }: IndexRecalibration): string | null {
  if (draft !== null) return null;
  return advice === "keep"
    ? "the rule in force is kept, so there is nothing to propose"
    : because.kind === "open" || because.kind === "gain-reached"
    ? "the new scores can't be linked to the published scale"
    : "there is nothing to propose";
}

function adviceTitle(advice: IndexRecalibration["advice"]): string {
  return { adopt: "Adopt", keep: "Keep", "not enough evidence": "Not enough evidence" }[advice];
}

function midWord(candidate: string): string {
  return /^(freest|equal|best|new) /.test(candidate)
    ? `the ${candidate}`.replace("the equal", "equal")
    : `“${candidate}”`;
}
