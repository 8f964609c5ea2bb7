/** Sentences and tables about how far a metric can be trusted. @module */
export { reliabilityRows as rows } from "../review/review_tables.ts";
export { repeatabilityTerms as terms } from "../glossary.ts";
export {
  type ReliabilityResult,
  reliabilityResult as result,
  reliabilityWarnings as warnings,
} from "./reliability_result.ts";
export {
  reliabilityFinding as finding,
  reliabilitySentence as sentence,
} from "./reliability_sentence.ts";
export { trialSummary as summary } from "./trial_summary.ts";
export { componentRows, flaggedRows, metricFigureRows as figureRows } from "./trial_tables.ts";
export {
  agreementFinding,
  type AgreementResult,
  agreementResult,
  agreementRows,
  orderSentence,
  pairedSentence,
  runOrderSentence,
} from "./source_sentences.ts";
