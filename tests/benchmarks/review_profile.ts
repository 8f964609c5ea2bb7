/**
 * Where does the time of a task go, from the call to the last file?
 *
 * `deno run -A tests/benchmarks/review_profile.ts [--data FOLDER] [--notebook NAME]`. Each step is
 * measured as it is in the task: process starts as processes, the notebook cell by cell.
 */
import { parseArgs } from "node:util";
import { runNotebook } from "../../lib/notebook/run_notebook.ts";
import { kit, printSteps, runDeno, type Step, stepTimes } from "./step_times.ts";

/** Seconds of each step of a whole run of a task's notebook. */
export async function profileTask(
  { data, notebook }: { readonly data: string; readonly notebook: string },
): Promise<Step[]> {
  const { steps, time } = stepTimes();
  await time(
    "process: deno task and the front of the task",
    () => runDeno("task", "review", "--help"),
  );
  await time("process: deno info (where the packages lie)", () => runDeno("info", "--json"));
  await time("process: a Deno that imports the task", () =>
    runDeno(
      "eval",
      `
    await import(${JSON.stringify(`${kit}/lib/tasks/study_pages.ts`)})`,
    ));
  const { loadBench } = await import("../../lib/records/load_bench.ts");
  await time("task: load and check the bench", () => loadBench(data));
  const out = await Deno.makeTempDir();
  try {
    const marks: { at: number; cell: number }[] = [];
    let began = 0;
    const run = await time("kernel: start, cells, end", () => {
      began = performance.now();
      return runNotebook({
        notebook: `${kit}/notebooks/${notebook}.ipynb`,
        parameters: { data, out },
        kitDir: kit,
        dataDir: data,
        outDir: out,
        onProgress: ({ phase, cell }) => {
          if (phase !== "starting") marks.push({ at: (performance.now() - began) / 1000, cell });
        },
      });
    });
    if (run.failed !== null) throw new Error(run.failed.sentence);
    steps.push({ step: "of it: kernel start", seconds: marks[0].at });
    marks.slice(0, -1).forEach(({ at, cell }, i) => {
      const { source } = run.notebook.cells[cell - 1];
      const last = String(source).trim().split("\n").at(-1)!.trim();
      steps.push({
        step: `of it: cell ${cell}, … ${last.slice(0, 60)}`,
        seconds: marks[i + 1].at - at,
      });
    });
    const { notebookPage } = await import("../../lib/notebook/page.ts");
    const { figureFiles } = await import("../../lib/tasks/figure_files.ts");
    const page = await time(
      "task: page",
      () => notebookPage(run.notebook, { title: "", provenance: [], invented: true }),
    );
    await time("task: pictures and files", async () => {
      for (const { file, text } of figureFiles(run.notebook, notebook)) {
        await Deno.writeTextFile(`${out}/${file}`, text);
      }
      await Deno.writeTextFile(`${out}/page.html`, page);
    });
    const { size } = await Deno.stat(`${out}/page.html`);
    let json = 0;
    for await (const { name } of Deno.readDir(out)) {
      if (name.endsWith(".json")) json += (await Deno.stat(`${out}/${name}`)).size;
    }
    console.log(`page ${(size / 1e6).toFixed(2)} MB, JSON ${(json / 1e6).toFixed(2)} MB`);
  } finally {
    await Deno.remove(out, { recursive: true });
  }
  return steps;
}

if (import.meta.main) {
  const { values } = parseArgs({
    args: Deno.args,
    options: {
      data: { type: "string", default: `${kit}/data-demo` },
      notebook: { type: "string", default: "quarterly-review" },
    },
  });
  printSteps(await profileTask(values));
}
