/** The uncertainty budget in sentences and rows. @module */
export {
  budgetOverviewRows as overviewRows,
  budgetRows as rows,
  budgetSentence as sentence,
  calibrationSentences as calibrations,
  struckFinding,
  struckSentence as struck,
} from "./budget_words.ts";
