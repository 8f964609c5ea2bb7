import { join } from "node:path";
import { type LiveDisplays, type OutputCollector, outputCollector } from "./collect_outputs.ts";
import {
  type JupyterMessage,
  type MessageContent,
  newMessage,
  packMessage,
  parseMessage,
} from "./messages.ts";
import type { ErrorOutput, Output } from "./notebook_format.ts";
import { tellCommitCode } from "../records/made_with.ts";
import { cachePackages, kernelEnvironment, packageCacheOf } from "./deno_cache.ts";
import { notebookPolicy, startPermissionBroker } from "./permission_broker.ts";
import { endWithProcess, kill } from "./end_with_process.ts";
import { markCode, markGate, markOf, prepareKernelCode } from "./prepare_kernel.ts";
import { makeScratch, removeScratch, scratchPrefix } from "./scratch_folder.ts";
import { explainFailedImport, explainSyntaxError } from "./unexplained_error.ts";
import { connectZmtp, subscribeToAll, type ZmtpConnection, type ZmtpSocketType } from "./zmtp.ts";

/** A running Deno kernel that belongs to this process. */
export type Kernel = {
  /**
   * Runs one cell and waits until everything it put out is here.
   *
   * A cell that fails, or is stopped at its time limit, is a result, not an exception; `alive` says
   * whether the kernel can go on. One cell at a time.
   */
  execute(code: string, options?: ExecuteOptions): Promise<CellRun>;
  /** Asks the kernel anything else that it answers on its shell channel, such as completions. */
  request(type: string, content: MessageContent): Promise<MessageContent>;
  /** Interrupts the cell that runs; one that only waits does not notice. */
  interrupt(): Promise<void>;
  /** One sentence on how the kernel ended, once it has. */
  readonly death: Promise<string>;
  /** Ends the kernel and removes what it left on disk; may be called more than once. */
  close(): Promise<void>;
  readonly pid: number;
};

/** How one cell is run. */
export type ExecuteOptions = {
  /** After so long the cell is interrupted, and the kernel ended if that does not help. */
  readonly timeLimitMs?: number;
  /** Called whenever what the cell shows has changed. */
  readonly onOutput?: (outputs: readonly Output[]) => void;
  /** Called with every message the kernel publishes meanwhile, as it comes. */
  readonly onMessage?: (message: JupyterMessage) => void;
  /** Answers a cell that asks its reader something; default: nobody is there to answer. */
  readonly onInput?: (question: InputQuestion) => Promise<string>;
  /** Show no value and don't count. */
  readonly silent?: boolean;
  /** Count this run; default unless silent. */
  readonly storeHistory?: boolean;
};

/** What a cell asks its reader by `prompt()` or `confirm()`. */
export type InputQuestion = { readonly prompt: string; readonly password: boolean };

/** What came of one cell. */
export type CellRun = {
  readonly executionCount: number | null;
  /** What the cell shows; a later cell of the same kernel may still update a display in it. */
  readonly outputs: readonly Output[];
  readonly error: Omit<ErrorOutput, "output_type"> | null;
  /** Whether the kernel is still there. */
  readonly alive: boolean;
};

/** Where a kernel runs and what its cells may touch. */
export type KernelOptions = {
  /** The folder of the kit: its import map and lock hold; cells may read it. */
  readonly kitDir: string;
  /** The kernel's current folder, inside the kit; default the kit's folder. */
  readonly workingDir?: string;
  /** More folders that cells may read. */
  readonly readable?: readonly string[];
  /** Folders that cells may read and write. */
  readonly writable?: readonly string[];
  /** An existing folder for the socket and the connection file; default one of our own, removed at the end. */
  readonly scratchDir?: string;
  /** The Deno executable; default the one that runs this. */
  readonly deno?: string;
  /** Called with what is published while no cell runs, such as by a timer of an earlier one. */
  readonly onStray?: (message: JupyterMessage) => void;
};

/** The kernel did not start, ended early, or does not answer as a kernel does. */
export class KernelError extends Error {
  /** The error's name. */
  override readonly name = "KernelError";
}

const START_LIMIT_MS = 30_000;
const INTERRUPT_GRACE_MS = 2_000;
const DRAIN_LIMIT_MS = 15_000;
const SHUTDOWN_GRACE_MS = 1_000;

