import assert from "node:assert/strict";
import { join } from "node:path";
import type { JupyterMessage } from "../../lib/notebook/messages.ts";
import { jupyterDataDir, registerKernel } from "../../lib/notebook/register_kernel.ts";
import { withRegisteredKernel } from "./front_end.ts";
import { kitDir, withFolders } from "./with_kernel.ts";

Deno.test("the registered kernel serves a front end: whole cells, own parents, Stop, refusals, an end", async (t) => {
  await withRegisteredKernel(async (front, { dataDir, outsideDir, child }) => {
    await t.step(
      "every output of a cell comes before its idle, with the cell as parent",
      async () => {
        for (let round = 0; round < 20; round++) {
          const { shown, status } = await front.run(`
          for (let i = 0; i < 200; i++) console.log(i);
          for (let i = 0; i < 20; i++) {
            await Deno.jupyter.display({ "text/plain": "d" + i }, { raw: true });
          }
          "value"`);
          assert.equal(status, "ok");
          assert.equal(textOf(shown), Array.from({ length: 200 }, (_, i) => `${i}\n`).join(""));
          assert.equal(shown.filter((m) => m.header.msg_type === "display_data").length, 20);
          assert.equal(shown.at(-1)?.header.msg_type, "execute_result");
        }
      },
    );
    await t.step("an error comes last, even one that the kernel keeps silent about", async () => {
      const thrown = await front.run(`console.log("a"); throw new RangeError("b")`);
      assert.deepEqual(thrown.shown.map((m) => m.header.msg_type), ["stream", "error"]);
      const syntax = await front.run("let b = ;");
      assert.equal(syntax.status, "error");
      assert.equal(syntax.shown.at(-1)?.content.ename, "SyntaxError");
    });
    await t.step("cells read the registered data and nothing outside", async () => {
      const inside = await front.run(
        `Deno.readTextFileSync(${JSON.stringify(join(dataDir, "shoes.csv"))}).length`,
      );
      assert.equal(inside.status, "ok");
      const outside = await front.run(
        `Deno.readTextFileSync(${JSON.stringify(join(outsideDir, "secret.json"))})`,
      );
      assert.equal(outside.shown.at(-1)?.content.ename, "NotCapable");
    });
    await t.step("Stop interrupts a loop and keeps the state", async () => {
      await front.run("let kept = 41;");
      const running = front.run("while (true) {}");
      await new Promise((resolve) => setTimeout(resolve, 200));
      await front.control("interrupt_request");
      assert.equal((await running).shown.at(-1)?.content.ename, "Interrupted");
      const after = await front.run("kept + 1");
      assert.deepEqual(after.shown.map((m) => m.content.data), [{ "text/plain": "42" }]);
    });
    await t.step("cells queued behind a failing one are not run", async () => {
      const statuses = await Promise.all([
        front.run(`await new Promise((r) => setTimeout(r, 100)); throw new Error("first")`),
        front.run(`let notRun = true;`),
      ]);
      assert.deepEqual(statuses.map((run) => run.status), ["error", "aborted"]);
    });
    await t.step("the heart beats", async () => {
      assert.deepEqual(await front.beat(), [new Uint8Array(), new Uint8Array([1, 2])]);
    });
    await t.step("a message with a wrong signature is not heard", async () => {
      await front.forge(`Deno.writeTextFileSync("x", "")`);
      assert.equal((await front.run("1")).status, "ok");
    });
    await t.step("asked for the end, it ends", async () => {
      assert.equal((await front.control("shutdown_request")).status, "ok");
      assert.equal((await child.status).code, 0);
    });
  });
});

Deno.test("a cell that ends the process ends the served kernel with an error the front end sees", async () => {
  await withRegisteredKernel(async (front, { child }) => {
    const { status, shown } = await front.run("Deno.exit(4)");
    assert.equal(status, "error");
    assert.match(String(shown.at(-1)?.content.evalue), /exit code 4/);
    assert.equal((await child.status).code, 1);
  });
});

Deno.test("registerKernel() writes a kernelspec with a message for Stop, replacing an earlier one", async () => {
  await withFolders(async ({ dataDir, outDir, outsideDir }) => {
    const jupyterDir = join(outsideDir, "jupyter");
    const options = { kitDir, dataDirs: [dataDir], outDir, jupyterDir };
    await registerKernel(options);
    const folder = await registerKernel(options);
    assert.equal(folder, join(jupyterDir, "kernels", "bench-to-court"));
    assert.deepEqual([...Deno.readDirSync(folder)].map((e) => e.name), ["kernel.json"]);
    const spec = JSON.parse(Deno.readTextFileSync(join(folder, "kernel.json")));
    assert.equal(spec.interrupt_mode, "message");
    assert.equal(spec.display_name, "Bench to Court");
    assert.ok(spec.argv.includes("{connection_file}"));
    assert.ok(
      !spec.argv.some((word: string) => /^(-A|--allow-all|--allow-read|--allow-net)/.test(word)),
    );
  });
});

Deno.test("jupyterDataDir() looks where Jupyter looks on each system", () => {
  const on = (os: string, variables: Record<string, string>) =>
    jupyterDataDir({ os, variable: (name) => variables[name] });
  assert.equal(on("linux", { HOME: "/h" }), "/h/.local/share/jupyter");
  assert.equal(on("linux", { HOME: "/h", XDG_DATA_HOME: "/x" }), "/x/jupyter");
  assert.equal(on("darwin", { HOME: "/h" }), "/h/Library/Jupyter");
  assert.equal(on("linux", { HOME: "/h", JUPYTER_DATA_DIR: "/j" }), "/j");
  assert.throws(() => on("linux", {}), /HOME is not set/);
});

function textOf(messages: readonly JupyterMessage[]): string {
  return messages.filter((m) => m.header.msg_type === "stream").map((m) => m.content.text).join("");
}
