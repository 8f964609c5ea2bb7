/**
 * The one door to the kit: everything that a notebook or a script of the user's own needs.
 *
 * Files → `loadBench(dir)` → a `Bench` → a study → a result → a chart, a frame, a sentence. Nothing
 * here keeps state between calls, and everything random takes a seed.
 *
 * @example From a bench folder to what was measured in a quarter
 * ```ts
 * import { loadBench, studies, words } from "bench-to-court";
 * const bench = await loadBench("data-demo");
 * console.log(words.coverage.sentence(studies.benchCoverage(bench, { quarter: "2026Q3" })));
 * ```
 *
 * @module
 */
export { loadBench } from "./records/load_bench.ts";
export { ask, type Asked, askNext } from "./notebook/ask.ts";
export {
  type BackgroundStudies,
  type BackgroundStudy,
  inBackground,
} from "./notebook/in_background.ts";
export { sinceReview } from "./notebook/since_review.ts";
export { type JudgedProposal, judgeProposal } from "./studies/proposal/judge_proposal.ts";
/** What was measured: loading, checking, picking, importing and writing a bench folder, and its tables. */
export * as records from "./records_door.ts";
/** Bench metrics from raw readings: one relation a function, with unit and uncertainty. */
export * as metrics from "./metrics/mod.ts";
/** Numbers in, numbers out: the statistical methods, none of which knows a shoe. */
export * as statistics from "./statistics/mod.ts";
/** One question about shoes a function: a bench in, a plain result out. */
export * as studies from "./studies/mod.ts";
/** Results as sentences, tables, summaries and explained terms, in the rooms of `studies`. */
export * as words from "./words/mod.ts";
/** Results as pictures: a study's result in, an SVG element out. */
export * as charts from "./charts/mod.ts";
/** Showing results in a notebook cell. */
export * as show from "./notebook/show.ts";
export type { Bench } from "./records/types.ts";