/** The names under which the broker's socket lies in the scratch folder; a task's permissions name it. */
export const brokerSocketName = "broker.sock";

/**
 * Starts the Deno kernel under a permission broker and waits until it answers.
 *
 * @throws {KernelError} if the kernel does not come up, with what it said
 */
export async function startKernel(options: KernelOptions): Promise<Kernel> {
  const deno = options.deno ?? Deno.execPath();
  const own = options.scratchDir === undefined
    ? makeScratch(await Deno.makeTempDir({ prefix: scratchPrefix }))
    : null;
  const scratchDir = own?.path ?? options.scratchDir!;
  const remove = () => {
    for (const name of ["connection.json", brokerSocketName]) removeScratch(join(scratchDir, name));
    own?.remove();
  };
  // The packages are wanted by the first cell only, so they are looked after while the kernel comes up.
  const caching = cachePackages({ deno, kitDir: options.kitDir });
  try {
    const cacheDir = await packageCacheOf({ deno, kitDir: options.kitDir });
    // Between finding free ports and the kernel opening them, another program may take one.
    for (let attempt = 1;; attempt++) {
      try {
        return await startOnce({ ...options, deno, scratchDir, cacheDir, remove });
      } catch (error) {
        if (attempt === 3 || !(error instanceof PortTaken)) throw error;
      }
    }
  } catch (error) {
    remove();
    throw error;
  } finally {
    await caching;
  }
}

class PortTaken extends KernelError {}

async function startOnce(
  {
    kitDir,
    workingDir = kitDir,
    readable = [],
    writable = [],
    deno,
    scratchDir,
    cacheDir,
    remove,
    onStray,
  }:
    & KernelOptions
    & {
      readonly deno: string;
      readonly scratchDir: string;
      readonly cacheDir: string;
      readonly remove: () => void;
    },
): Promise<Kernel> {
  const key = crypto.randomUUID();
  const session = crypto.randomUUID();
  const ports = freePorts();
  const connectionFile = join(scratchDir, "connection.json");
  await Deno.writeTextFile(connectionFile, connectionText(ports, key), { mode: 0o600 });

  const policy = notebookPolicy({
    workingDir,
    readable: [kitDir, cacheDir, ...readable],
    writable,
    hidden: [join(kitDir, ".git")],
    ports: Object.values(ports),
  });
  const socketPath = join(scratchDir, brokerSocketName);
  const gate = markGate();
  const broker = startPermissionBroker({ socketPath, policy, gate });

  const child = new Deno.Command(deno, {
    args: ["jupyter", "--kernel", "--conn", connectionFile],
    cwd: workingDir,
    clearEnv: true,
    env: { ...kernelEnvironment(), DENO_PERMISSION_BROKER_PATH: socketPath },
    stdin: "piped",
    stdout: "null",
    stderr: "piped",
  }).spawn();
  const process = watch(child);

  const connections: ZmtpConnection[] = [];
  let ending: Promise<void> | null = null;
  let control: Channel | null = null;
  const close = () =>
    ending ??= (async () => {
      try {
        if (!process.ended() && control !== null) {
          control.request("shutdown_request", { restart: false }).catch(() => {});
          await within(SHUTDOWN_GRACE_MS, process.death);
        }
        if (!process.ended()) {
          kill(child, "SIGTERM");
          await within(SHUTDOWN_GRACE_MS, process.death);
        }
        if (!process.ended()) kill(child, "SIGKILL");
        await process.death;
      } finally {
        forget();
        for (const connection of connections) connection.close();
        broker.close();
        child.stdin.close().catch(() => {});
        remove();
      }
    })();
  const forget = endWithProcess(() => {
    kill(child, "SIGKILL");
    broker.close();
    remove();
  });

  try {
    const open = async (type: ZmtpSocketType, port: number) => {
      const connection = await connectWhenUp(type, port, process);
      connections.push(connection);
      return connection;
    };
    const shell = channel(await open("DEALER", ports.shell), key, session);
    control = channel(await open("DEALER", ports.control), key, session);
    const iopub = await open("SUB", ports.iopub);
    const input = await open("DEALER", ports.stdin);
    await iopub.send(subscribeToAll);

    let listener: ((message: JupyterMessage) => void) | null = null;
    pump(iopub, key, (message) => {
      const mark = markOf(message);
      if (mark !== null) gate.heard(mark);
      if (listener) listener(message);
      else if (mark === null) onStray?.(message);
    });
    let answerInput: ExecuteOptions["onInput"];
    pump(input, key, async (message) => {
      if (message.header.msg_type !== "input_request") return;
      const { prompt, password } = message.content as InputQuestion;
      const value = await answerInput?.({ prompt, password }).catch(() => "") ?? "";
      const reply = newMessage("input_reply", { value }, { session });
      await input.send(packMessage({ ...reply, parent_header: message.header }, key))
        .catch(() => {});
    });

    await waitUntilReady(shell, process, (hear) => listener = hear);
    listener = null;

    const displays: LiveDisplays = new Map();
    let interrupted = false;
    const run = async (code: string, options: ExecuteOptions = {}): Promise<CellRun> => {
      interrupted = false;
      return await runCell(code, options, {
        shell,
        control: control!,
        process,
        displays,
        deno,
        listen: (hear) => listener = hear,
        answerInput: (answer) => answerInput = answer,
        kill: () => kill(child, "SIGKILL"),
        interrupted: () => interrupted,
      });
    };

    const prepared = await firstOf({
      reply: execute(shell, `${prepareKernelCode(kitDir)}\n${tellCommitCode(kitDir)}`, {
        silent: true,
      }),
      death: process.death,
      limitMs: START_LIMIT_MS,
    });
    if (prepared === "dead") throw new KernelError(process.obituary());
    if (prepared === "late" || prepared.content.status !== "ok") {
      const why = prepared === "late" ? "no answer" : prepared.content.evalue;
      throw new KernelError(`The kernel could not be closed off: ${why}`);
    }
    policy.seal();
    return {
      execute: run,
      request: async (type, content) => (await shell.request(type, content)).content,
      interrupt: async () => {
        interrupted = true;
        await control!.request("interrupt_request", {});
      },
      death: process.death.then(process.obituary),
      close,
      pid: child.pid,
    };
  } catch (error) {
    const taken = process.ended() &&
      /address (already )?in use|AddrInUse/i.test(process.lastWords());
    await close();
    if (taken) throw new PortTaken(process.obituary());
    if (error instanceof KernelError) throw error;
    throw new KernelError(`The kernel did not start: ${(error as Error).message}`, {
      cause: error,
    });
  }
}

