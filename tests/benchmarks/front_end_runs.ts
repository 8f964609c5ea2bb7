/**
 * How often does a notebook lose output in Jupyter's own runner with the kit's kernel?
 *
 *     deno run -A tests/benchmarks/front_end_runs.ts [TIMES] [NOTEBOOK …]
 *
 * Runs every notebook of the kit 20 times, unless told otherwise, and counts the runs in which a cell failed, showed
 * nothing, or showed another number of outputs than in the first run. Needs nbclient; takes minutes.
 */
import { join } from "node:path";
import { frontEndRuns, pythonWithRunner } from "../notebook/front_end_runs.ts";
import { kitDir } from "../notebook/with_kernel.ts";

if (import.meta.main) {
  if (pythonWithRunner === null) {
    console.error("This needs Jupyter's own runner, nbclient, which is not installed.");
    Deno.exit(2);
  }
  const [times = "20", ...named] = Deno.args;
  const notebooks = named.length > 0 ? named : [...Deno.readDirSync(join(kitDir, "notebooks"))]
    .map(({ name }) => name).filter((name) => name.endsWith(".ipynb")).sort();
  let wrong = 0;
  for (const notebook of notebooks) {
    const runs = await frontEndRuns([notebook], { times: Number(times) });
    const odd = runs.filter(({ faults, outputs }) =>
      faults.length > 0 || outputs.join() !== runs[0].outputs.join()
    );
    wrong += odd.length;
    console.log(`${notebook}: ${runs.length - odd.length} of ${runs.length} runs complete`);
    for (const { faults } of odd) {
      console.log(`  ${faults.join("; ") || "another count of outputs"}`);
    }
  }
  Deno.exit(wrong === 0 ? 0 : 1);
}
