import { loadBench } from "../records/load_bench.ts";
import type { Bench } from "../records/types.ts";
import { shown, type TaskOrder } from "./task_order.ts";

/**
 * Loads the bench a task was called for and says on the terminal what the loader noticed.
 *
 * @throws {BenchError} with every problem at once
 */
export async function loadForTask(order: TaskOrder): Promise<Bench> {
  const dir = order.options.data as string;
  const bench = await loadBench(dir);
  for (const note of bench.load_notes) console.error(note);
  if (bench.warnings.length > 0) {
    console.error(
      `${bench.warnings.length} ${
        bench.warnings.length === 1 ? "thing looks" : "things look"
      } odd in ${shown(order, dir)}; deno task inspect lists ${
        bench.warnings.length === 1 ? "it" : "them"
      }.`,
    );
  }
  return bench;
}
