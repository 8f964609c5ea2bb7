/**
 * The one door to the kit: everything that a notebook or a script of the user's own needs.
 *
 * Files → `loadBench(dir)` → a `Bench` → a study → a result → a chart, a frame, a sentence. Nothing
 * here keeps state between calls, and everything random takes a seed.
 *
 * @example From a bench folder to what was measured in a quarter
 * ```ts
 * import { benchCoverage, loadBench } from "bench-to-court";
 * const bench = await loadBench("data-demo");
 * console.log(benchCoverage(bench, { quarter: "2026Q3" }).sentence);
 * ```
 *
 * @module
 */
export * from "./records/mod.ts";
export * from "./metrics/mod.ts";
export * from "./statistics/mod.ts";
export * from "./studies/mod.ts";
export * from "./charts/mod.ts";
export * from "./notebook/in_cell.ts";
export { ask, type Asked, askNext, showAnswer, showAnswerChart, showMore } from "./notebook/ask.ts";
export { type JudgedProposal, judgeProposal } from "./notebook/judge_proposal.ts";
export {
  type BackgroundStudies,
  type BackgroundStudy,
  inBackground,
} from "./notebook/in_background.ts";
