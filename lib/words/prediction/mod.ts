/** Sentences and tables about what predicts the court. @module */
export { predictionFinding as finding } from "./prediction_finding.ts";
export { pairSentence } from "./pair_sentence.ts";
export { type PredictionResult, predictionResult as result } from "./prediction_result.ts";
export { predictionSentence as sentence } from "./prediction_sentences.ts";
export { predictionSummary as summary } from "./prediction_summary.ts";
export { modelTerms, predictionTerms as terms } from "../glossary.ts";
export {
  levelSentence,
  lifeRows,
  lifeSentence,
  lifeSentences,
  livesSentence,
} from "./life_words.ts";
export {
  claimedPairs,
  foretoldAttributes,
  modelRows,
  predictionRows as rows,
  unsettledRows,
} from "./prediction_tables.ts";
