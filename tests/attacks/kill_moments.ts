/**
 * Kills a task with all its processes at many moments and looks at what lies in its out folder then:
 * whole files only, and no picture or page beside the JSON of another run.
 *
 * Run: deno run --config tests/deno.json -A tests/attacks/kill_moments.ts 50
 */
import assert from "node:assert/strict";
import { join } from "node:path";
import { kitDir } from "../notebook/with_kernel.ts";
import { familyOf, survivors } from "./processes.ts";

const DEMO = join(kitDir, "data-demo");

/** Tasks that write several files as one result; the seed differs from run to run and stands in each. */
const TASKS: Readonly<Record<string, readonly string[]>> = {
  answer: ["--data", DEMO, "--shoes", "tolmeck-brindlet-1,quenbar-morrune-1", "--metrics", "mass"],
  publish: ["--data", DEMO],
  retest: ["--data", DEMO, "--slots", "3"],
  review: ["--data", DEMO],
};

/** What a run of the kill found. */
export type Kill = { readonly task: string; readonly afterMs: number; readonly files: number };

/** Runs a task to its end, then again with another seed, killed after so long; looks at what is left. */
export async function killAt(task: string, afterMs: number, out: string): Promise<Kill> {
  const child = new Deno.Command(Deno.execPath(), {
    args: ["task", "--quiet", task, "--", ...TASKS[task], "--out", out, "--seed", "7"],
    cwd: kitDir,
    stdin: "null",
    stdout: "null",
    stderr: "null",
  }).spawn();
  await new Promise((resolve) => setTimeout(resolve, afterMs));
  const family = familyOf(child.pid);
  for (const pid of family) {
    try {
      Deno.kill(pid, "SIGKILL");
    } catch { /* was through already */ }
  }
  await child.status;
  assert.deepEqual(await survivors(family), []);
  return { task, afterMs, files: looksWhole(out) };
}

/** Runs a task to its end and says how long it took. */
export async function runThrough(task: string, out: string): Promise<number> {
  const began = performance.now();
  const { success } = await new Deno.Command(Deno.execPath(), {
    args: ["task", "--quiet", task, "--", ...TASKS[task], "--out", out, "--seed", "1"],
    cwd: kitDir,
    stdout: "null",
    stderr: "null",
  }).output();
  assert.ok(success, task);
  return performance.now() - began;
}

/** How many files lie there, all of them whole and of one run? */
function looksWhole(out: string): number {
  const files = [...Deno.readDirSync(out)].filter(({ isFile, name }) =>
    isFile && !name.startsWith(".")
  ).map(({ name }) => name);
  const seeds = new Set<string>();
  for (const name of files) {
    const text = Deno.readTextFileSync(join(out, name));
    if (name.endsWith(".json")) seeds.add(String(JSON.parse(text).seed));
    if (name.endsWith(".ipynb")) JSON.parse(text);
    if (name.endsWith(".svg")) assert.match(text, /<\/svg>\s*$/);
    if (name.endsWith(".html")) assert.match(text, /<\/html>\s*$/);
    if (name.endsWith(".md")) assert.match(text, /\n$/);
    // Pages and words say the seed that their figures were made with.
    const said = /[Ss]eed<?[^0-9<]{0,12}(?:<[^>]+>\s*)*(\d+)/.exec(text);
    if (said && /\.(html|md)$/.test(name)) seeds.add(said[1]);
  }
  assert.ok(!files.some((name) => name.endsWith(".json")) || seeds.size <= 1, `${[...seeds]}`);
  return files.length;
}

if (import.meta.main) {
  const kills = Number(Deno.args[0] ?? 50);
  for (const task of Object.keys(TASKS)) {
    const out = await Deno.makeTempDir();
    const takes = await runThrough(task, out);
    let none = 0;
    for (let kill = 0; kill < kills; kill++) {
      const share = kill < kills / 2 ? kill / kills : 0.9 + 0.2 * (kill / kills - 0.5);
      const { files } = await killAt(task, takes * share, out);
      if (files === 0) none++;
    }
    console.log(
      `${task}: ${kills} kills over ${
        Math.round(takes)
      } ms, whole each time, ${none} without files`,
    );
    await Deno.remove(out, { recursive: true });
  }
}
