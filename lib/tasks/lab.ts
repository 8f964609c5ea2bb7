import { basename, dirname, join } from "node:path";
import { waitFor } from "../notebook/end_with_process.ts";
import { kernelTitle, registerKernel } from "../notebook/register_kernel.ts";
import { programFile } from "../notebook/scratch_folder.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown, type TaskOrder } from "./task_order.ts";

/** `deno task lab`: the kit's kernel where Jupyter finds it, and the notebooks opened with it. */
if (import.meta.main) {
  await runTask(async (order) => {
    await refuseNoBench(order);
    const out = await prepareOut(order);
    const { data, jupyter, program } = order.options as Record<string, string | undefined>;
    const notebooks = join(order.kit, "notebooks");
    const folder = await registerKernel({
      kitDir: order.kit,
      dataDirs: [data!],
      outDir: out,
      jupyterDir: jupyter!,
      tmpDir: dirname(order.scratch),
    });
    console.log(
      `The kernel "${kernelTitle}" is registered in ${shown(order, folder)}.\n` +
        `Its cells read ${shown(order, data!)} and the kit, and write ${shown(order, out)}; ` +
        `everything else is refused.`,
    );
    if (order.options["register-only"]) return 0;
    if (program === undefined) {
      console.log(howToGetAFrontEnd(shown(order, notebooks)));
      return 0;
    }
    console.log(
      `Opening ${shown(order, notebooks)} with ${basename(program)}; Ctrl-C here ends it.`,
    );
    const child = new Deno.Command(program, { cwd: notebooks }).spawn();
    // Should this process be killed, the front of the task ends the program that it leaves behind.
    await Deno.writeTextFile(join(order.scratch, programFile), String(child.pid));
    return await waitFor(child);
  });
}

/** A kernel over a folder that isn't there would start, and every cell would fail. */
async function refuseNoBench(order: TaskOrder): Promise<void> {
  const dir = order.options.data as string;
  const isBench = await Deno.stat(join(dir, "bench.json")).then(() => true, () => false);
  if (isBench) return;
  throw new CallError(
    `--data ${
      shown(order, dir)
    } is no bench folder: there is no bench.json in it. Check the path, or make a ` +
      "new one with deno task start -- --into my-bench",
  );
}

function howToGetAFrontEnd(notebooks: string): string {
  return `
Jupyter is not installed here, so nothing was opened. Either of these opens the notebooks:

  Jupyter, in a browser
    python3 -m pip install jupyterlab     or, on Debian:  sudo apt install jupyter-notebook
    then once more: deno task lab

  VS Code, with its Jupyter extension
    open the kit's folder and a notebook in ${notebooks}; click "Select Kernel" at its
    upper right, "Jupyter Kernel...", and "${kernelTitle}"

No front end is needed for results: deno task review runs its notebook by itself.`;
}
