/** The uncertainty budget in sentences and rows. @module */
export {
  budgetRows as rows,
  budgetSentence as sentence,
  calibrationSentences as calibrations,
  struckSentence as struck,
} from "./budget_words.ts";
