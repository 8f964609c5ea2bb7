import { join } from "node:path";
import { kernelName, registerKernel } from "../../lib/notebook/register_kernel.ts";
import { kitDir } from "./with_kernel.ts";

/** A Python that has Jupyter's own notebook runner, or null. */
export const pythonWithRunner: string | null = pythonWith("nbclient");

/** A Python that has Jupyter's own converter of notebooks into pages, or null. */
export const pythonWithConverter: string | null = pythonWith("nbconvert");

function pythonWith(module: string): string | null {
  return ["/usr/bin/python3", "python3"].find((program) => {
    try {
      return new Deno.Command(program, { args: ["-c", `import ${module}`] }).outputSync().success;
    } catch {
      return false;
    }
  }) ?? null;
}

/** What a notebook of the kit gave through Jupyter's own runner. */
export type FrontEndRun = {
  readonly notebook: string;
  /** Cells that should have shown something and did not, and cells that failed, in words. */
  readonly faults: readonly string[];
  /** How many outputs every code cell has. */
  readonly outputs: readonly number[];
};

/** Runs notebooks of the kit through Jupyter's own runner with the registered kernel, each so many times. */
export async function frontEndRuns(
  notebooks: readonly string[],
  { times }: { readonly times: number },
): Promise<readonly FrontEndRun[]> {
  const place = Deno.realPathSync(await Deno.makeTempDir({ prefix: "front-end-" }));
  try {
    const [jupyterDir, outDir] = [join(place, "jupyter"), join(place, "out")];
    await Deno.mkdir(outDir);
    const dataDir = join(kitDir, "data-demo");
    await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
    const task = {
      kernel: kernelName,
      folder: join(kitDir, "notebooks"),
      notebooks,
      times,
      outDir,
    };
    const { success, stdout, stderr } = await new Deno.Command(pythonWithRunner!, {
      args: ["-c", PROGRAM, JSON.stringify(task)],
      cwd: kitDir,
      env: { JUPYTER_DATA_DIR: jupyterDir },
    }).output();
    if (!success) throw new Error(new TextDecoder().decode(stderr));
    return JSON.parse(new TextDecoder().decode(stdout));
  } finally {
    await Deno.remove(place, { recursive: true });
  }
}

// A cell whose last line shows something must have a result; none may have failed.
const PROGRAM = `
import json, os, re, sys, nbformat, nbclient
task = json.loads(sys.argv[1])
runs = []
for name in task["notebooks"]:
    for _ in range(task["times"]):
        book = nbformat.read(os.path.join(task["folder"], name), as_version=4)
        first = next(i for i, c in enumerate(book.cells) if "parameters" in c.metadata.get("tags", []))
        if "let out " in book.cells[first].source:
            book.cells.insert(first + 1, nbformat.v4.new_code_cell("out = %s;" % json.dumps(task["outDir"])))
        nbclient.NotebookClient(book, kernel_name=task["kernel"], allow_errors=True, timeout=240,
            resources={"metadata": {"path": task["folder"]}}).execute()
        faults, outputs = [], []
        code = [c for c in book.cells if c.cell_type == "code"]
        for number, cell in enumerate(code, 1):
            outputs.append(len(cell.outputs))
            failed = [o.ename + ": " + o.evalue for o in cell.outputs if o.output_type == "error"]
            faults += ["cell %d failed: %s" % (number, text) for text in failed]
            shows = re.search(r"^(await frame|show[A-Z]\\w+)\\(", cell.source, re.M)
            given = [o for o in cell.outputs if o.output_type == "execute_result"]
            if shows and len(given) != 1:
                faults.append("cell %d should show one result, and shows %d" % (number, len(given)))
        runs.append({"notebook": name, "faults": faults, "outputs": outputs})
print(json.dumps(runs))
`;
