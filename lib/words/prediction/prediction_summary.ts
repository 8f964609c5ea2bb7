import { counted, midSentence } from "../comparison/answer_words.ts";
import type { CourtPrediction } from "../../studies/prediction/court_prediction.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";

/** What does the bench tell of the court, and what would tell more? */
export function predictionSummary(
  prediction: Pick<CourtPrediction, "pairs" | "attributes" | "unsettled" | "warnings">,
): NotebookSummary {
  const own = prediction.pairs.filter(({ derived_from }) => derived_from === null);
  const claims = (claim: string) => own.filter((pair) => pair.claim === claim).length;
  const hints = claims("hint");
  const next = prediction.unsettled.find(({ shoes }) => shoes !== null);
  const most = prediction.unsettled.find(({ outcome }) => outcome === "predicts");
  return notebookSummary([
    own.length === 0
      ? "Nothing was both benched and played in yet, so nothing can be set against the court."
      : `Of ${counted(own.length, "pair")} of a metric and an impression, ${
        claims("predicts")
      } hold up as a prediction, ${hints} ${hints === 1 ? "is a hint" : "are hints"}, ${
        claims("no sign of it")
      } show no sign of it; for ${claims("can't tell")} these shoes can't tell.`,
    ...prediction.attributes.map(({ sentence }) => sentence),
    ...prediction.warnings,
  ], [
    ...(claims("predicts") > 0
      ? [
        "Say of a metric that it predicts only what stands above, and only for shoes and courts like those tested.",
      ]
      : []),
    ...(most === undefined ? [] : [
      `About ${most.shoes} shoes would show whether ${midSentence(most.metric_title)} predicts ${
        midSentence(most.attribute_title)
      }; there are ${most.n}.`,
    ]),
    ...(next === undefined || next === most ? [] : [
      `With about ${next.shoes} shoes rated and benched the first of the ${
        counted(prediction.unsettled.length, "open pair")
      } would be settled.`,
    ]),
    ...(own.length > 0 && next === undefined && prediction.unsettled.length > 0
      ? ["Bench and rate more shoes: so few say nothing, not even how many would."]
      : []),
    ...(own.length === 0 ? ["Have the panel rate shoes that were benched."] : []),
  ]);
}
