import assert from "node:assert/strict";
import { join } from "node:path";
import { KernelError, startKernel } from "../../lib/notebook/kernel.ts";
import type { Output } from "../../lib/notebook/notebook_format.ts";
import { isRunning, kitDir, withFolders, withKernel } from "./with_kernel.ts";

const threeKinds = {
  log: `for (let i = 1; i <= 200; i++) console.log("line " + i);`,
  displays: `for (let i = 1; i <= 20; i++) {
    await Deno.jupyter.display({ "text/plain": "display " + i }, { raw: true });
  }
  "last value"`,
  thrown: `console.log("before");
  await Deno.jupyter.display({
    [Symbol.for("Jupyter.display")]() { throw new RangeError("a display that throws"); },
  });`,
};

Deno.test("a log loop, many displays and a thrown display come out whole 50 times in one kernel", async () => {
  await withKernel(async (kernel) => {
    for (let round = 0; round < 50; round++) {
      const log = await kernel.execute(threeKinds.log);
      assert.deepEqual(log.outputs.map(plain), [numbered("line ", 200).join("\n") + "\n"]);

      const shown = await kernel.execute(threeKinds.displays);
      assert.deepEqual(shown.outputs.map(plain), [...numbered("display ", 20), '"last value"']);

      const thrown = await kernel.execute(threeKinds.thrown);
      assert.deepEqual(thrown.outputs.map(plain), [
        "before\n",
        "RangeError: a display that throws",
      ]);
      assert.equal(thrown.error?.ename, "RangeError");
    }
  });
});

Deno.test("a fresh kernel's first cells come out whole", async () => {
  for (let round = 0; round < 3; round++) {
    await withKernel(async (kernel) => {
      const { outputs } = await kernel.execute(threeKinds.log);
      assert.deepEqual(outputs.map(plain), [numbered("line ", 200).join("\n") + "\n"]);
    });
  }
});

Deno.test("outputs larger than the system's buffers and a long log come out whole and in order", async () => {
  await withKernel(async (kernel) => {
    const { outputs, error } = await kernel.execute(`
      for (let i = 0; i < 3; i++) {
        Deno.jupyter.broadcast("display_data",
          { data: { "text/plain": String(i).repeat(6_000_000) }, metadata: {}, transient: {} });
      }
      for (let i = 1; i <= 10_000; i++) console.log("line " + i);
      "x".repeat(5_000_000)`);
    assert.equal(error, null);
    const texts = outputs.map(plain);
    assert.deepEqual(texts.slice(0, 3), [0, 1, 2].map((i) => String(i).repeat(6_000_000)));
    assert.equal(texts[3], numbered("line ", 10_000).join("\n") + "\n");
    assert.equal(texts.length, 5);
    assert.deepEqual((await kernel.execute("1 + 1")).outputs.map(plain), ["2"]);
  });
});

Deno.test("startKernel() runs cells as a front end would show them", async (t) => {
  await withKernel(async (kernel) => {
    const step = (title: string, code: string, expected: string[]) =>
      t.step(title, async () => {
        const { outputs, error } = await kernel.execute(code);
        assert.equal(error, null);
        assert.deepEqual(outputs.map(plain), expected);
      });
    await step("a value is shown", "1 + 1", ["2"]);
    await step("standard error stays apart, in order", `console.log("a"); console.error("b"); 3`, [
      "a\n",
      "b\n",
      "3",
    ]);
    await step(
      "an updated display shows only its last state",
      `
      const show = (text, update) => Deno.jupyter.broadcast(update ? "update_display_data" : "display_data",
        { data: { "text/plain": text }, metadata: {}, transient: { display_id: "bar" } });
      await show("0 %", false);
      for (const done of [20, 60, 100]) await show(done + " %", true);`,
      ["100 %"],
    );
    await step(
      "a cleared output is gone",
      `
      console.log("gone");
      await Deno.jupyter.broadcast("clear_output", { wait: false });
      console.log("stays");`,
      ["stays\n"],
    );
    await step(
      "an output cleared at the end without a next one stays",
      `
      console.log("stays");
      await Deno.jupyter.broadcast("clear_output", { wait: true });`,
      ["stays\n"],
    );
    await step(
      "the next cell sees what an earlier one declared, types and all",
      `
      let later: number = 5; let p = 1;`,
      [],
    );
    await step("and uses it", "later + p", ["6"]);

    await t.step("a thrown error is the last output and the kernel lives on", async () => {
      const run = await kernel.execute(`console.log("first"); throw new RangeError("too big");`);
      assert.deepEqual(run.outputs.map(plain), ["first\n", "RangeError: too big"]);
      assert.equal(run.error?.evalue, "too big");
      assert.equal(run.alive, true);
    });
    await t.step(
      "a syntax error, which the kernel keeps silent about, is named with its place",
      async () => {
        const run = await kernel.execute(`let a = 1;\nlet b = ;`);
        assert.equal(run.error?.ename, "SyntaxError");
        assert.match(run.error?.evalue ?? "", /line 2, column 9/);
        assert.deepEqual(run.outputs.map((output) => output.output_type), ["error"]);
      },
    );
    await t.step(
      "a value whose display throws fails the cell, though the kernel says ok",
      async () => {
        const run = await kernel.execute(
          `({ [Symbol.for("Jupyter.display")]() { throw new TypeError("no picture"); } })`,
        );
        assert.equal(run.error?.evalue, "no picture");
      },
    );
    await t.step("an endless loop is interrupted and the state is kept", async () => {
      const run = await kernel.execute(`console.log("in"); while (true) {}`, { timeLimitMs: 300 });
      assert.equal(run.error?.ename, "TimeLimit");
      assert.match(run.error?.evalue ?? "", /longer than 0\.3 s/);
      assert.equal(run.alive, true);
      assert.deepEqual(run.outputs.map(plain).at(0), "in\n");
      assert.deepEqual((await kernel.execute("later")).outputs.map(plain), ["5"]);
    });
    await t.step("an interrupted cell says so, and completions are answered", async () => {
      const running = kernel.execute("while (true) {}");
      await new Promise((resolve) => setTimeout(resolve, 100));
      await kernel.interrupt();
      assert.equal((await running).error?.ename, "Interrupted");
      const { matches } = await kernel.request("complete_request", { code: "late", cursor_pos: 4 });
      assert.deepEqual(matches, ["later"]);
    });
    await t.step("a cell that waits for ever is ended with the kernel", async () => {
      const run = await kernel.execute(`await new Promise(() => {})`, { timeLimitMs: 200 });
      assert.equal(run.error?.ename, "TimeLimit");
      assert.equal(run.alive, false);
      await assert.rejects(kernel.execute("1"), KernelError);
    });
  });
});

