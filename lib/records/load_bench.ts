import { BenchError } from "./bench_error.ts";
import { readBench } from "./read_bench.ts";
import type { Bench } from "./types.ts";

/**
 * What did this bench measure?
 *
 * Reads a whole bench folder: every file checked, every trial in its metric's unit, excluded trials
 * kept with their reason, derived metrics computed. Warnings come with the bench.
 *
 * @param dir the bench folder
 * @throws {BenchError} with every problem of every file, if any of them is an error
 */
export async function loadBench(dir: string): Promise<Bench> {
  const { bench, problems } = await readBench(dir);
  if (bench === null) throw new BenchError(dir, problems);
  return bench;
}
