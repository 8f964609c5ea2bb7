import assert from "node:assert/strict";
import { join } from "node:path";
import { placeTogether, writeWhole } from "../../lib/records/write_whole.ts";
import { runTask } from "../tasks/run_task.ts";
import { killAll, KILLED_TASKS, killPlan } from "./kill_moments.ts";

/** A folder of one run's results: a picture, a page and the JSON, each with the run's number in it. */
async function results(run: number): Promise<string> {
  const dir = await Deno.makeTempDir({ prefix: "results-" });
  await Deno.mkdir(join(dir, "figures"));
  for (const file of ["page.html", "result.json", "figures/one-01.svg", `figures/one-${run}.svg`]) {
    await Deno.writeTextFile(join(dir, file), `run ${run}`);
  }
  return dir;
}

Deno.test("results are placed together, and the stale ones of an earlier run go", async () => {
  const out = await Deno.makeTempDir();
  for (const run of [2, 3]) {
    const made = await results(run);
    assert.deepEqual(
      await placeTogether(made, out, { stale: (file) => file.startsWith("figures/one-") }),
      ["figures/one-01.svg", `figures/one-${run}.svg`, "page.html", "result.json"],
    );
    await Deno.remove(made, { recursive: true });
  }
  assert.deepEqual([...Deno.readDirSync(join(out, "figures"))].map(({ name }) => name).sort(), [
    "one-01.svg",
    "one-3.svg",
  ]);
  assert.equal(await Deno.readTextFile(join(out, "result.json")), "run 3");
  await Deno.remove(out, { recursive: true });
});

Deno.test("where one file of a result can't be written, the whole earlier result stays", async () => {
  const [out, first, second] = [await Deno.makeTempDir(), await results(1), await results(2)];
  await placeTogether(first, out);
  // With the ending of a waiting file it is longer than a file system takes.
  await Deno.writeTextFile(join(second, "x".repeat(220)), "too long for a waiting name");
  await assert.rejects(placeTogether(second, out));
  assert.equal(await Deno.readTextFile(join(out, "result.json")), "run 1");
  assert.equal(await Deno.readTextFile(join(out, "page.html")), "run 1");
  assert.deepEqual([...Deno.readDirSync(out)].map(({ name }) => name).sort(), [
    "figures",
    "page.html",
    "result.json",
  ]);
  for (const dir of [out, first, second]) await Deno.remove(dir, { recursive: true });
});

// Of the fifty moments that the script beside this file goes through, a few spread over the run.
const KILLS = { review: 3, import: 6, answer: 6, enter: 6, publish: 6 } as const;
for (const task of KILLED_TASKS) {
  Deno.test(`${task}, stopped by TERM, INT or KILL at ${KILLS[task]} moments, leaves no process and nothing half-written`, async () => {
    const kills = Number(Deno.env.get("KILLS") ?? KILLS[task]);
    await killAll(task, killPlan(kills));
  });
}

/** A disk of a quarter megabyte, or null where none can be made. */
async function smallDisk(): Promise<(AsyncDisposable & { readonly path: string }) | null> {
  const path = await Deno.makeTempDir({ prefix: "disk-" });
  try {
    const { success } = await new Deno.Command("mount", {
      args: ["-t", "tmpfs", "-o", "size=256k", "tmpfs", path],
      stderr: "null",
    }).output();
    if (!success) return null;
  } catch {
    return null;
  }
  return {
    path,
    [Symbol.asyncDispose]: async () => {
      await new Deno.Command("umount", { args: [path] }).output();
      await Deno.remove(path);
    },
  };
}

Deno.test("on a full disk a task says so in a sentence and leaves the earlier result whole", async (t) => {
  await using disk = await smallDisk();
  if (disk === null) {
    console.log("Skipped: no small disk can be mounted here.");
    return;
  }
  await t.step("retest fits, publish doesn't", async () => {
    const fits = await runTask("retest", "--slots", "2", "--out", disk.path);
    assert.equal(fits.code, 0, fits.stderr);
    const before = await Deno.readTextFile(join(disk.path, "retest.json"));
    await Deno.writeFile(join(disk.path, "filler"), new Uint8Array(120_000));
    const full = await runTask("publish", "--out", disk.path);
    assert.equal(full.code, 1);
    assert.match(full.stderr, /^The disk is full: nothing was changed\..*$/m);
    assert.ok(!full.stderr.includes("    at "), full.stderr);
    assert.equal(await Deno.readTextFile(join(disk.path, "retest.json")), before);
    assert.deepEqual([...Deno.readDirSync(disk.path)].map(({ name }) => name).sort(), [
      "filler",
      "retest.csv",
      "retest.json",
    ]);
  });
  await t.step("writeWhole() leaves the old file", async () => {
    await assert.rejects(writeWhole(join(disk.path, "filler"), new Uint8Array(400_000)));
    assert.equal((await Deno.stat(join(disk.path, "filler"))).size, 120_000);
  });
});
