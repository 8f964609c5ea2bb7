import assert from "node:assert/strict";
import { join } from "node:path";
import { injectParameters, ParameterError } from "../../lib/notebook/inject_parameters.ts";
import {
  type Cell,
  type CodeCell,
  type Notebook,
  notebookText,
  parseNotebook,
} from "../../lib/notebook/notebook_format.ts";
import { terminalProgress } from "../../lib/notebook/progress.ts";
import { runNotebook, type RunProgress } from "../../lib/notebook/run_notebook.ts";
import { type Folders, kitDir, withFolders } from "./with_kernel.ts";

const parametersCell = code(
  'let data = "nowhere"; // a folder\nlet quarter: string | null = null;\nlet seed = 1;',
  {
    tags: ["parameters"],
  },
);

Deno.test("runNotebook() injects parameters behind their cell and returns every output", async () => {
  await withFolders(async (folders) => {
    const { notebook, failed, seconds } = await runNotebook({
      ...run(folders),
      notebook: notebookOf([
        prose("# A run"),
        parametersCell,
        code('console.log(quarter, seed);\nDeno.readTextFileSync(data + "/shoes.csv")'),
      ]),
      parameters: { data: folders.dataDir, quarter: "2026Q3", seed: 7 },
    });
    assert.equal(failed, null);
    assert.ok(seconds > 0);
    assert.deepEqual(notebook.cells.map((cell) => cell.cell_type), [
      "markdown",
      "code",
      "code",
      "code",
    ]);
    const [, , injected, last] = notebook.cells as CodeCell[];
    assert.deepEqual(injected.metadata.tags, ["injected-parameters"]);
    // No path of this machine, nor the folder's name: the same bytes wherever it is made.
    assert.match(injected.source, /data = "bench-folder";\nquarter = "2026Q3";\nseed = 7;/);
    assert.deepEqual(last.outputs, [
      { output_type: "stream", name: "stdout", text: "2026Q3 7\n" },
      {
        output_type: "execute_result",
        execution_count: 3,
        data: { "text/plain": '"shoe_id\\ns1\\n"' },
        metadata: {},
      },
    ]);
  });
});

Deno.test("runNotebook() stops at the failing cell, names it and keeps the outputs so far", async () => {
  await withFolders(async (folders) => {
    const progress: RunProgress[] = [];
    const { notebook, failed } = await runNotebook({
      ...run(folders),
      name: "review.ipynb",
      notebook: notebookOf([
        prose("text"),
        code("console.log(1)"),
        code('console.log(2);\nthrow new RangeError("no shoe in " + Deno.cwd() + "/lib")'),
        code("console.log(3)"),
      ]),
      onProgress: (step) => progress.push(step),
    });
    assert.deepEqual(
      { cell: failed?.cell, codeCell: failed?.codeCell, name: failed?.name },
      { cell: 3, codeCell: 2, name: "RangeError" },
    );
    assert.equal(
      failed?.sentence,
      "review.ipynb, cell 3 (code cell 2): RangeError: no shoe in lib",
    );
    const outputs = notebook.cells.map((cell) => cell.cell_type === "code" ? cell.outputs : null);
    assert.deepEqual(outputs[1], [{ output_type: "stream", name: "stdout", text: "1\n" }]);
    assert.equal(outputs[2]?.length, 2);
    assert.deepEqual(outputs[3], []);
    assert.equal(progress.at(-1)?.failed?.cell, 3);
    assert.deepEqual(progress.map((step) => step.phase), [
      "starting",
      "running",
      "running",
      "ended",
    ]);
  });
});

Deno.test("runNotebook() gives the same bytes twice", async () => {
  await withFolders(async (folders) => {
    const once = async () =>
      notebookText(
        (await runNotebook({
          ...run(folders),
          notebook: notebookOf([
            code('console.log(Deno.cwd() + "/lib/x.ts", new Date(0).getHours()); ({ a: [1, 2] })'),
            code(
              'await Deno.jupyter.display({ "text/html": "<b>b</b>" }, { raw: true, display_id: "d" })',
            ),
            code(
              'await Deno.jupyter.display({ "text/html": "<i>i</i>" }, { raw: true, display_id: "d", update: true })',
            ),
          ]),
        })).notebook,
      );
    const first = await once();
    assert.equal(first, await once());
    assert.ok(!first.includes(kitDir), "a path of this machine");
    assert.match(first, /lib\/x\.ts 0/);
    const shown = parseNotebook(first).cells.map((cell) => (cell as CodeCell).outputs);
    assert.deepEqual(shown.slice(1), [
      [{ output_type: "display_data", data: { "text/html": "<i>i</i>" }, metadata: {} }],
      [],
    ]);
  });
});

