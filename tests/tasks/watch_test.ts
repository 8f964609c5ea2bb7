import assert from "node:assert/strict";
import { join } from "node:path";
import { copyBench, runTask } from "./run_task.ts";

Deno.test("watch makes the page of a good bench, and shows a bad one's errors in it", async () => {
  const place = await Deno.makeTempDir();
  const bench = join(place, "bench");
  await runTask("start", "--into", bench);
  const out = join(place, "out");
  const made = await runTask("watch", "--data", bench, "--out", out, "--once");
  assert.equal(made.code, 0, made.stderr);
  assert.match(
    await Deno.readTextFile(join(out, "watch-state.js")),
    /"page":"review-2026Q1\.html"/,
  );
  assert.match(await Deno.readTextFile(join(out, "watch.html")), /watch-state\.js/);
  const trials = join(bench, "trials.csv");
  await Deno.writeTextFile(trials, (await Deno.readTextFile(trials)).replace("48.5", "480.5"));
  await runTask("watch", "--data", bench, "--out", out, "--once");
  assert.match(await Deno.readTextFile(join(out, "watch-state.js")), /480\.5/);
  await Deno.remove(place, { recursive: true });
});

Deno.test("watch refuses a folder that is no bench, and results inside the bench it watches", async () => {
  const none = await runTask("watch", "--data", "nowhere");
  assert.equal(none.code, 2);
  assert.match(none.stderr, /nowhere is no bench folder/);
  const bench = await copyBench("data-demo");
  const within = await runTask("watch", "--data", bench, "--out", join(bench, "out"), "--once");
  assert.equal(within.code, 2);
  assert.match(within.stderr, /lies in the bench that is watched/);
  await Deno.remove(bench, { recursive: true });
});
