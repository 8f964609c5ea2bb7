import type { CourtPrediction, UnsettledPair } from "../../studies/prediction/types.ts";
import { attributeSentence, predictionSentence } from "./prediction_sentences.ts";
import { sayWarning } from "../reasons.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";
import { counted, midSentence, shoesText } from "../phrases.ts";

/** What does the bench tell of the court, and what would tell more? */
export function predictionSummary(
  prediction: Pick<CourtPrediction, "pairs" | "attributes" | "unsettled" | "warnings">,
): NotebookSummary {
  const own = prediction.pairs.filter(({ derived_from }) => derived_from === null);
  const claims = (claim: string) => own.filter((pair) => pair.claim === claim).length;
  const next = prediction.unsettled.find(({ shoes }) => shoes !== null);
  const most = prediction.unsettled.find(({ outcome }) => outcome === "predicts");
  return notebookSummary([
    own.length === 0
      ? "Nothing was both benched and played in yet, so nothing can be set against the court."
      : predictionSentence(prediction),
    ...prediction.attributes.map((attribute) => attributeSentence(attribute, prediction)),
    ...prediction.warnings.map(sayWarning),
  ], [
    ...(claims("predicts") > 0
      ? [
        "Say of a metric that it predicts only what stands above, and only for shoes and courts like those tested.",
      ]
      : []),
    ...(most === undefined ? [] : [
      `${range(most)} would show whether ${midSentence(most.metric_title)} predicts ${
        midSentence(most.attribute_title)
      }; there are ${most.n} shoes of ${counted(most.lines, "line")}.`,
    ]),
    ...(next === undefined || next === most ? [] : [
      `Of the ${counted(prediction.unsettled.length, "open pair")} ${
        midSentence(next.metric_title)
      } and ${midSentence(next.attribute_title)} would likely be settled first, as ${
        next.outcome === "predicts" ? "a predictor" : "no sign of it"
      }: ${range(next)}, rated and benched.`,
    ]),
    ...(own.length > 0 && next === undefined && prediction.unsettled.length > 0
      ? ["Bench and rate more shoes: so few say nothing, not even how many would."]
      : []),
    ...(own.length === 0 ? ["Have the panel rate shoes that were benched."] : []),
  ]);
}

/** The numbers a plan may count on. */
function range({ low, high, lines_low, lines_high }: UnsettledPair): string {
  return `${shoesText(low!)} to ${shoesText(high!)} shoes (${shoesText(lines_low!)} to ${
    shoesText(lines_high!)
  } lines)`;
}
