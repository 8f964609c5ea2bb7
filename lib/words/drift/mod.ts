/** Sentences and tables about drift of the bench. @module */
export { driftRows as rows } from "../repeatability/trial_tables.ts";
