/** Sentences and tables about agreement of the panel. @module */
export { panelFinding as finding } from "./panel_finding.ts";
export { panelRows as rows } from "../review/review_tables.ts";
export { panelTerms as terms } from "../glossary.ts";
export { testerRows } from "../repeatability/trial_tables.ts";
export {
  agreementSentence as sentence,
  type PanelResult,
  panelResult as result,
} from "./panel_words.ts";
