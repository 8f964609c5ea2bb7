import { join, relative } from "node:path";
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
};

/**
 * Runs a task's body and turns what went wrong into words and an exit code.
 *
 * A bench with errors is 1, a wrong call 2; a fault of the kit itself is 1 with its stack, so that it
 * can be reported.
 */
export async function runTask(body: (order: TaskOrder) => Promise<number>): Promise<never> {
  const order = JSON.parse(Deno.args[0]) as TaskOrder;
  const removeScratch = () => Deno.remove(order.scratch, { recursive: true }).catch(() => {});
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
      console.error(error);
      code = 1;
    }
  } finally {
    await removeScratch();
  }
  Deno.exit(code);
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
