/** Sentences and tables about drift of the bench. @module */
export { driftRows as rows } from "./drift_rows.ts";
export { type DriftResult, driftResult as result } from "./drift_result.ts";
export {
  driftMethod as method,
  driftSentence as sentence,
  driftWarnings as warnings,
  noStepsSentence as noSteps,
  rigSentence,
  stepRows,
  stepSentence,
} from "./drift_sentences.ts";
export { weatherRows, weatherSentence } from "./weather_words.ts";
