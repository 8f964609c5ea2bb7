/** Sentences and tables about agreement of the panel. @module */
export { panelRows as rows } from "../review/review_tables.ts";
export { panelTerms as terms } from "../term_words.ts";
export { testerRows } from "../repeatability/trial_tables.ts";
