import assert from "node:assert/strict";
import { join } from "node:path";
import { runTask } from "./run_task.ts";

Deno.test("deno task start makes a bench that inspect finds no error in and review can run on", async () => {
  const place = await Deno.makeTempDir();
  const into = join(place, "my-bench");
  const started = await runTask("start", "--into", into);
  assert.equal(started.code, 0, started.stderr);
  assert.match(started.stdout, /trials\.csv/);
  const inspected = await runTask("inspect", "--data", into, "--out", join(place, "out"));
  assert.equal(inspected.code, 0, inspected.stdout);
  const reviewed = await runTask("review", "--data", into, "--out", join(place, "out"));
  assert.equal(reviewed.code, 0, reviewed.stderr);
  await Deno.remove(place, { recursive: true });
});

Deno.test("deno task start never overwrites: a second call ends with exit code 2 and changes nothing", async () => {
  const place = await Deno.makeTempDir();
  await runTask("start", "--into", place);
  const mine = join(place, "trials.csv");
  await Deno.writeTextFile(mine, "mine");
  const again = await runTask("start", "--into", place);
  assert.equal(again.code, 2);
  assert.match(again.stderr, /trials\.csv.*nothing is overwritten/s);
  assert.equal(await Deno.readTextFile(mine), "mine");
  await Deno.remove(place, { recursive: true });
});

Deno.test("deno task start asks for a folder's name when it is given none", async () => {
  const { code, stderr } = await runTask("start");
  assert.equal(code, 2);
  assert.match(stderr, /--into/);
});