/** What a cell's run needs of its kernel. */
type Running = {
  readonly shell: Channel;
  readonly control: Channel;
  readonly process: WatchedProcess;
  readonly displays: LiveDisplays;
  readonly deno: string;
  readonly listen: (hear: ((message: JupyterMessage) => void) | null) => void;
  readonly answerInput: (answer: ExecuteOptions["onInput"]) => void;
  readonly kill: () => void;
  readonly interrupted: () => boolean;
};

async function runCell(
  code: string,
  { timeLimitMs, onOutput, onMessage, onInput, silent = false, storeHistory = !silent }:
    ExecuteOptions,
  running: Running,
): Promise<CellRun> {
  const { shell, control, process, displays, listen } = running;
  if (process.ended()) throw new KernelError(process.obituary());

  const endMark = crypto.randomUUID();
  const collector = outputCollector({ displays });
  const drained = Promise.withResolvers<void>();
  running.answerInput(onInput);
  listen((message) => {
    onMessage?.(message);
    if (collector.add(message)) onOutput?.(collector.outputs);
    if (markOf(message) === endMark) drained.resolve();
  });
  try {
    const allowInput = onInput !== undefined;
    const reply = execute(shell, code, { silent, storeHistory, allowInput });
    let outcome = await firstOf({ reply, death: process.death, limitMs: timeLimitMs });
    const late = outcome === "late";
    if (outcome === "late") {
      control.request("interrupt_request", {}).catch(() => {});
      outcome = await firstOf({ reply, death: process.death, limitMs: INTERRUPT_GRACE_MS });
      if (outcome === "late") {
        running.kill();
        await process.death;
        outcome = "dead";
      }
    }
    const limit = late
      ? {
        ename: "TimeLimit",
        evalue: `The cell ran longer than ${secondsOf(timeLimitMs!)} and was stopped` +
          (outcome === "dead" ? "; the kernel did not heed the interrupt and was ended" : ""),
        traceback: [],
      }
      : null;
    if (outcome !== "dead") {
      const drain = execute(shell, markCode(endMark), { silent: true });
      drain.catch(() => {});
      const end = await firstOf({
        reply: drained.promise.then(() => null),
        death: process.death,
        limitMs: DRAIN_LIMIT_MS,
      });
      if (end === "late") {
        throw new KernelError(
          "The cell's output did not come to an end",
        );
      }
      if (end === "dead") outcome = "dead";
    }
    if (outcome === "dead") {
      return failed(collector, limit ?? died(process), null, false);
    }
    const executionCount = Number(outcome.content.execution_count);
    if (limit) return failed(withoutLastError(collector), limit, executionCount, true);
    if (outcome.content.status === "error") {
      collector.endWith({
        ename: String(outcome.content.ename),
        evalue: String(outcome.content.evalue),
      });
    }
    const shown = collector.error();
    if (shown) return { executionCount, outputs: collector.outputs, error: shown, alive: true };
    if (outcome.content.status === "ok") {
      return { executionCount, outputs: collector.outputs, error: null, alive: true };
    }
    if (running.interrupted()) {
      const stopped = { ename: "Interrupted", evalue: "The cell was stopped", traceback: [] };
      return failed(collector, stopped, executionCount, true);
    }
    // The kernel keeps silent about code that it could not even start.
    const explained = await explainSyntaxError(code, running.deno) ?? explainFailedImport(code) ??
      {
        ename: String(outcome.content.ename),
        evalue: String(outcome.content.evalue),
        traceback: [],
      };
    return failed(collector, explained, executionCount, true);
  } finally {
    listen(null);
    running.answerInput(undefined);
  }
}

