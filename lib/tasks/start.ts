import { startBench } from "../records/start_bench.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown } from "./task_order.ts";

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
    for (const file of files) console.log(`wrote ${file}`);
    console.log(
      `Now fill the tables in ${
        shown(order, dir)
      }: its README.md says what each column means, and the ` +
        "example rows are there to be deleted. Then: deno task inspect -- --data " +
        shown(order, dir),
    );
    return 0;
  });
}
