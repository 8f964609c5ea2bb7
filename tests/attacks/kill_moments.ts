/**
 * Stops tasks at moments spread evenly over their run, by signal and by process in turn, and looks at what
 * is left then: no process after two seconds, whole files only, no picture or page beside the JSON of
 * another run, tables as they were or as they were to become, no scratch folder once the next run began.
 *
 * Run: deno run --config tests/deno.json -A tests/attacks/kill_moments.ts 50 [review import …] [0-24]
 */
import assert from "node:assert/strict";
import { join } from "node:path";
import { deadScratch } from "../../lib/notebook/scratch_folder.ts";
import { kitDir } from "../notebook/with_kernel.ts";
import { inventedCatalogue } from "../records/invented_workbook.ts";
import { copyBench } from "../tasks/run_task.ts";
import { familyOf, processesNaming } from "./processes.ts";

const DEMO = join(kitDir, "data-demo");

/** One moment at which a run is stopped. */
export type Kill = {
  readonly signal: "SIGTERM" | "SIGINT" | "SIGKILL";
  /** Of the processes that the run has by then: the task, its front, the task's own process (the keeper). */
  readonly member: 0 | 1 | 2;
  /** As a share of what the run takes. */
  readonly share: number;
};

/** What a run of a task is held against. */
type Trial = {
  /** The folder of all: results, scratch folders, the bench. */
  readonly dir: string;
  /** What stands behind the task's name; the seed tells runs apart where the task takes one. */
  call(seed: number): readonly string[];
  /** Says what is half-written, by throwing; takes back what the run did. */
  check(): Promise<void>;
  readonly takesMs: number;
  /** The exit code of a run that nobody stops. */
  readonly code: number;
};

export const KILLED_TASKS = ["review", "import", "answer", "enter", "publish"] as const;
export type KilledTask = typeof KILLED_TASKS[number];

/** Moments in the middles of so many equal parts of the run and a little beyond; signals and processes in turn. */
export function killPlan(kills: number, seed = 1): readonly Kill[] {
  const signals = ["SIGTERM", "SIGINT", "SIGKILL"] as const;
  const ways = Array.from({ length: kills }, (_, i) => ({
    signal: signals[i % 3],
    member: (Math.floor(i / 3) % 3) as 0 | 1 | 2,
  }));
  // Which way goes with which moment: shuffled, so that no signal keeps to one part of the run.
  let state = seed;
  for (let i = kills - 1; i > 0; i--) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    const j = Math.floor(state / 2 ** 32 * (i + 1));
    [ways[i], ways[j]] = [ways[j], ways[i]];
  }
  return ways.map((way, i) => ({ ...way, share: 1.2 * (i + 0.5) / kills }));
}

