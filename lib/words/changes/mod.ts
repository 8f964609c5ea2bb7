/** Sentences and tables about what changed since an earlier review. @module */
export {
  adviceRows,
  adviceWords,
  changesSummary as summary,
  claimRows,
  decisionRows,
  moveRows,
  type Titles,
} from "./change_words.ts";
