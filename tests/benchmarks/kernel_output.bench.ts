import { runNotebook } from "../../lib/notebook/run_notebook.ts";
import type { CodeCell, Output } from "../../lib/notebook/notebook_format.ts";
import { fileURLToPath } from "node:url";

/**
 * How long does a whole run of a small notebook take, kernel start and end included, and is it whole every time?
 *
 * Fifty fresh kernels; a run that misses a line or a display ends the benchmark with an error.
 */
const kitDir = fileURLToPath(new URL("../..", import.meta.url));
const sources = [
  `for (let i = 1; i <= 200; i++) console.log("line " + i);`,
  `for (let i = 1; i <= 20; i++) await Deno.jupyter.display({ "text/plain": "d" + i }, { raw: true });`,
  `console.error("warned"); 1 + 1`,
  `console.log("before");
   await Deno.jupyter.display({ [Symbol.for("Jupyter.display")]() { throw new RangeError("thrown"); } });`,
];
const expected = [
  [Array.from({ length: 200 }, (_, i) => `line ${i + 1}\n`).join("")],
  Array.from({ length: 20 }, (_, i) => `d${i + 1}`),
  ["warned\n", "2"],
  ["before\n", "RangeError: thrown"],
];
const cells = sources.map((source, i): CodeCell => ({
  cell_type: "code",
  id: `c${i}`,
  metadata: {},
  source,
  execution_count: null,
  outputs: [],
}));

Deno.bench({
  name: "a fresh kernel: 200 lines, 20 displays, a thrown display",
  n: 50,
  warmup: 0,
  async fn() {
    const dir = await Deno.makeTempDir();
    try {
      const { notebook, failed } = await runNotebook({
        notebook: { cells, metadata: {}, nbformat: 4, nbformat_minor: 5 },
        kitDir,
        dataDir: dir,
        outDir: dir,
      });
      const shown = notebook.cells.map((cell) => (cell as CodeCell).outputs.map(plain));
      if (JSON.stringify(shown) !== JSON.stringify(expected) || failed?.cell !== 4) {
        throw new Error(`A run was not whole: ${JSON.stringify(shown)}`);
      }
    } finally {
      await Deno.remove(dir, { recursive: true });
    }
  },
});

function plain(output: Output): string {
  if (output.output_type === "stream") return output.text;
  if (output.output_type === "error") return `${output.ename}: ${output.evalue}`;
  return String(output.data["text/plain"]);
}
