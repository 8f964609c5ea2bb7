import { join } from "node:path";
import { tellCommitCode } from "../records/made_with.ts";
import type { LiveDisplays } from "./collect_outputs.ts";
import { cachePackages, kernelEnvironment, packageCacheOf } from "./deno_cache.ts";
import { endWithProcess, kill } from "./end_with_process.ts";
import {
  type Channel,
  channel,
  connectWhenUp,
  execute,
  pump,
  START_LIMIT_MS,
  waitUntilReady,
} from "./kernel_channel.ts";
import { KernelError } from "./kernel_error.ts";
import { type JupyterMessage, type MessageContent, newMessage, packMessage } from "./messages.ts";
import { notebookPolicy, startPermissionBroker } from "./permission_broker.ts";
import { type MarkGate, markGate, markOf, prepareKernelCode } from "./prepare_kernel.ts";
import { type CellRun, type ExecuteOptions, type InputQuestion, runCell } from "./run_cell.ts";
import { makeScratch, removeScratch, scratchPrefix } from "./scratch_folder.ts";
import { firstOf, watch, type WatchedProcess, within } from "./watched_process.ts";
import { subscribeToAll, type ZmtpConnection, type ZmtpSocketType } from "./zmtp.ts";

export { KernelError } from "./kernel_error.ts";
export type { CellRun, ExecuteOptions, InputQuestion } from "./run_cell.ts";

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

type StartOptions = KernelOptions & {
  readonly deno: string;
  readonly scratchDir: string;
  readonly cacheDir: string;
  readonly remove: () => void;
};

async function startOnce(options: StartOptions): Promise<Kernel> {
  const launched = await launch(options);
  const { process, close } = launched;
  try {
    return await connected(launched, options);
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

/** A kernel's process with what belongs to it, before anybody has spoken to it. */
type Launched = {
  readonly key: string;
  readonly ports: Ports;
  readonly child: Deno.ChildProcess;
  readonly process: WatchedProcess;
  readonly gate: MarkGate;
  /** No port is opened any more from now on. */
  readonly seal: () => void;
  /** Connects to one of its ports; the connection is closed with the kernel. */
  readonly open: (type: ZmtpSocketType, port: number) => Promise<ZmtpConnection>;
  /** Lets `close` ask for an orderly end first. */
  readonly closeBy: (control: Channel) => void;
  readonly close: () => Promise<void>;
};

async function launch(
  { kitDir, workingDir = kitDir, readable = [], writable = [], deno, scratchDir, cacheDir, remove }:
    StartOptions,
): Promise<Launched> {
  const key = crypto.randomUUID();
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
    env: {
      ...kernelEnvironment(),
      DENO_PERMISSION_BROKER_PATH: socketPath,
      // Most of what a study makes is dropped at once. Swept in 2 MiB pieces instead of 16, each of a kernel's
      // three heaps stays that much smaller: a review took 666 to 687 MiB where it took 740 to 759.
      DENO_V8_FLAGS: "--max-semi-space-size=2",
    },
    stdin: "piped",
    stdout: "null",
    stderr: "piped",
  }).spawn();
  const process = watch(child);

  const connections: ZmtpConnection[] = [];
  let ending: Promise<void> | null = null;
  let control: Channel | null = null;
  const end = async () => {
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
  };
  const forget = endWithProcess(() => {
    kill(child, "SIGKILL");
    broker.close();
    remove();
  });
  return {
    key,
    ports,
    child,
    process,
    gate,
    seal: policy.seal,
    open: async (type, port) => {
      const connection = await connectWhenUp(type, port, process);
      connections.push(connection);
      return connection;
    },
    closeBy: (channel) => void (control = channel),
    close: () => ending ??= end(),
  };
}

/** Speaks to a kernel that has been launched, and closes it off before its first cell. */
async function connected(
  { key, ports, child, process, gate, seal, open, closeBy, close }: Launched,
  { kitDir, deno, onStray }: StartOptions,
): Promise<Kernel> {
  const session = crypto.randomUUID();
  const shell = channel(await open("DEALER", ports.shell), key, session);
  const control = channel(await open("DEALER", ports.control), key, session);
  closeBy(control);
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
  await closeOff(shell, process, `${prepareKernelCode(kitDir)}\n${tellCommitCode(kitDir)}`);
  seal();

  const displays: LiveDisplays = new Map();
  let interrupted = false;
  return {
    execute: async (code, options = {}) => {
      interrupted = false;
      return await runCell(code, options, {
        shell,
        control,
        process,
        displays,
        deno,
        listen: (hear) => listener = hear,
        answerInput: (answer) => answerInput = answer,
        kill: () => kill(child, "SIGKILL"),
        interrupted: () => interrupted,
      });
    },
    request: async (type, content) => (await shell.request(type, content)).content,
    interrupt: async () => {
      interrupted = true;
      await control.request("interrupt_request", {});
    },
    death: process.death.then(process.obituary),
    close,
    pid: child.pid,
  };
}

async function closeOff(shell: Channel, process: WatchedProcess, code: string): Promise<void> {
  const reply = execute(shell, code, { silent: true });
  const prepared = await firstOf({ reply, death: process.death, limitMs: START_LIMIT_MS });
  if (prepared === "dead") throw new KernelError(process.obituary());
  if (prepared === "late" || prepared.content.status !== "ok") {
    const why = prepared === "late" ? "no answer" : prepared.content.evalue;
    throw new KernelError(`The kernel could not be closed off: ${why}`);
  }
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
