import assert from "node:assert/strict";
import { Buffer } from "node:buffer";
import { join } from "node:path";
import { folderLock } from "../../lib/records/folder_lock.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { startBench } from "../../lib/records/start_bench.ts";
import { removeLeftovers } from "../../lib/records/write_whole.ts";
import { importShoes, sizes } from "./write_until_killed.ts";

const KILLS = 20;

/** Milliseconds between a writer's first write and its end: other ones each time, the same in every run. */
function moment(kill: number): number {
  return (Math.imul(kill + 1, 2654435761) >>> 0) % 40;
}

/** Starts a writer, and kills it some time after it has begun. */
async function killed(words: readonly string[], after: number): Promise<void> {
  const script = new URL("write_until_killed.ts", import.meta.url).pathname;
  const child = new Deno.Command(Deno.execPath(), {
    args: ["run", "--quiet", "--no-check", "--allow-all", decodeURIComponent(script), ...words],
    stdout: "piped",
  }).spawn();
  const reader = child.stdout.getReader();
  const { value } = await reader.read();
  assert.equal(new TextDecoder().decode(value), "begun\n");
  await new Promise((resolve) => setTimeout(resolve, after));
  child.kill("SIGKILL");
  await reader.cancel();
  await child.status;
}

function waitingFiles(dir: string): string[] {
  return [...Deno.readDirSync(dir)].map(({ name }) => name)
    .filter((name) => /^\..+-[0-9a-f]{12}$/.test(name));
}

Deno.test("writeWhole() leaves a file whole when its process is killed at any moment", async () => {
  const dir = await Deno.makeTempDir();
  const file = join(dir, "page.html");
  let brokenOff = 0;
  for (let kill = 0; kill < KILLS; kill++) {
    await killed(["whole", file], moment(kill));
    const found = await Deno.readFile(file);
    const letter = String.fromCharCode(found[0]) as keyof typeof sizes;
    assert.equal(found.length, sizes[letter], `kill ${kill}, after ${moment(kill)} ms`);
    assert.equal(Buffer.compare(found, new Uint8Array(found.length).fill(found[0])), 0);
    for (const name of waitingFiles(dir)) {
      brokenOff++;
      await Deno.remove(join(dir, name));
    }
  }
  assert.ok(brokenOff > 0, "every kill came between two writes");
  await Deno.remove(dir, { recursive: true });
});

Deno.test("no task and no record writes a file but through writeWhole()", async () => {
  const written: string[] = [];
  for (const folder of ["records", "tasks"]) {
    const url = new URL(`../../lib/${folder}/`, import.meta.url);
    for await (const { name } of Deno.readDir(url)) {
      const text = await Deno.readTextFile(new URL(name, url));
      const calls = text.match(/Deno\.(writeTextFile|writeFile|create|open)(Sync)?\([^)]*/g) ?? [];
      written.push(
        ...calls.filter((call) => !call.includes("read: true")).map((call) =>
          `${name}: ${call.split(",")[0]}`
        ),
      );
    }
  }
  assert.deepEqual(written.sort(), [
    "folder_lock.ts: Deno.open(path", // an empty file, taken away at the end
    "lab.ts: Deno.writeTextFile(join(order.scratch", // in the scratch folder of the run
    "task_order.ts: Deno.writeTextFile(probe", // likewise
    "write_whole.ts: Deno.open(join(dir", // to read, whether a leftover is held
    "write_whole.ts: Deno.open(waiting",
  ]);
});