/** Stops a task at each of these moments; the number of runs that had ended before. */
export async function killAll(task: KilledTask, plan: readonly Kill[]): Promise<number> {
  const dir = Deno.realPathSync(await Deno.makeTempDir({ prefix: "kills-" }));
  try {
    for (const folder of ["out", "tmp"]) await Deno.mkdir(join(dir, folder));
    const trial = await TRIALS[task](dir);
    let through = 0;
    for (const [i, kill] of plan.entries()) {
      const words = `${task}: ${kill.signal} to process ${kill.member} at ${kill.share.toFixed(3)}`;
      try {
        if (await killOnce(task, trial, kill, i + 2)) through++;
      } catch (error) {
        throw new Error(words, { cause: error });
      }
    }
    // The next run takes away what killed ones could not, those that came to no lock a little later.
    if (scratchIn(dir).some((folder) => !hasLock(folder))) await wait(6_000);
    assert.equal((await run("inspect", ["--data", DEMO, "--out", join(dir, "out")], dir)).code, 0);
    assert.deepEqual(scratchIn(dir), []);
    return through;
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

async function killOnce(
  task: KilledTask,
  trial: Trial,
  { signal, member, share }: Kill,
  seed: number,
): Promise<boolean> {
  const before = scratchIn(trial.dir);
  const child = start(task, trial.call(seed), trial.dir);
  await wait(trial.takesMs * share);
  const family = familyOf(child.pid).filter((pid) => !asksTheRuntime(pid));
  try {
    Deno.kill(family[Math.min(member, family.length - 1)], signal);
  } catch { /* was through already */ }
  // A task that nobody kills after a second, as its front would, hears the end when what it loads or
  // computes in one step is through.
  const unwatched = (member === 2) !== (signal === "SIGKILL");
  const limitMs = 2_000 + (unwatched ? trial.takesMs : 0);
  for (let waited = 0; processesNaming(trial.dir).length > 0; waited += 50) {
    assert.ok(waited < limitMs, `still running: ${processesNaming(trial.dir)}`);
    await wait(50);
  }
  const { code } = await child.status;
  const stopped = { SIGTERM: [143], SIGINT: [130], SIGKILL: [137, 143] }[signal];
  assert.ok(code === trial.code || stopped.includes(code), `exit code ${code}`);
  const left = scratchIn(trial.dir).filter((folder) => !before.includes(folder));
  if (signal !== "SIGKILL") assert.deepEqual(left, []);
  const dead = deadScratch(join(trial.dir, "tmp"));
  assert.deepEqual(left.filter((folder) => !dead.includes(folder) && hasLock(folder)), []);
  await trial.check();
  return code === trial.code;
}

/** A trial of a task whose results lie in the out folder: those of one run, whole. */
async function resultsTrial(
  task: KilledTask,
  dir: string,
  options: readonly string[],
): Promise<Trial> {
  const out = join(dir, "out");
  const call = (seed: number) => [...options, "--out", out, "--seed", String(seed)];
  const { code, tookMs } = await run(task, call(1), dir);
  assert.equal(code, 0);
  assert.ok(looksWhole(out) > 2);
  return { dir, call, code, takesMs: tookMs, check: () => Promise.resolve(void looksWhole(out)) };
}

const TRIALS: Readonly<Record<KilledTask, (dir: string) => Promise<Trial>>> = {
  review: (dir) => resultsTrial("review", dir, ["--data", DEMO]),
  publish: (dir) => resultsTrial("publish", dir, ["--data", DEMO]),
  answer: (dir) =>
    resultsTrial(
      "answer",
      dir,
      ["--data", DEMO, "--shoes", "tolmeck-brindlet-1,quenbar-morrune-1", "--metrics", "mass"],
    ),
  import: async (dir) => {
    const [out, from] = [join(dir, "out"), join(dir, "catalogue.xlsx")];
    await Deno.writeFile(from, inventedCatalogue());
    assert.equal((await run("import", ["--from", from, "--suggest", "--out", dir], dir)).code, 0);
    const call = () => [
      "--from",
      from,
      "--mapping",
      join(dir, "suggested-mapping.json"),
      "--out",
      out,
      "--yes",
    ];
    const { code, tookMs } = await run("import", call(), dir);
    const whole = tablesOf(out);
    assert.ok(whole.size > 3);
    const check = async () => {
      for (const [file, text] of tablesOf(out)) assert.equal(text, whole.get(file), file);
      looksWhole(out);
      await Deno.remove(out, { recursive: true });
      await Deno.mkdir(out);
    };
    await check();
    return { dir, call, code, takesMs: tookMs, check };
  },
  enter: async (dir) => {
    const bench = join(dir, "bench");
    await Deno.rename(await copyBench(DEMO), bench);
    const before = tablesOf(bench);
    const sheet = join(dir, "bench-sheet.csv");
    const planned = ["--data", bench, "--out", dir, "--sheet", "--metrics", "mass"];
    assert.equal((await run("retest", [...planned, "--shoes", "orbinel 3"], dir)).code, 0);
    const [head, ...lines] = (await Deno.readTextFile(sheet)).trim().split("\r\n");
    const reading = head.split(",").indexOf("reading_1");
    const filled = lines.map((line) =>
      line.split(",").map((cell, c) => c === reading ? "340" : cell).join(",")
    );
    await Deno.writeTextFile(sheet, [head, ...filled].join("\n"));
    const call = () => [
      ...["--sheet", sheet, "--data", bench, "--yes", "--date", "2026-11-20"],
      ...["--operator", "mb"],
    ];
    const { code, tookMs } = await run("enter", call(), dir);
    assert.equal(code, 0);
    const after = tablesOf(bench);
    assert.notEqual(after.get("trials.csv"), before.get("trials.csv"));
    const check = async () => {
      const now = tablesOf(bench);
      assert.deepEqual([...now.keys()], [...before.keys()]);
      const changed = [...now].filter(([file, text]) => text !== before.get(file));
      for (const [file, text] of changed) assert.equal(text, after.get(file), file);
      // Readings never without their session; the sheet entered again adds what is missing.
      if (changed.length > 0) assert.notEqual(now.get("sessions.csv"), before.get("sessions.csv"));
      if (changed.length === 1) {
        assert.equal((await run("enter", call(), dir)).code, 0);
        assert.deepEqual(tablesOf(bench), after);
      }
      for (const [file, text] of before) await Deno.writeTextFile(join(bench, file), text);
    };
    await check();
    return { dir, call, code, takesMs: tookMs, check };
  },
};

function start(task: string, options: readonly string[], dir: string): Deno.ChildProcess {
  return new Deno.Command(Deno.execPath(), {
    args: ["task", "--quiet", task, "--", ...options],
    cwd: kitDir,
    env: { TMPDIR: join(dir, "tmp"), NO_COLOR: "1" },
    stdin: "null",
    stdout: "null",
    stderr: "null",
  }).spawn();
}

async function run(
  task: string,
  options: readonly string[],
  dir: string,
): Promise<{ readonly code: number; readonly tookMs: number }> {
  const began = performance.now();
  const { code } = await start(task, options, dir).status;
  return { code, tookMs: performance.now() - began };
}

/** The front's short question where packages lie, which is no process of the three. */
function asksTheRuntime(pid: number): boolean {
  try {
    return Deno.readTextFileSync(`/proc/${pid}/cmdline`).includes("\0info\0");
  } catch {
    return false;
  }
}

const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

function hasLock(folder: string): boolean {
  try {
    return Deno.statSync(join(folder, "lock")).isFile;
  } catch {
    return false;
  }
}

const scratchIn = (dir: string): readonly string[] =>
  [...Deno.readDirSync(join(dir, "tmp"))].map(({ name }) => join(dir, "tmp", name)).sort();

const filesOf = (dir: string): readonly string[] =>
  [...Deno.readDirSync(dir)].filter(({ isFile, name }) => isFile && !name.startsWith("."))
    .map(({ name }) => name).sort();

const tablesOf = (dir: string): ReadonlyMap<string, string> =>
  new Map(
    filesOf(dir).filter((name) => name.endsWith(".csv"))
      .map((name) => [name, Deno.readTextFileSync(join(dir, name))]),
  );

/** How many files lie there, all of them whole and of one run? */
function looksWhole(out: string): number {
  const files = filesOf(out);
  const seeds = new Set<string>();
  for (const name of files) {
    const text = Deno.readTextFileSync(join(out, name));
    if (name.endsWith(".json")) {
      const { seed } = JSON.parse(text);
      if (seed !== undefined) seeds.add(String(seed));
    }
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
  const [kills = "50", ...more] = Deno.args;
  const named = more.filter((word) => /^[a-z]/.test(word));
  // A part of the kills, such as 0-24, where one run should not take all the time.
  const [first = 0, last = Infinity] = more.find((word) => /^\d+-\d+$/.test(word))?.split("-")
    .map(Number) ?? [];
  const plan = killPlan(Number(kills)).slice(first, last + 1);
  const tasks = KILLED_TASKS.filter((task) => named.length === 0 || named.includes(task));
  for (const task of tasks) {
    const began = performance.now();
    const through = await killAll(task, plan);
    const seconds = Math.round((performance.now() - began) / 1000);
    console.log(
      `${task}: ${plan.length} kills in ${seconds} s, ${through} runs had ended before; nothing left`,
    );
  }
}
