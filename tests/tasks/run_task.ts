import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

/** The kit's own folder. */
export const kit = join(dirname(fileURLToPath(import.meta.url)), "..", "..");

/** What a task said and how it ended. */
export type TaskRun = {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
  /** The folder for its results. */
  readonly out: string;
};

/**
 * Runs a task as a person does, in a new folder for its results unless one is named.
 *
 * @param words the task's name and what stands behind `--`
 */
export async function runTask(...words: readonly string[]): Promise<TaskRun> {
  const [name, ...options] = words;
  const named = options.indexOf("--out");
  const out = named < 0 ? await Deno.makeTempDir({ prefix: "bench-out-" }) : options[named + 1];
  const { code, stdout, stderr } = await new Deno.Command(Deno.execPath(), {
    args: ["task", "--quiet", name, "--", ...options, ...(named < 0 ? ["--out", out] : [])],
    cwd: kit,
    env: { NO_COLOR: "1" },
  }).output();
  const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);
  return { code, stdout: text(stdout), stderr: text(stderr), out };
}

/** A copy of a bench folder that a test may spoil. */
export async function copyBench(from: string): Promise<string> {
  const to = await Deno.makeTempDir({ prefix: "bench-copy-" });
  await copyFolder(from, to);
  return to;
}

async function copyFolder(from: string, to: string): Promise<void> {
  await Deno.mkdir(to, { recursive: true });
  for await (const { name, isDirectory } of Deno.readDir(from)) {
    if (isDirectory) await copyFolder(join(from, name), join(to, name));
    else await Deno.copyFile(join(from, name), join(to, name));
  }
}