Deno.test("importBench() leaves a bench that loads when it is killed at any moment, and goes on from it", async () => {
  const dir = await Deno.makeTempDir();
  await importShoes(dir, 1);
  let shoes = 1;
  let brokenOff = 0;
  for (let kill = 0; kill < KILLS; kill++) {
    await killed(["import", dir, String(shoes + 1)], moment(kill));
    const { problems, counts } = await inspectBench(dir);
    const errors = problems.filter(({ severity }) => severity === "error");
    assert.deepEqual(errors.map(problemInWords), []);
    // Shoes are written before their trials, so that no trial is ever without its shoe.
    const { kept } = counts["trials.csv"];
    assert.ok(kept % 2 === 0 && kept >= 2 * shoes && kept <= 2 * counts["shoes.csv"].read);
    if (kept < 2 * counts["shoes.csv"].read) brokenOff++;
    shoes = counts["shoes.csv"].read;
    await importShoes(dir, shoes);
    assert.equal((await inspectBench(dir)).counts["trials.csv"].kept, 2 * shoes);
  }
  assert.ok(brokenOff + waitingFiles(dir).length > 0, "no import was broken off");
  await Deno.remove(dir, { recursive: true });
});

Deno.test("a lock that a killed process left keeps nobody out, and none stays behind", async () => {
  const dir = await Deno.makeTempDir();
  await killed(["hold", dir], 0);
  assert.deepEqual([...Deno.readDirSync(dir)].map(({ name }) => name), [".import-lock"]);
  let waited = false;
  {
    await using _lock = await folderLock(dir, ".import-lock", { onWait: () => (waited = true) });
  }
  assert.equal(waited, false);
  assert.deepEqual([...Deno.readDirSync(dir)], []);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("folderLock() lets one run in at a time, whoever takes the file away", async () => {
  const dir = await Deno.makeTempDir();
  let inside = 0;
  let waits = 0;
  // Who comes again finds no file, and makes a new one while others still wait for the old.
  await Promise.all(Array.from({ length: 8 }, async () => {
    for (let round = 0; round < 6; round++) {
      await using _lock = await folderLock(dir, ".write-lock", { onWait: () => void waits++ });
      assert.equal(++inside, 1);
      await new Promise((resolve) => setTimeout(resolve, 2));
      inside--;
    }
  }));
  assert.equal(waits > 0, true);
  assert.deepEqual([...Deno.readDirSync(dir)], []);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("removeLeftovers() takes away waiting files that nobody holds, and nothing else", async () => {
  const dir = await Deno.makeTempDir();
  const old = `.trials.csv-${crypto.randomUUID()}`;
  const held = `.trials.csv-0${crypto.randomUUID().slice(1)}`;
  for (const name of [old, held, ".notes-of-mine", "trials.csv"]) {
    await Deno.writeTextFile(join(dir, name), "x");
  }
  const names = () => [...Deno.readDirSync(dir)].map(({ name }) => name).sort();
  await removeLeftovers(dir);
  assert.deepEqual(names(), [held, old, ".notes-of-mine", "trials.csv"].sort());
  {
    using holder = await Deno.open(join(dir, held), { write: true });
    await holder.lock(true);
    await removeLeftovers(dir, { now: Date.now() + 60_000 });
    assert.deepEqual(names(), [held, ".notes-of-mine", "trials.csv"].sort());
  }
  await removeLeftovers(dir, { now: Date.now() + 60_000 });
  assert.deepEqual(names(), [".notes-of-mine", "trials.csv"]);
  await removeLeftovers(join(dir, "not-there"));
  await Deno.remove(dir, { recursive: true });
});

Deno.test("startBench() finishes what a start left that was broken off, and overwrites nothing", async () => {
  const dir = await Deno.makeTempDir();
  const files = await startBench(dir);
  const whole = await Deno.readTextFile(join(dir, "trials.csv"));
  for (const name of ["trials.csv", "rules/my-index-1.json"]) await Deno.remove(join(dir, name));
  assert.deepEqual(await startBench(dir), ["trials.csv", "rules/my-index-1.json"]);
  assert.equal(await Deno.readTextFile(join(dir, "trials.csv")), whole);
  await assert.rejects(startBench(dir), /nothing is overwritten/);
  await Deno.remove(join(dir, "trials.csv"));
  await Deno.writeTextFile(join(dir, "shoes.csv"), "mine");
  await assert.rejects(startBench(dir), /nothing is overwritten/);
  assert.ok(files.length > 8);
  await Deno.remove(dir, { recursive: true });
});
