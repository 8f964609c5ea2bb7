/**
 * The front of every task: reads the call, finds the folders it names, and starts the task itself as
 * a second process that may touch those folders and nothing else. A permission list can't be written
 * into deno.json ahead of time, because it depends on `--data` and `--out`.
 */
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { CallError, helpText, readCall, type TaskCall, taskSpecs } from "./task_calls.ts";
import { kernelVariables } from "../notebook/deno_cache.ts";
import { waitFor } from "../notebook/end_with_process.ts";
import { deadScratch, programFile, scratchPrefix } from "../notebook/scratch_folder.ts";
import { jupyterDataDir, kernelName } from "../notebook/register_kernel.ts";
import type { TaskOrder } from "./task_order.ts";

const kitDir = resolve(dirname(fileURLToPath(import.meta.url)), "..", "..");

if (import.meta.main) Deno.exit(await startTask(Deno.args));

/**
 * Starts a task with the permissions it needs.
 *
 * @param words the task's name and the options behind it
 * @returns the exit code: 0 done, 1 the data has errors, 2 the call is wrong
 */
export async function startTask(words: readonly string[]): Promise<number> {
  const [name = "", ...rest] = words;
  let call: TaskCall;
  try {
    call = readCall(name, rest);
  } catch (error) {
    if (!(error instanceof CallError)) throw error;
    console.error(error.message);
    return 2;
  }
  if (call.options.help) {
    console.log(helpText(call.spec));
    return 0;
  }
  const file = join(kitDir, "lib", "tasks", `${name}.ts`);
  if (!exists(file)) {
    console.error(
      `"${name}" is not part of this version of the kit: its study is still missing. There are ${
        taskSpecs.map((task) => task.name).filter((task) =>
          exists(join(kitDir, "lib", "tasks", `${task}.ts`))
        ).join(", ")
      }.`,
    );
    return 2;
  }
  try {
    return await runTask(call, file);
  } catch (error) {
    if (!(error instanceof CallError)) throw error;
    console.error(error.message);
    return 2;
  }
}

async function runTask({ spec, options }: TaskCall, file: string): Promise<number> {
  // From the kit's own folder `deno task` runs with the kit as working directory; INIT_CWD is where
  // the person typed it, and their paths are relative to that.
  const cwd = Deno.env.get("INIT_CWD") ?? Deno.cwd();
  const folders = [...new Set([...spec.reads, spec.into])].filter((option) =>
    typeof options[option] === "string"
  );
  const places = Object.fromEntries(
    folders.map((option) => [option, place(cwd, options[option] as string, option)]),
  );
  const temporary = realPath(Deno.env.get("TMPDIR") ?? "/tmp");
  const scratch = join(temporary, `${scratchPrefix}${crypto.randomUUID()}`);
  const dead = deadScratch(temporary);
  const front: Record<string, string> = spec.registers ? frontEnd() : {};
  const order: TaskOrder = {
    task: spec.name,
    kit: kitDir,
    cwd,
    options: { ...options, ...places, ...front },
    scratch,
    front: Deno.pid,
    dead,
  };
  const deno = Deno.execPath();
  const kernels = front.jupyter === undefined ? [] : [join(front.jupyter, "kernels", kernelName)];
  const reads = [
    kitDir,
    await denoCache(deno),
    ...Object.values(places),
    scratch,
    ...dead,
    ...kernels,
  ];
  const writes = [places[spec.into] ?? place(cwd, "out", "out"), scratch, ...dead, ...kernels];
  const permissions = [
    // Packages look at colour settings while they load; they are told that none is set.
    "--ignore-env",
    `--allow-read=${reads.map(listed).join(",")}`,
    `--allow-write=${writes.map(listed).join(",")}`,
    ...(spec.kernel
      ? [
        `--allow-run=${listed(deno)}`,
        `--allow-net=127.0.0.1,${listed(`unix:${scratch}/broker.sock`)}`,
        `--allow-env=${kernelVariables.join(",")}`,
      ]
      : []),
    ...(spec.runs ? [`--allow-run=${listed(deno)}`] : []),
    ...(front.program === undefined ? [] : [`--allow-run=${listed(front.program)}`]),
  ];
  const child = new Deno.Command(deno, {
    args: ["run", "--no-prompt", "--quiet", ...permissions, file, JSON.stringify(order)],
    cwd: kitDir,
  }).spawn();
  const code = await waitFor(child);
  endOpenedProgram(scratch);
  if (exists(scratch)) await removeLeft(scratch);
  return code;
}

/** Takes away the scratch folder of a task that was killed and could not do it itself. */
async function removeLeft(scratch: string): Promise<void> {
  await new Deno.Command(Deno.execPath(), {
    args: [
      ...["run", "--no-prompt", "--quiet", `--allow-read=${scratch}`, `--allow-write=${scratch}`],
      ...[join(kitDir, "lib", "notebook", "scratch_folder.ts"), scratch],
    ],
  }).output();
}

/** The task ends the program that it has opened, unless it was killed itself. */
function endOpenedProgram(scratch: string): void {
  try {
    Deno.kill(Number(Deno.readTextFileSync(join(scratch, programFile))), "SIGTERM");
  } catch { /* the scratch folder is gone, as it should be, or the program is */ }
}

/**
 * Where this user's Jupyter keeps its kernels, and the program that shows notebooks, if there is one.
 *
 * Read here, because the task itself sees no environment.
 */
function frontEnd(): { jupyter: string; program?: string } {
  const jupyter = realPath(jupyterDataDir());
  const windows = Deno.build.os === "windows";
  for (const name of ["jupyter-lab", "jupyter-notebook"]) {
    for (const folder of (Deno.env.get("PATH") ?? "").split(windows ? ";" : ":")) {
      const program = join(folder, windows ? `${name}.exe` : name);
      if (folder !== "" && exists(program)) return { jupyter, program };
    }
  }
  return { jupyter };
}

/** The demo folder belongs to the kit, so its default is found from anywhere. */
function place(cwd: string, path: string, option: string): string {
  const base = option === "data" && path === "data-demo" && !exists(resolve(cwd, path))
    ? kitDir
    : cwd;
  return realPath(resolve(base, path));
}

/** Follows links in the part of a path that exists, so that permissions and paths agree. */
function realPath(path: string): string {
  try {
    return Deno.realPathSync(path);
  } catch {
    const parent = dirname(path);
    return parent === path ? path : join(realPath(parent), basename(path));
  }
}

function exists(path: string): boolean {
  try {
    Deno.statSync(path);
    return true;
  } catch {
    return false;
  }
}

/** Where this Deno keeps its packages: asked of Deno itself, because it differs by system. */
async function denoCache(deno: string): Promise<string> {
  const { stdout } = await new Deno.Command(deno, { args: ["info", "--json"] }).output();
  return realPath(JSON.parse(new TextDecoder().decode(stdout)).denoDir);
}

/**
 * A path for a permission list, in which a comma ends an entry and nothing makes it stand for itself.
 *
 * @throws {CallError} if the path has one
 */
function listed(path: string): string {
  if (!path.includes(",")) return path;
  throw new CallError(
    `${path} has a comma in its name, at which Deno ends what a task may read or write. Rename the ` +
      "folder, or copy what is in it to one without a comma.",
  );
}
