/** What changed since an earlier review. @module */
export { type EarlierReview, earlierReview, indexSteps } from "./earlier_review.ts";
export { type ReadReview, readReview } from "./read_review.ts";
export { type Advice, type AdviceParts, reviewAdvice } from "./review_advice.ts";
export {
  type AdviceState,
  changesSince,
  type ClaimChange,
  decisionsBetween,
  type FoundReview,
  type IndexMove,
  type IndexRow,
  type IndexSteps,
  type ReviewChanges,
  reviewChanges,
  type ReviewState,
  reviewState,
  type TakenDecision,
} from "./review_changes.ts";
