import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import { estimateInWords } from "../review/review_tables.ts";
import { adviceSentence } from "./recalibration_sentences.ts";

/** Should the weights change, and by how much would that help, in one sentence? */
export function recalibrationFinding(result: IndexRecalibration): string {
  const { advice, because, gain, min_gain, shoes } = result;
  if (because.kind === "no-rule" || because.kind === "no-fit") return adviceSentence(result);
  const said = {
    adopt: "Weights fitted to the panel are worth adopting",
    keep: "The weights in force can stay",
    "not enough evidence": "Whether other weights would be better is open",
  }[advice];
  return `${said}: on ${shoes} shoes the fitted ones gain ${
    estimateInWords(gain, 2)
  } in rank correlation with the court, and ${min_gain} is worth a change.`;
}
