import { join, relative } from "node:path";
import { endWithParent, endWithProcess } from "../notebook/end_with_process.ts";
import { makeScratch, removeScratch } from "../notebook/scratch_folder.ts";
import { BenchError } from "../records/bench_error.ts";
import { removeLeftovers } from "../records/write_whole.ts";
import { problemReport } from "./problem_report.ts";
import { CallError } from "./task_calls.ts";

/** What a task process is told. Folders are absolute, links resolved. */
export type TaskOrder = {
  readonly task: string;
  readonly kit: string;
  /** Where the person stands; paths are shown relative to it. */
  readonly cwd: string;
  readonly options: Readonly<Record<string, string | boolean>>;
  /** A folder of this run's own, for sockets and other short-lived files; the task makes it. */
  readonly scratch: string;
  /** The process that started this one, without which it ends. */
  readonly front: number;
  /** Scratch folders of runs that were killed, to be taken away. */
  readonly dead: readonly string[];
};

/**
 * Runs a task's body and turns what went wrong into words and an exit code.
 *
 * A bench with errors is 1, a wrong call 2; a fault of the kit itself is 1 with its stack, so that it
 * can be reported.
 */
export async function runTask(body: (order: TaskOrder) => Promise<number>): Promise<never> {
  const order = JSON.parse(Deno.args[0]) as TaskOrder;
  endWithProcess(() => removeScratch(order.scratch));
  makeScratch(order.scratch);
  endWithParent(order.front);
  for (const path of order.dead) removeScratch(path);
  let code: number;
  try {
    code = await body(order);
  } catch (error) {
    if (error instanceof CallError) {
      console.error(error.message);
      code = 2;
    } else if (error instanceof BenchError) {
      console.error(problemReport(error.problems));
      code = 1;
    } else {
      console.error(systemTrouble(error) ?? error);
      code = 1;
    }
  }
  Deno.exit(code); // which takes the scratch folder away
}

/** What the system ran out of, in a sentence; null for any other error. */
function systemTrouble(error: unknown): string | null {
  const words = error instanceof Error ? error.message : "";
  if (/os error 28\b|No space left/i.test(words)) {
    return "The disk is full: nothing was changed. Make room, or name a folder elsewhere with --out.";
  }
  if (/os error 24\b|Too many open files/i.test(words)) {
    return "The system allows this process too few open files. Raise the limit, such as by ulimit -n 1024.";
  }
  return null;
}

/**
 * Makes sure that results can be written before any work is done.
 *
 * @throws {CallError} naming the folder and why it can't be written
 */
export async function prepareOut(order: TaskOrder, option = "out"): Promise<string> {
  const out = order.options[option] as string;
  const probe = join(out, `.write-test-${crypto.randomUUID()}`);
  try {
    await Deno.mkdir(out, { recursive: true });
    await Deno.writeTextFile(probe, "");
    await Deno.remove(probe);
    for (const folder of ["", "rules", "proposals", "figures"]) {
      const place = join(out, folder);
      if (folder !== "" && await isLink(place)) {
        throw new CallError(
          `${
            shown(order, place)
          } is a link to somewhere else, where this would write and delete. ` +
            `Take the link away, or name another folder with --${option}.`,
        );
      }
      await removeLeftovers(place);
    }
  } catch (error) {
    if (error instanceof CallError) throw error;
    throw new CallError(
      `The results can't be written to ${shown(order, out)} (${
        (error as Error).name
      }). Name another folder with --${option}, or free this one for writing.`,
    );
  }
  return out;
}

/** A folder of this run's own for its results, until `placeTogether` puts them all into the out folder. */
export async function resultsFolder(order: TaskOrder): Promise<string> {
  const folder = join(order.scratch, "results");
  await Deno.mkdir(folder, { recursive: true });
  return folder;
}

async function isLink(path: string): Promise<boolean> {
  try {
    return (await Deno.lstat(path)).isSymlink;
  } catch (error) {
    if (error instanceof Deno.errors.NotFound) return false;
    throw error;
  }
}

/**
 * How is a path shown to the person?
 *
 * @returns relative to where they stand, unless it lies elsewhere
 */
export function shown(order: Pick<TaskOrder, "cwd">, path: string): string {
  const near = relative(order.cwd, path);
  return near === "" ? "." : near.startsWith("..") ? path : near;
}

/** A path as it is typed in a command: in quotes where the shell would take it apart. */
export function typed(order: Pick<TaskOrder, "cwd">, path: string): string {
  const text = shown(order, path);
  if (!/[^\p{L}\p{N}_@%+=:,./\\-]/u.test(text)) return text;
  return /["$`\\!]/.test(text) ? `'${text.replaceAll("'", `'\\''`)}'` : `"${text}"`;
}
