/** Sentences and tables about the index and its weights. @module */
export { indexSentence as sentence } from "./index_sentence.ts";
export { historySentence } from "./history_sentence.ts";
export { indexRows as rows } from "../review/review_tables.ts";
export { recalibrationJson, recalibrationResult, recalibrationSummary } from "./rule_summaries.ts";
export { recalibrationWords as recalibration } from "./rule_words.ts";
export { fitRows, historyRows, indexWeightRows as weightRows, moveRows } from "./rule_tables.ts";
export type { RecalibrationResult } from "./rule_summaries.ts";
export { adviceSentence as recalibrationSentence } from "./recalibration_sentences.ts";
export { recalibrationFinding } from "./recalibration_finding.ts";
