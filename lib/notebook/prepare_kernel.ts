import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { closeDoorsCode } from "./close_doors.ts";
import type { JupyterMessage } from "./messages.ts";

/**
 * What is put right in a kernel before its first cell, and how the kernel and its keeper agree on output.
 *
 * The kernel of Deno 2.9 queues what cells put out, and sends its own replies past that queue on the same
 * connection. So output may come after "idle"; and a message too large for the system's buffer is
 * written in pieces, between which a reply can fall and break the connection. Both are cured here: what
 * is on its way is kept small by waiting, inside the cell, until the keeper has heard a mark.
 */

/** The message type of a mark: everything put out before it has been received. */
const MARK = "bench_to_court_mark";
/** The variable that a cell asks for to wait for a mark; the broker answers when the mark was heard. */
const MARK_VARIABLE = "BENCH_TO_COURT_MARK_";
/** So many bytes may be on their way; far less than the send buffer of any system. */
const MOST_BYTES_UNDERWAY = 65_536;
/** A kernel whose mark is lost goes on after so long, rather than never. */
const LONGEST_WAIT_MS = 10_000;

/** Code that puts a mark behind everything put out so far; run silently after a cell. */
export function markCode(mark: string): string {
  return `Deno[Deno.internal].jupyter.sendMark(${JSON.stringify(mark)})`;
}

/** The mark that a message carries, or null for any other message. */
export function markOf(message: JupyterMessage): string | null {
  return message.header.msg_type === MARK ? String(message.content.mark) : null;
}

/** Joins the two ways by which a waiting cell is answered: the mark it sent, the variable it asked for. */
export type MarkGate = {
  /** A mark has been received. */
  heard(mark: string): void;
  /** When a question for this variable may be answered; null if it is no question for a mark. */
  whenHeard(variable: string): Promise<void> | null;
};

/** A gate for one kernel. */
export function markGate(): MarkGate {
  const marks = new Map<string, PromiseWithResolvers<void>>();
  const entry = (mark: string) => {
    const found = marks.get(mark) ?? Promise.withResolvers<void>();
    marks.set(mark, found);
    return found;
  };
  return {
    heard: (mark) => entry(mark).resolve(),
    whenHeard: (variable) => {
      if (!variable.startsWith(MARK_VARIABLE)) return null;
      const mark = variable.slice(MARK_VARIABLE.length);
      let timer: ReturnType<typeof setTimeout>;
      const tooLong = new Promise<void>((resolve) => timer = setTimeout(resolve, LONGEST_WAIT_MS));
      return Promise.race([entry(mark).promise, tooLong]).finally(() => {
        clearTimeout(timer);
        marks.delete(mark);
      });
    },
  };
}

/**
 * Code to run silently in a kernel before any cell.
 *
 * Permissions: a kernel starts with all of them, and a few of Deno's shortcuts (`require` among them) don't
 * ask the broker while a whole kind is granted; so each kind is given back, and everything is asked from
 * then on. Storage that outlives the run, and that no permission guards, is taken away.
 *
 * Paths: Deno's own file functions ask for whole paths, because a relative one says little to the broker
 * once a cell may have changed its folder.
 *
 * Output: everything a cell shows or prints goes through one function that counts it.
 *
 * End: when the keeper ends in whatever way, the kernel's standard input closes, and the kernel ends too.
 *
 * @param kitDir the folder of the kit, whose own workers may be started
 */
export function prepareKernelCode(kitDir: string): string {
  const address = (file: string) => pathToFileURL(join(kitDir, "lib", "notebook", file)).href;
  const doors = { worker: address("background_worker.ts"), watch: address("keeper_watch.ts") };
  return `${GIVE_BACK}\n${closeDoorsCode(doors)}\n${PREPARATION}`;
}

const GIVE_BACK = `{
  for (const name of ["read", "write", "net", "env", "run", "sys", "ffi", "import"]) {
    Deno.permissions.revokeSync({ name });
  }
}`;

const PREPARATION = `{
  for (const name of ["localStorage", "sessionStorage", "caches"]) delete globalThis[name];

  const { exit, stdin, cwd } = Deno;
  const whole = (path) =>
    typeof path === "string" && !path.startsWith("/") && Deno.build.os !== "windows"
      ? cwd() + "/" + path
      : path;
  const askForWholePaths = (name, paths) => {
    const original = Deno[name];
    Deno[name] = (...given) => original(...given.map((arg, i) => i < paths ? whole(arg) : arg));
  };
  askForWholePaths("chdir", 1);
  for (const sync of ["", "Sync"]) {
    for (const name of ["copyFile", "rename"]) askForWholePaths(name + sync, 2);
    for (
      const name of [
        "lstat", "mkdir", "open", "readDir", "readFile", "readTextFile", "realPath", "remove", "stat",
        "truncate", "writeFile", "writeTextFile",
      ]
    ) askForWholePaths(name + sync, 1);
  }
  askForWholePaths("create", 1);
  askForWholePaths("createSync", 1);

  const { jupyter, Console } = Deno[Deno.internal];
  const { broadcast } = Deno.jupyter;
  const has = Deno.env.has.bind(Deno.env);
  let underway = 0;
  let marks = 0;
  const waitUntilHeard = () => {
    underway = 0;
    marks += 1;
    jupyter.sendMark(String(marks));
    has(${JSON.stringify(MARK_VARIABLE)} + marks);
  };
  const send = (type, content, more = {}) => {
    broadcast(type, content, more);
    underway += 1_000 + JSON.stringify(content).length;
    for (const buffer of more.buffers ?? []) underway += buffer.byteLength;
    if (underway > ${MOST_BYTES_UNDERWAY}) waitUntilHeard();
  };
  jupyter.sendMark = (mark) => broadcast(${JSON.stringify(MARK)}, { mark });
  Deno.jupyter.broadcast = async (type, content, more) => send(type, content, more);
  Deno.jupyter.display = async (value, { raw = false, update = false, display_id } = {}) => {
    const data = await jupyter.formatInner(value, raw);
    const transient = display_id ? { display_id } : {};
    send(update ? "update_display_data" : "display_data", { data, metadata: {}, transient });
  };
  const originalResult = jupyter.broadcastResult;
  jupyter.broadcastResult = async (execution_count, value) => {
    if (value !== undefined) {
      let data;
      try {
        data = await jupyter.formatInner(value, false);
      } catch (error) {
        const thrower = { [Symbol.for("Jupyter.display")]() { throw error; } };
        return await originalResult(execution_count, thrower);
      }
      send("execute_result", { execution_count, data, metadata: {}, transient: {} });
    }
    if (underway > ${MOST_BYTES_UNDERWAY / 4}) waitUntilHeard();
  };
  const printing = new Console((text, level) =>
    send("stream", { name: level > 1 ? "stderr" : "stdout", text })
  );
  for (const name of Object.keys(console)) {
    if (typeof printing[name] === "function") console[name] = printing[name];
  }

  stdin.read(new Uint8Array(1)).then(() => exit(130), () => exit(130));
}`;
