import { join } from "node:path";
import { startBench } from "../records/start_bench.ts";
import { writtenLines } from "./closing_summary.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown, typed } from "./task_order.ts";

/** `deno task start`: a new, empty bench folder that is ready to be filled. */
if (import.meta.main) {
  await runTask(async (order) => {
    if (typeof order.options.into !== "string") {
      throw new CallError(
        "Name the folder to make with --into. For example: deno task start -- --into my-bench",
      );
    }
    const dir = await prepareOut(order, "into");
    const files = await startBench(dir).catch((error: Error) => {
      throw new CallError(error.message);
    });
    const bench = shown(order, dir);
    console.log(
      [
        ...writtenLines(files.map((file) => join(bench, file))),
        "What to do next:",
        `  - Fill the tables: ${join(bench, "README.md")} says what each column means; delete the`,
        "    example rows.",
        `  - Then check them: deno task inspect -- --data ${typed(order, dir)}`,
      ].join("\n"),
    );
    return 0;
  });
}
