import assert from "node:assert/strict";
import { join } from "node:path";
import { kernelName, registerKernel } from "../../lib/notebook/register_kernel.ts";
import { frontEndRuns, pythonWithConverter, pythonWithRunner } from "./front_end_runs.ts";
import { kitDir, withFolders } from "./with_kernel.ts";

if (pythonWithRunner === null) {
  console.error(
    "Skipped: Jupyter's own runner (nbclient) is not installed, so it can't be tested.",
  );
}

Deno.test({
  name: "Jupyter's own runner gets every output of the registered kernel in 5 runs of 5",
  ignore: pythonWithRunner === null,
  fn: async () => {
    await withFolders(async ({ dataDir, outDir, outsideDir }) => {
      const jupyterDir = join(outsideDir, "jupyter");
      await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
      const { success, stdout, stderr } = await new Deno.Command(pythonWithRunner!, {
        args: ["-c", runFiveTimes],
        cwd: kitDir,
        env: { JUPYTER_DATA_DIR: jupyterDir },
      }).output();
      assert.ok(success, new TextDecoder().decode(stderr));
      const runs = JSON.parse(new TextDecoder().decode(stdout)) as string[][][];
      assert.equal(runs.length, 5);
      for (const cells of runs) {
        assert.equal(cells[0].join(""), Array.from({ length: 200 }, (_, i) => `${i}\n`).join(""));
        assert.deepEqual(cells[1], [...Array.from({ length: 20 }, (_, i) => `d${i}`), '"last"']);
        assert.deepEqual(cells[2], ["before\n", "RangeError: thrown"]);
        assert.deepEqual(cells[3], ["5000000 x"]);
        assert.match(cells[4][0], /^SyntaxError: /);
      }
    });
  },
});

Deno.test({
  name:
    "a chart reaches the page that Jupyter's own converter makes: as PNG at its own size, since drawings come out blank",
  ignore: pythonWithConverter === null,
  fn: async () => {
    await withFolders(async ({ dataDir, outDir, outsideDir }) => {
      const jupyterDir = join(outsideDir, "jupyter");
      await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
      const source = 'import { charts } from "bench-to-court";\n' +
        'charts.plot({ title: "Two dots", width: 400, marks: [Plot.dot([[0, 1], [1, 2]])] });';
      const cell = {
        cell_type: "code",
        id: "one",
        metadata: {},
        outputs: [],
        execution_count: null,
        source: `import * as Plot from "@observablehq/plot";\n${source}`,
      };
      const kernelspec = { display_name: "x", language: "typescript", name: kernelName };
      const notebook = { nbformat: 4, nbformat_minor: 5, metadata: { kernelspec }, cells: [cell] };
      const path = join(outsideDir, "one.ipynb");
      await Deno.writeTextFile(path, JSON.stringify(notebook));
      const { success, stderr } = await new Deno.Command(pythonWithConverter!, {
        args: ["-m", "nbconvert", "--to", "html", "--execute", path],
        cwd: kitDir,
        env: { JUPYTER_DATA_DIR: jupyterDir },
      }).output();
      assert.ok(success, new TextDecoder().decode(stderr));
      const html = await Deno.readTextFile(join(outsideDir, "one.html"));
      const [image] = html.match(/<img[^>]*src="data:image\/png;base64,iVBOR[^>]*>/) ?? [];
      assert.ok(image, "no picture in the page");
      assert.match(image, /width="?400/);
    });
  },
});

const notebooks = [...Deno.readDirSync(join(kitDir, "notebooks"))]
  .map(({ name }) => name).filter((name) => name.endsWith(".ipynb")).sort();

for (const notebook of notebooks) {
  Deno.test({
    name:
      `${notebook} runs from top to bottom in Jupyter's own runner, and every cell shows its result`,
    ignore: pythonWithRunner === null,
    fn: async () => {
      const [{ faults, outputs }] = await frontEndRuns([notebook], { times: 1 });
      assert.deepEqual(faults, []);
      assert.ok(outputs.length >= 5 && outputs.some((count) => count > 0));
    },
  });
}

const runFiveTimes = `
import json, nbformat, nbclient
cells = [
    "for (let i = 0; i < 200; i++) console.log(i);",
    "for (let i = 0; i < 20; i++) await Deno.jupyter.display({ 'text/plain': 'd' + i }, { raw: true }); 'last'",
    "console.log('before'); await Deno.jupyter.display({ [Symbol.for('Jupyter.display')]() { throw new RangeError('thrown'); } })",
    "await Deno.jupyter.display({ 'text/plain': 'x'.repeat(5_000_000) }, { raw: true })",
    "let b = ;",
]
def plain(output):
    if output.output_type == "stream": return output.text
    if output.output_type == "error": return output.ename + ": " + output.evalue
    text = output.data["text/plain"]
    return text if len(text) < 1000 else "%d %s" % (len(text), text[0])
runs = []
for _ in range(5):
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
    nbclient.NotebookClient(book, kernel_name="${kernelName}", allow_errors=True, timeout=60).execute()
    runs.append([[plain(output) for output in cell.outputs] for cell in book.cells])
print(json.dumps(runs))
`;
