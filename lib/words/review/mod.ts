/** Sentences and tables about the quarterly review. @module */
export {
  type ReviewParts,
  type ReviewResult,
  reviewResult as result,
  type SummaryWords,
} from "./review_result.ts";
export { reviewSummary as summary } from "./review_summary.ts";
export { countsSentence as counts } from "./counts_sentence.ts";
