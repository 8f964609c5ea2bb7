import assert from "node:assert/strict";
import { join } from "node:path";
import { withRegisteredKernel } from "../notebook/front_end.ts";
import { withKernel } from "../notebook/with_kernel.ts";
import { runTask } from "../tasks/run_task.ts";
import { familyOf } from "./processes.ts";

Deno.test("a cell that prints or shows without end is stopped with a sentence, in bounded memory", async () => {
  // Of this test alone: other tests run beside it in the same process.
  const held = () => {
    const { heapTotal, external } = Deno.memoryUsage();
    return heapTotal + external;
  };
  const before = held();
  for (
    const code of [
      `while (true) console.log("x".repeat(10_000));`,
      `while (true) await Deno.jupyter.display({ "text/html": "x".repeat(100_000) }, { raw: true });`,
      `for (let i = 0; ; i++) await Deno.jupyter.display({ "text/plain": "x".repeat(100_000) }, { raw: true, display_id: "a", update: i > 0 });`,
    ]
  ) {
    await withKernel(async (kernel) => {
      const { error, alive } = await kernel.execute(code, {
        outputLimit: 20_000_000,
        timeLimitMs: 60_000,
      });
      assert.match(error?.evalue ?? "", /^The cell put out more than 20 MB and was stopped/);
      if (!alive) return; // did not heed the interrupt, and was ended
      const { outputs } = await kernel.execute("1 + 1");
      assert.deepEqual(outputs.map((o) => "data" in o && o.data["text/plain"]), ["2"]);
    });
  }
  const grown = (held() - before) / 1e6;
  assert.ok(grown < 400, `${grown} MB more than before`);
});

Deno.test("in a front end too, what prints without end is stopped, a timer of an ended cell among it, in bounded memory", async () => {
  await withRegisteredKernel(async (front, { child }) => {
    const rss = () =>
      Math.max(
        ...familyOf(child.pid).map((pid) => {
          const status = Deno.readTextFileSync(`/proc/${pid}/status`);
          return Number(/VmHWM:\s+(\d+)/.exec(status)?.[1] ?? 0) / 1e3;
        }),
      );
    const { shown, status } = await front.run(
      `while (true) console.log("x".repeat(100_000));`,
    );
    assert.equal(status, "error");
    const error = shown.find(({ header }) => header.msg_type === "error");
    assert.match(
      String(error?.content.evalue),
      /^The cell put out more than 100 MB and was stopped/,
    );
    const text = shown.reduce((sum, { content }) => sum + String(content.text ?? "").length, 0);
    assert.ok(text < 101_000_000, `${text}`);
    await front.run(`globalThis.timer = setInterval(() => console.log("x".repeat(1e6)), 1); 1`);
    await new Promise((resolve) => setTimeout(resolve, 4_000));
    const after = await front.run(`clearInterval(globalThis.timer); 1 + 1`);
    assert.equal(after.status, "ok");
    assert.ok(rss() < 2_000, `${rss()} MB at most`);
  });
});

Deno.test("a cell that never ends is stopped at its time limit with a sentence, even one that only waits", async () => {
  await withKernel(async (kernel) => {
    const loop = await kernel.execute("while (true) {}", { timeLimitMs: 300 });
    assert.deepEqual([loop.error?.evalue, loop.alive], [
      "The cell ran longer than 0.3 s and was stopped",
      true,
    ]);
    const wait = await kernel.execute("await new Promise(() => {})", { timeLimitMs: 300 });
    assert.match(
      wait.error?.evalue ?? "",
      /^The cell ran longer than 0\.3 s and was stopped; the /,
    );
    assert.equal(wait.alive, false);
  });
});

Deno.test("a message of 300 MB and a question of 3 MB end the kernel, not its keeper", async () => {
  for (
    const code of [
      `await Deno.jupyter.broadcast("display_data", { data: { "text/plain": "x".repeat(300_000_000) }, metadata: {}, transient: {} });`,
      `try { Deno.statSync("/" + "x".repeat(3_000_000)) } catch { /* refused */ } 1`,
    ]
  ) {
    await withKernel(async (kernel) => {
      const { error, outputs } = await kernel.execute(code, { timeLimitMs: 60_000 });
      const shown = outputs.reduce((sum, o) => sum + JSON.stringify(o).length, 0);
      assert.ok(shown < 130_000_000);
      if (error === null) return; // refused within the cell
      assert.ok(error.evalue.length < 500, error.evalue.slice(0, 500));
    });
  }
});

Deno.test("with 64 open files allowed, a task ends with its result or with a sentence", async () => {
  const out = await Deno.makeTempDir();
  const { code, stdout, stderr } = await new Deno.Command("bash", {
    args: [
      "-c",
      `ulimit -n 64; exec ${Deno.execPath()} task --quiet inspect -- --out ${out}`,
    ],
    cwd: join(import.meta.dirname!, "..", ".."),
    env: { NO_COLOR: "1" },
  }).output();
  const words = new TextDecoder().decode(stdout) + new TextDecoder().decode(stderr);
  assert.ok(!/\n\s+at /.test(words), words);
  if (code === 0) assert.ok(Deno.statSync(join(out, "inspect.json")).isFile);
  await Deno.remove(out, { recursive: true });
});

Deno.test("a table whose quote never closes, and one line of ten million characters, are problems with a line", async () => {
  const dir = await Deno.makeTempDir();
  const { small } = await import("../records/bench_folder.ts");
  for (const [file, content] of Object.entries(small)) {
    const path = join(dir, file);
    await Deno.mkdir(join(path, ".."), { recursive: true });
    const text = typeof content === "string" ? content : JSON.stringify(content);
    await Deno.writeTextFile(path, text);
  }
  await Deno.writeTextFile(join(dir, "shoes.csv"), `shoe_id,maker,model\na,"${"x".repeat(1e7)}`);
  await Deno.writeTextFile(join(dir, "testers.csv"), `tester,mass_kg\n${"x".repeat(1e7)},1\n`);
  const { code, stdout } = await runTask("inspect", "--data", dir);
  assert.equal(code, 1);
  assert.match(stdout, /shoes\.csv line 2.*a quote that is never closed/);
  assert.match(stdout, /testers\.csv line 2, column "tester".*at most 500 characters/);
  assert.ok(stdout.length < 20_000);
  await Deno.remove(dir, { recursive: true });
});
