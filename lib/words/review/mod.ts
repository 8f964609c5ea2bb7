/** Sentences and tables about the quarterly review. @module */
export { reviewSummary as summary } from "./review_summary.ts";
