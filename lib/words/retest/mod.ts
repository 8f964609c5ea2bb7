/** Sentences and tables about what to bench next. @module */
export { retestRows as rows } from "../comparison/answer_rows.ts";