Deno.test("a cell that ends the process is told apart from a cell that fails", async () => {
  await withKernel(async (kernel) => {
    const { error, alive } = await kernel.execute(`Deno.exit(3)`);
    assert.equal(error?.ename, "KernelDied");
    assert.match(error?.evalue ?? "", /^The kernel died: exit code 3/);
    assert.equal(alive, false);
    await kernel.close();
    assert.equal(isRunning(kernel.pid), false);
  });
});

Deno.test("startKernel() says what a program that is no kernel said", async () => {
  await assert.rejects(
    startKernel({ kitDir: join(kitDir, "lib"), deno: "/bin/false" }),
    /Cannot ask Deno for its cache|kernel died: exit code 1/,
  );
});

Deno.test("close() ends the kernel and leaves nothing in the scratch folder", async () => {
  await withFolders(async ({ outsideDir }) => {
    const scratchDir = join(outsideDir, "scratch");
    Deno.mkdirSync(scratchDir);
    const kernel = await startKernel({ kitDir, scratchDir });
    assert.deepEqual([...Deno.readDirSync(scratchDir)].map((e) => e.name).sort(), [
      "broker.sock",
      "connection.json",
    ]);
    assert.equal(isRunning(kernel.pid), true);
    await kernel.close();
    await kernel.close();
    assert.equal(isRunning(kernel.pid), false);
    assert.deepEqual([...Deno.readDirSync(scratchDir)], []);
  });
});

for (const signal of ["SIGINT", "SIGTERM", "SIGKILL"] as const) {
  Deno.test(`a runner stopped by ${signal} leaves no kernel behind`, async () => {
    const scratchDir = await Deno.makeTempDir();
    const script = `
      import { startKernel } from ${JSON.stringify(`${kitDir}/lib/notebook/kernel.ts`)};
      const kernel = await startKernel(${JSON.stringify({ kitDir, scratchDir })});
      console.log(kernel.pid);
      await new Promise((resolve) => setTimeout(resolve, 60_000));`;
    const runner = new Deno.Command(Deno.execPath(), {
      args: ["eval", "--quiet", script],
      cwd: kitDir,
      stdout: "piped",
      stderr: "null",
    }).spawn();
    const reader = runner.stdout.getReader();
    const pid = Number(new TextDecoder().decode((await reader.read()).value));
    assert.ok(pid > 0 && isRunning(pid));
    runner.kill(signal);
    await runner.status;
    await reader.cancel();
    const left = [...Deno.readDirSync(scratchDir)];
    await Deno.remove(scratchDir, { recursive: true });
    if (signal !== "SIGKILL") assert.deepEqual(left, []);
    for (let i = 0; i < 100 && isRunning(pid); i++) await new Promise((r) => setTimeout(r, 20));
    assert.equal(isRunning(pid), false);
  });
}

/** An output as one line of text. */
function plain(output: Output): string {
  switch (output.output_type) {
    case "stream":
      return output.text;
    case "error":
      return `${output.ename}: ${output.evalue}`;
    default:
      return String(output.data["text/plain"]);
  }
}

function numbered(word: string, count: number): string[] {
  return Array.from({ length: count }, (_, i) => `${word}${i + 1}`);
}
