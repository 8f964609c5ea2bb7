import assert from "node:assert/strict";
import { join } from "node:path";
import { chromium, type Page } from "playwright-core";
import { registerKernel } from "../../lib/notebook/register_kernel.ts";
import { kitDir } from "./with_kernel.ts";

const CHROMIUM = Deno.env.get("CHROMIUM") ?? "/usr/bin/chromium";
const NOTEBOOK = "/usr/bin/jupyter-notebook";

const missing = [CHROMIUM, NOTEBOOK].filter((program) => {
  try {
    return !Deno.statSync(program).isFile;
  } catch {
    return true;
  }
});
if (missing.length > 0) {
  console.error(`Skipped: the Notebook page can't be tested without ${missing.join(" and ")}.`);
}

Deno.test({
  name:
    "in the Notebook page in Chromium every cell of start-here shows its result, and Stop keeps the state",
  ignore: missing.length > 0,
  sanitizeOps: false, // the browser's pipes outlive the call that closes it by a moment
  sanitizeResources: false,
  fn: async () => {
    await withNotebookPage("start-here.ipynb", async (page) => {
      const cells = await runAll(page);
      const shows = cells.filter(({ source }) =>
        /^(await show\.frame|show\.chart|show\.markdown)\(/m.test(source)
      );
      assert.ok(shows.length >= 5);
      for (const { source, kinds } of shows) assert.deepEqual(kinds, ["execute_result"], source);
      assert.deepEqual(cells.flatMap(({ kinds }) => kinds.filter((kind) => kind === "error")), []);
      assert.ok(await page.locator(".output_html table caption").count() >= 3);
      const chart = page.locator(".output_png img").first();
      assert.ok((await chart.boundingBox())!.width > 400);

      await runLast(page, "let kept = 7;");
      await runLast(page, "for (;;) {}", { wait: false });
      await page.waitForTimeout(500);
      assert.equal(await page.evaluate(IDLE), false);
      await page.locator("button[data-jupyter-action='jupyter-notebook:interrupt-kernel']").click();
      await page.waitForFunction(IDLE, undefined, { timeout: 10_000 });
      const after = await runLast(page, "kept + 1");
      assert.match(after, /\b8\b/);

      const lines = await runLast(page, "for (let i = 0; i < 300; i++) console.log(`line ${i}`);");
      assert.equal(lines.match(/line \d+/g)?.length, 300);
    });
  },
});

type ShownCell = { readonly source: string; readonly kinds: readonly string[] };

/** Starts the Notebook server on a copy of a notebook, opens it, and ends all of it afterwards. */
async function withNotebookPage(
  notebook: string,
  use: (page: Page) => Promise<void>,
): Promise<void> {
  // Beside the kit's own notebooks, so that the kernel finds the kit; the page may save its copy.
  const parent = join(kitDir, "coverage");
  await Deno.mkdir(parent, { recursive: true });
  const place = Deno.realPathSync(
    await Deno.makeTempDir({ dir: parent, prefix: "notebook-page-" }),
  );
  const [jupyterDir, outDir] = [join(place, "jupyter"), join(place, "out")];
  await Deno.mkdir(outDir);
  const dataDir = join(kitDir, "data-demo");
  await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
  const text = await Deno.readTextFile(join(kitDir, "notebooks", notebook));
  await Deno.writeTextFile(join(place, notebook), text.replaceAll("../data-demo", dataDir));

  const port = freePort();
  const address = `http://127.0.0.1:${port}/`;
  const server = new Deno.Command(NOTEBOOK, {
    args: [
      "--no-browser",
      "--allow-root",
      "--ip=127.0.0.1",
      `--port=${port}`,
      "--NotebookApp.token=",
      "--NotebookApp.password=",
      `--notebook-dir=${place}`,
    ],
    env: {
      JUPYTER_DATA_DIR: jupyterDir,
      JUPYTER_CONFIG_DIR: join(place, "config"),
      JUPYTER_RUNTIME_DIR: join(place, "runtime"),
      IPYTHONDIR: join(place, "ipython"),
    },
    stdout: "null",
    stderr: "null",
  }).spawn();
  const browser = await chromium.launch({
    executablePath: CHROMIUM,
    args: ["--headless", "--no-sandbox", "--disable-gpu"],
  });
  try {
    const page = await browser.newPage({ viewport: { width: 1200, height: 900 } });
    await untilItAnswers(address);
    await page.goto(`${address}notebooks/${notebook}`);
    await page.waitForFunction(
      "globalThis.Jupyter?.notebook?._fully_loaded && Jupyter.notebook.kernel?.is_connected() && " +
        "Jupyter.notebook.kernel.info_reply.language_info !== undefined",
      undefined,
      { timeout: 60_000 },
    );
    await use(page);
  } finally {
    await browser.close();
    server.kill("SIGTERM");
    await server.status;
    await Deno.remove(place, { recursive: true });
  }
}

/** A port that nobody listens on; the server says nowhere which one it took by itself. */
function freePort(): number {
  const listener = Deno.listen({ hostname: "127.0.0.1", port: 0 });
  const { port } = listener.addr as Deno.NetAddr;
  listener.close();
  return port;
}

async function untilItAnswers(address: string): Promise<void> {
  for (let tries = 0; tries < 300; tries++) {
    try {
      const answer = await fetch(`${address}api`);
      await answer.body?.cancel();
      if (answer.ok) return;
    } catch { /* not listening yet */ }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error("The Notebook server did not start within 30 s");
}

// Reply and outputs come over two sockets, in either order: a cell is done when both are.
const IDLE = "Jupyter.notebook.get_cells().every(({ element, last_msg_id }) => {" +
  "const asked = Jupyter.notebook.kernel._msg_callbacks[last_msg_id];" +
  "return !element.hasClass('running') && (!asked || (asked.shell_done && asked.iopub_done)); })";

async function runAll(page: Page): Promise<ShownCell[]> {
  await page.evaluate("Jupyter.notebook.execute_all_cells()");
  await page.waitForFunction(IDLE, undefined, { timeout: 120_000 });
  return await page.evaluate(
    "Jupyter.notebook.get_cells().filter((cell) => cell.cell_type === 'code').map((cell) => (" +
      "{ source: cell.get_text(), kinds: cell.output_area.outputs.map((o) => o.output_type) }))",
  );
}

/** Runs code in a new last cell; gives the text of its outputs. */
async function runLast(
  page: Page,
  source: string,
  { wait = true }: { readonly wait?: boolean } = {},
): Promise<string> {
  await page.evaluate(
    `{ const cell = Jupyter.notebook.insert_cell_at_bottom("code");` +
      ` cell.set_text(${
        JSON.stringify(source)
      }); cell.execute(); globalThis.lastCell = cell; undefined }`,
  );
  if (!wait) return "";
  await page.waitForFunction(IDLE, undefined, { timeout: 60_000 });
  return await page.evaluate(
    "globalThis.lastCell.output_area.outputs.map((o) => o.text ?? o.data?.['text/plain'] ?? '').join('')",
  );
}
