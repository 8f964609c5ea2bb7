/** Sentences and tables about answers to viewers. @module */
export { comparisonSummary as summary } from "./comparison_summary.ts";
export {
  answerSentence as sentence,
  tellAnswer as tell,
  toldAnswer as told,
} from "./tell_answer.ts";
export {
  comparedValueRows as valueRows,
  comparisonRows as rows,
  shortlistRows,
} from "./answer_rows.ts";
export type { Answer } from "./tell_answer.ts";
export type { Told } from "./told.ts";
