/** Sentences and tables about what predicts the court. @module */
export { predictionSummary as summary } from "./prediction_summary.ts";
export { modelTerms, predictionTerms as terms } from "../term_words.ts";
export {
  claimedPairs,
  foretoldAttributes,
  modelRows,
  predictionRows as rows,
  unsettledRows,
} from "./prediction_tables.ts";
