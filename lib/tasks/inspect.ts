import { inspectBench } from "../records/inspect_bench.ts";
import { writeResult } from "../records/write_result.ts";
import { writtenLines } from "./closing_summary.ts";
import { problemReport } from "./problem_report.ts";
import { resultHead } from "./result_head.ts";
import { prepareOut, runTask, shown } from "./task_order.ts";

/** `deno task inspect`: every problem of a bench folder at once; changes nothing in it. */
if (import.meta.main) {
  await runTask(async (order) => {
    const out = await prepareOut(order);
    const dir = order.options.data as string;
    const { problems, counts, load_notes, sha256 } = await inspectBench(dir);
    for (const note of load_notes) console.log(note);
    console.log(problemReport(problems));
    for (const [file, table] of Object.entries(counts)) {
      const { read, kept, missing, excluded } = table;
      const rest = [
        ...(missing > 0 ? [`${missing} missing`] : []),
        ...(excluded > 0 ? [`${excluded} excluded`] : []),
      ];
      console.log(
        `${file}: ${read} ${read === 1 ? "row" : "rows"} read, ${
          [`${kept} kept`, ...rest].join(", ")
        }`,
      );
    }
    const path = await writeResult(out, "inspect", {
      ...resultHead("inspect", {
        seed: Number(order.options.seed),
        data: sha256,
        warnings: load_notes,
      }),
      problems,
      counts,
    });
    console.log(writtenLines([shown(order, path)]).join("\n"));
    return problems.some(({ severity }) => severity === "error") ? 1 : 0;
  });
}
