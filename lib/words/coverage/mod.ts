/** Sentences and tables about what was measured. @module */
export { benchSummary as summary } from "./bench_summary.ts";
export { coverageSentence as sentence } from "./coverage_sentence.ts";
export { metricRows, shoeRows, trialRows } from "./bench_tables.ts";
export { type StagedTask, stageMarkdown as stage, stageSentences } from "./stage_words.ts";