function failed(
  collector: OutputCollector,
  error: Omit<ErrorOutput, "output_type">,
  executionCount: number | null,
  alive: boolean,
): CellRun {
  collector.addError(error);
  return { executionCount, outputs: collector.outputs, error, alive };
}

/** The kernel's own word for an interrupt says less than the time limit does. */
function withoutLastError(collector: OutputCollector): OutputCollector {
  const outputs = collector.outputs as Output[];
  if (outputs.at(-1)?.output_type === "error") outputs.pop();
  return collector;
}

function died(process: WatchedProcess): Omit<ErrorOutput, "output_type"> {
  return { ename: "KernelDied", evalue: process.obituary(), traceback: [] };
}

function execute(
  shell: Channel,
  code: string,
  { silent, storeHistory = !silent, allowInput = false }: {
    readonly silent: boolean;
    readonly storeHistory?: boolean;
    readonly allowInput?: boolean;
  },
): Promise<JupyterMessage> {
  return shell.request("execute_request", {
    code,
    silent,
    store_history: storeHistory,
    user_expressions: {},
    allow_stdin: allowInput,
    stop_on_error: false,
  });
}

/** Sends requests and hands each reply to who asked. */
type Channel = {
  request(type: string, content: MessageContent): Promise<JupyterMessage>;
};

function channel(connection: ZmtpConnection, key: string, session: string): Channel {
  const waiting = new Map<string, (reply: JupyterMessage) => void>();
  pump(connection, key, (message) => {
    const id = message.parent_header.msg_id ?? "";
    waiting.get(id)?.(message);
    waiting.delete(id);
  });
  return {
    request: async (type, content) => {
      const message = newMessage(type, content, { session });
      const reply = new Promise<JupyterMessage>((resolve) =>
        waiting.set(message.header.msg_id, resolve)
      );
      await connection.send(packMessage(message, key));
      return await reply;
    },
  };
}

/** Reads messages until the connection ends; the process's own end tells the rest of the story. */
async function pump(
  connection: ZmtpConnection,
  key: string,
  take: (message: JupyterMessage) => void,
): Promise<void> {
  try {
    for (let frames = await connection.receive(); frames; frames = await connection.receive()) {
      take(parseMessage(frames, key));
    }
  } catch { /* broken off */ }
}

