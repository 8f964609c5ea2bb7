import { BenchError } from "../records/bench_error.ts";
import { loadBench } from "../records/load_bench.ts";
import type { Bench } from "../records/types.ts";
import { benchStage } from "../studies/coverage/bench_stage.ts";
import { type StagedTask, stageSentences } from "../words/coverage/stage_words.ts";
import { wrapped } from "./closing_summary.ts";
import { shown, type TaskOrder } from "./task_order.ts";

/**
 * Loads the bench a task was called for and says on the terminal what the loader noticed, and what a
 * bench that is not complete yet can't answer.
 *
 * @throws {BenchError} with every problem at once; so too where the bench holds nothing to work on
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
  // What to read first can be planned before anything is read.
  const isPlanned = order.task === "retest" && bench.shoes.length > 0;
  const isEmpty = bench.trials.length === 0 && bench.impressions.length === 0;
  if (isEmpty && !isPlanned) throw emptyBench(bench);
  // A question is about few metrics: what nobody has said of the others is nothing to its answer.
  const stage = benchStage(bench);
  const said = order.task === "answer" ? { ...stage, undirected: [] } : stage;
  for (const sentence of stageSentences(said, order.task as StagedTask)) {
    for (const line of wrapped(sentence)) console.error(line);
  }
  return bench;
}

function emptyBench({ dir, shoes, sessions }: Bench): BenchError {
  const file = shoes.length === 0
    ? "shoes.csv"
    : sessions.length === 0
    ? "sessions.csv"
    : "trials.csv";
  const steps = {
    "shoes.csv":
      "Put a row a shoe there, then sessions.csv and trials.csv; README.md in the folder says what " +
      "each column means. A spreadsheet goes in with deno task import.",
    "sessions.csv": "Put the day and the person at the bench there, then readings into trials.csv.",
    "trials.csv": "Put readings there. A session at the bench is planned with " +
      "deno task retest -- --sheet --shoes A,B --metrics M, and goes in with deno task enter.",
  };
  return new BenchError(dir, [{
    file,
    line: null,
    column: null,
    found: "no rows yet",
    expected: "something to work on",
    fix: steps[file],
    severity: "error",
  }]);
}
