/** Sentences and tables about answers to viewers. @module */
export { comparisonSummary as summary } from "./comparison_summary.ts";
export {
  comparedValueRows as valueRows,
  comparisonRows as rows,
  shortlistRows,
} from "./answer_rows.ts";
