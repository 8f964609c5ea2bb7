export * from "./types.ts";
export { BenchError } from "./bench_error.ts";
export { type BenchInspection, inspectBench } from "./inspect_bench.ts";
export { loadBench } from "./load_bench.ts";
export { groupProblems, type ProblemGroup, problemInWords } from "./problem.ts";
export { convert, parseQuantity, sameDimension, type Unit, unitOf, units } from "./units.ts";