Deno.test("runNotebook() runs a file in its own folder and finds the kit's imports there", async () => {
  await withFolders(async (folders) => {
    const { failed, notebook } = await runNotebook({
      ...run(folders),
      notebook: notebookOf([
        code('import { quantile } from "simple-statistics"; quantile([1, 2, 3, 4], 0.25)'),
      ]),
    });
    assert.equal(failed, null);
    const [cell] = notebook.cells as CodeCell[];
    assert.deepEqual(cell.outputs.map((o) => "data" in o && o.data["text/plain"]), ["1.75"]);
  });
});

Deno.test("runNotebook() reports a cell that outlives its time and a kernel that dies as failures", async () => {
  await withFolders(async (folders) => {
    const endless = await runNotebook({
      ...run(folders),
      notebook: notebookOf([code('console.log("in"); while (true) {}')]),
      cellTimeLimitMs: 300,
    });
    assert.equal(endless.failed?.name, "TimeLimit");
    assert.equal((endless.notebook.cells[0] as CodeCell).outputs.length, 2);

    const dead = await runNotebook({
      ...run(folders),
      notebook: notebookOf([code("Deno.exit(3)"), code("1")]),
    });
    assert.equal(dead.failed?.name, "KernelDied");
    assert.match(dead.failed?.message ?? "", /exit code 3/);
  });
});

Deno.test("injectParameters() refuses a name that the notebook does not declare and says which it has", () => {
  const notebook = notebookOf([parametersCell]);
  assert.throws(
    () => injectParameters(notebook, { quartre: "2026Q3" }, { name: "review.ipynb" }),
    new ParameterError('review.ipynb: has no parameter "quartre"; it has: data, quarter, seed'),
  );
  assert.throws(
    () => injectParameters(notebookOf([code("let data = 1;")]), { data: 2 }),
    /no code cell tagged "parameters"/,
  );
  assert.throws(
    () =>
      injectParameters(notebookOf([code("const seed = 1;", { tags: ["parameters"] })]), {
        seed: 2,
      }),
    /is a const; declare it with let/,
  );
  assert.throws(() => injectParameters(notebook, { seed: NaN }), /"seed": found NaN/);
});

Deno.test("injectParameters() replaces an earlier injection and writes values that cannot break out", () => {
  const nasty = '"; Deno.exit(1); "\n`${1}`</script>';
  const once = injectParameters(notebookOf([parametersCell]), { data: "a" });
  const twice = injectParameters(once, { data: nasty });
  assert.equal(twice.cells.length, 2);
  const [, assignment] = twice.cells[1].source.match(/^data = (.*);$/m)!;
  assert.equal(JSON.parse(assignment), nasty);
});

Deno.test("parseNotebook() reads lines as lists, and notebookText() writes what it reads", () => {
  const text = notebookText(notebookOf([prose("# A\nb"), code("1\n2")]));
  assert.deepEqual(JSON.parse(text).cells[0].source, ["# A\n", "b"]);
  assert.deepEqual(parseNotebook(text), notebookOf([prose("# A\nb"), code("1\n2")]));
  assert.throws(() => parseNotebook("{", { name: "a.ipynb" }), /a\.ipynb: not JSON/);
  assert.throws(
    () => parseNotebook('{"cells":[],"nbformat":3}'),
    /found notebook format 3, expected 4/,
  );
});

Deno.test("terminalProgress() rewrites one line on a terminal and writes only the end elsewhere", () => {
  const steps = (isTerminal: boolean) => {
    const written: string[] = [];
    let clock = 0;
    const show = terminalProgress({
      write: (text) => void written.push(text),
      isTerminal,
      now: () => clock += 1_000,
    });
    const step = { notebook: "a.ipynb", codeCells: 2, cell: 1, seconds: 1, failed: null };
    show({ ...step, phase: "starting", codeCell: 0 });
    show({ ...step, phase: "running", codeCell: 1 });
    show({ ...step, phase: "ended", codeCell: 2, seconds: 2.04 });
    return written;
  };
  assert.deepEqual(steps(false), ["a.ipynb: 2 cells in 2.0 s\n"]);
  assert.equal(steps(true).length, 3);
  assert.ok(steps(true).every((text) => text.startsWith("\r\u001b[2K")));
});

function run({ dataDir, outDir }: Folders) {
  return { kitDir: join(kitDir), dataDir, outDir };
}

function notebookOf(cells: readonly Cell[]): Notebook {
  const named = cells.map((cell, index) => ({ ...cell, id: `c${index + 1}` }));
  return { cells: named, metadata: {}, nbformat: 4, nbformat_minor: 5 };
}

function code(source: string, metadata: { readonly tags?: readonly string[] } = {}): CodeCell {
  return { cell_type: "code", id: "", metadata, source, execution_count: null, outputs: [] };
}

function prose(source: string): Cell {
  return { cell_type: "markdown", id: "", metadata: {}, source };
}