/** Asks until the kernel both replies and is heard on iopub: a subscription takes a moment to hold. */
async function waitUntilReady(
  shell: Channel,
  process: WatchedProcess,
  listen: (hear: (message: JupyterMessage) => void) => void,
): Promise<void> {
  const heard = Promise.withResolvers<null>();
  listen(() => heard.resolve(null));
  const deadline = performance.now() + START_LIMIT_MS;
  while (performance.now() < deadline) {
    const reply = shell.request("kernel_info_request", {});
    const both = Promise.all([reply, heard.promise]).then(() => null);
    const outcome = await firstOf({ reply: both, death: process.death, limitMs: 500 });
    if (outcome === "dead") throw new KernelError(process.obituary());
    if (outcome === null) return;
  }
  throw new KernelError(`The kernel did not answer within ${secondsOf(START_LIMIT_MS)}`);
}

async function connectWhenUp(
  type: ZmtpSocketType,
  port: number,
  process: WatchedProcess,
): Promise<ZmtpConnection> {
  const deadline = performance.now() + START_LIMIT_MS;
  while (true) {
    try {
      return await connectZmtp({ type, port });
    } catch (error) {
      if (process.ended()) throw new KernelError(process.obituary(), { cause: error });
      if (performance.now() > deadline) throw error;
    }
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

/** A child process of which one can tell how it ended. */
type WatchedProcess = {
  readonly death: Promise<void>;
  ended(): boolean;
  /** The end of what it wrote to standard error. */
  lastWords(): string;
  /** One sentence: that it ended, how, and what it said. */
  obituary(): string;
};

function watch(child: Deno.ChildProcess): WatchedProcess {
  let status: Deno.CommandStatus | null = null;
  let words = "";
  const reading = (async () => {
    try {
      for await (const text of child.stderr.pipeThrough(new TextDecoderStream())) {
        words = (words + text).slice(-4_000);
      }
    } catch { /* closed */ }
  })();
  const death = child.status.then(async (ended) => {
    // Its last words may still be in the pipe, but a grandchild could hold that open.
    await within(200, reading);
    status = ended;
  });
  return {
    death,
    ended: () => status !== null,
    lastWords: () => words,
    obituary: () => {
      const how = status?.signal ? `signal ${status.signal}` : `exit code ${status?.code}`;
      if (/heap out of memory|heap limit/i.test(words)) {
        return `The kernel died: ${how}, it ran out of memory`;
      }
      const said = words.split("\n").map((line) => line.trim())
        .filter((line) =>
          line !== "" && !/^(Warning|Download|Initialize|CDP response) ?/.test(line)
        ).at(-1);
      return `The kernel died: ${how}${said ? ` ("${said}")` : ""}`;
    },
  };
}

type Ports = Readonly<Record<"shell" | "control" | "iopub" | "stdin" | "hb", number>>;

function freePorts(): Ports {
  const names = ["shell", "control", "iopub", "stdin", "hb"] as const;
  const listeners = names.map(() => Deno.listen({ hostname: "127.0.0.1", port: 0 }));
  const ports = listeners.map((listener) => (listener.addr as Deno.NetAddr).port);
  for (const listener of listeners) listener.close();
  return Object.fromEntries(names.map((name, i) => [name, ports[i]])) as Ports;
}

function connectionText(ports: Ports, key: string): string {
  return JSON.stringify({
    ip: "127.0.0.1",
    transport: "tcp",
    signature_scheme: "hmac-sha256",
    key,
    kernel_name: "deno",
    ...Object.fromEntries(Object.entries(ports).map(([name, port]) => [`${name}_port`, port])),
  });
}

/** The reply, or the word that the process has ended or the time is up first. */
async function firstOf<T>(
  { reply, death, limitMs }: {
    readonly reply: Promise<T>;
    readonly death: Promise<void>;
    readonly limitMs: number | undefined;
  },
): Promise<T | "dead" | "late"> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const limit = new Promise<"late">((resolve) => {
    if (limitMs !== undefined) timer = setTimeout(() => resolve("late"), limitMs);
  });
  try {
    reply.catch(() => {}); // a broken connection: the process's end says more
    const answered = reply.catch(() => new Promise<never>(() => {}));
    return await Promise.race([answered, death.then(() => "dead" as const), limit]);
  } finally {
    clearTimeout(timer);
  }
}

async function within(limitMs: number, event: Promise<unknown>): Promise<void> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  await Promise.race([event, new Promise((resolve) => timer = setTimeout(resolve, limitMs))]);
  clearTimeout(timer);
}

function secondsOf(ms: number): string {
  return `${ms / 1000} s`;
}
