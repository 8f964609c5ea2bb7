import {
  type ConnectionFile,
  type FrontEnd,
  frontEnd,
  type Parent,
  type Request,
} from "./front_end.ts";
import { kitHelp } from "./kit_help.ts";
import { type Kernel, type KernelOptions, startKernel } from "./kernel.ts";
import type { JupyterMessage, MessageContent, MessageHeader } from "./messages.ts";
import type { ErrorOutput } from "./notebook_format.ts";
import { OUTPUT_LIMIT, sizeOf } from "./run_cell.ts";

/** A kernel that a front end talks to. */
export type ServedKernel = {
  /** Resolves when the front end has asked for the end, or the kernel has died; says which. */
  readonly ended: Promise<{ readonly died: boolean; readonly why: string }>;
  close(): Promise<void>;
};

/**
 * Stands between a front end (a notebook page, an editor, a command-line runner) and the real kernel.
 *
 * The front end gets each cell's outputs before the cell's end, with the cell as their parent; an error
 * even where the kernel keeps silent; a Stop that keeps the state; outputs with nothing in them that would
 * run on its page; and cells that stay inside the folders given in `kernel`, as in a task's run.
 *
 * @throws {RangeError} if the connection is not one on this machine that this kernel can speak
 * @throws {KernelError} if the real kernel does not start
 * @throws {ZmtpError} if one of the front end's ports cannot be bound
 */
export async function serveKernel(
  { connection, kernel: options }: {
    readonly connection: ConnectionFile;
    readonly kernel: KernelOptions;
  },
): Promise<ServedKernel> {
  refuseOtherConnections(connection);
  const front = frontEnd(connection);
  const output = joinedOutput(({ header, content }, parent) =>
    front.publish(header.msg_type, content, parent)
  );
  const stray = strayOutput(output);
  const kernel = await startBehind(front, { ...options, onStray: stray.pass });
  const queue = requestQueue();
  const end = Promise.withResolvers<{ readonly died: boolean; readonly why: string }>();
  let asked = false;
  kernel.death.then((why) => end.resolve({ died: !asked, why }));

  let running: Request | null = null;
  const runCell = cellRunner({ kernel, front, output, stray, queue });
  const help = kitHelp({ kitDir: options.kitDir, deno: options.deno });
  const answer = async (type: string, content: MessageContent): Promise<MessageContent> => {
    if (type === "inspect_request") return await help.inspect(content);
    const known = type === "complete_request" ? await help.complete(content) : null;
    return known ?? await kernel.request(type, content);
  };
  const handle = async (request: Request): Promise<void> => {
    const { header, content } = request.message;
    const type = header.msg_type;
    if (type === "shutdown_request") {
      asked = true;
      front.reply(request, { status: "ok", restart: content.restart === true });
      end.resolve({ died: false, why: "The front end asked for the end" });
      return;
    }
    front.publish("status", { execution_state: "busy" }, header);
    if (type === "execute_request") await runCell(request);
    else if (type === "interrupt_request") {
      await kernel.interrupt();
      front.reply(request, { status: "ok" });
      adviseIfStuck();
    } else if (answered.has(type)) front.reply(request, await answer(type, content));
    front.publish("status", { execution_state: "idle" }, header);
  };
  /** A cell that only waits hears no interrupt: its reader should know what helps. */
  const adviseIfStuck = () => {
    const cell = running;
    if (cell === null) return;
    setTimeout(() => {
      if (running !== cell || asked) return;
      const text = "This cell waits for something and can't be interrupted. Restart the kernel.\n";
      front.publish("stream", { name: "stderr", text }, cell.message.header);
    }, 3_000);
  };
  const serveShell = async () => {
    for (let request = await queue.next(); request; request = await queue.next()) {
      running = isCell(request) ? request : null;
      await handle(request).catch((error) => front.complain(request!, error));
      running = null;
    }
  };
  front.start({
    onShell: (request) => queue.add(request),
    // Control requests are answered while a cell runs: that is what the channel is for.
    onControl: (request) => handle(request).catch((error) => front.complain(request, error)),
  });
  front.publish("status", { execution_state: "starting" }, {});
  serveShell();

  return {
    ended: end.promise,
    close: async () => {
      asked = true;
      queue.close();
      await front.flush();
      front.close();
      await kernel.close();
    },
  };
}

/** Starts the real kernel and what its outputs go through; the ports close where it does not come up. */
async function startBehind(front: FrontEnd, options: KernelOptions): Promise<Kernel> {
  try {
    // Both load while the kernel comes up; without a renderer charts go out as they are.
    const outputs = import("./front_end_outputs.ts");
    const drawing = import("../charts/chart_png.ts").then(({ pngDrawer }) => pngDrawer(1.5))
      .catch(() => null);
    const kernel = await startKernel(options);
    const { frontEndContent } = await outputs;
    const drawPng = await drawing;
    front.passOnly((type, content) => frontEndContent(type, content, drawPng));
    return kernel;
  } catch (error) {
    front.close();
    throw error;
  }
}

type JoinedOutput = ReturnType<typeof joinedOutput>;
type StrayOutput = ReturnType<typeof strayOutput>;

/** What timers of earlier cells put out, as outputs of the last one that was started. */
function strayOutput(output: JoinedOutput) {
  let lastCell: Parent = {};
  // Without a bound, it would wait in memory for a slow reader.
  let size = 0;
  return {
    begin: (cell: MessageHeader) => {
      lastCell = cell;
      size = 0;
    },
    pass: (message: JupyterMessage) => {
      size += sizeOf(message);
      const passes = published.has(message.header.msg_type) && size <= OUTPUT_LIMIT;
      if (passes) output.add(message, lastCell);
    },
  };
}

/** Runs one cell after another, counts them, and tells the front end of each what it put out. */
function cellRunner(
  { kernel, front, output, stray, queue }: {
    readonly kernel: Kernel;
    readonly front: FrontEnd;
    readonly output: JoinedOutput;
    readonly stray: StrayOutput;
    readonly queue: ReturnType<typeof requestQueue>;
  },
): (request: Request) => Promise<void> {
  let executionCount = 0;
  const errorReply = ({ ename, evalue, traceback }: Omit<ErrorOutput, "output_type">) => ({
    status: "error",
    execution_count: executionCount,
    ename,
    evalue,
    traceback,
  });
  const okReply = () => ({
    status: "ok",
    execution_count: executionCount,
    payload: [],
    user_expressions: {},
  });
  const abort = (request: Request) => {
    front.publish("status", { execution_state: "busy" }, request.message.header);
    front.reply(request, { status: "aborted", execution_count: executionCount });
    front.publish("status", { execution_state: "idle" }, request.message.header);
  };
  return async (request) => {
    const { header, content } = request.message;
    const silent = content.silent === true;
    const storeHistory = !silent && content.store_history !== false;
    stray.begin(header);
    if (storeHistory) executionCount++;
    if (!silent) {
      const input = { code: content.code, execution_count: executionCount };
      front.publish("execute_input", input, header);
    }
    const run = await kernel.execute(String(content.code ?? ""), {
      silent,
      storeHistory,
      outputLimit: OUTPUT_LIMIT,
      onMessage: (message) => {
        // Errors wait: the kernel sends some past the outputs that came before them.
        const type = message.header.msg_type;
        if (type !== "error" && published.has(type)) output.add(message, header);
      },
      onInput: content.allow_stdin === true
        ? (question) => front.ask(request, question)
        : undefined,
    });
    output.flush();
    for (const shown of run.outputs) {
      if (shown.output_type !== "error") continue;
      const { ename, evalue, traceback } = shown;
      front.publish("error", { ename, evalue, traceback }, header);
    }
    front.reply(request, run.error ? errorReply(run.error) : okReply());
    if (run.error && content.stop_on_error !== false) {
      for (const waiting of queue.takeAll((other) => isCell(other))) abort(waiting);
    }
  };
}

/** What the real kernel publishes that a front end should see as it comes. */
const published: ReadonlySet<string> = new Set([
  "stream",
  "display_data",
  "update_display_data",
  "execute_result",
  "clear_output",
  "error",
]);

/** Requests that the real kernel answers on its shell channel. */
const answered: ReadonlySet<string> = new Set([
  "kernel_info_request",
  "complete_request",
  "inspect_request",
  "is_complete_request",
  "history_request",
  "comm_info_request",
]);

/** Printed text waits so long for more of it, so that a loop of lines is not a message each. */
const TEXT_WAIT_MS = 30;
const MOST_TEXT_WAITING = 16_384;

/** Passes outputs on in their order, with texts of one stream that follow each other in one message. */
function joinedOutput(pass: (message: JupyterMessage, parent: Parent) => void) {
  let waiting: { message: JupyterMessage; parent: Parent; text: string } | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const flush = () => {
    clearTimeout(timer);
    if (waiting === null) return;
    const { message, parent, text } = waiting;
    waiting = null;
    pass({ ...message, content: { ...message.content, text } }, parent);
  };
  return {
    flush,
    add: (message: JupyterMessage, parent: Parent) => {
      const { name, text } = message.content as { name?: string; text?: string };
      if (message.header.msg_type !== "stream" || typeof text !== "string") {
        flush();
        pass(message, parent);
        return;
      }
      if (waiting && (waiting.message.content.name !== name || waiting.parent !== parent)) flush();
      if (waiting) waiting.text += text;
      else {
        waiting = { message, parent, text };
        timer = setTimeout(flush, TEXT_WAIT_MS);
      }
      if (waiting.text.length > MOST_TEXT_WAITING) flush();
    },
  };
}

function isCell({ message }: Request): boolean {
  return message.header.msg_type === "execute_request";
}

function refuseOtherConnections({ ip, transport, signature_scheme }: ConnectionFile): void {
  if (transport !== "tcp" || ip !== "127.0.0.1") {
    throw new RangeError(`Cannot serve ${transport}://${ip}: expected tcp on 127.0.0.1`);
  }
  if (signature_scheme !== "hmac-sha256") {
    throw new RangeError(`Cannot sign by ${signature_scheme}: expected hmac-sha256`);
  }
}

/** Requests in their order, one at a time. */
function requestQueue() {
  const waiting: Request[] = [];
  let wake = Promise.withResolvers<void>();
  let closed = false;
  return {
    add: (request: Request) => {
      waiting.push(request);
      wake.resolve();
    },
    next: async (): Promise<Request | null> => {
      while (waiting.length === 0 && !closed) {
        wake = Promise.withResolvers();
        await wake.promise;
      }
      return closed ? null : waiting.shift()!;
    },
    takeAll: (wanted: (request: Request) => boolean): Request[] => {
      const taken = waiting.filter(wanted);
      waiting.splice(0, waiting.length, ...waiting.filter((request) => !wanted(request)));
      return taken;
    },
    close: () => {
      closed = true;
      wake.resolve();
    },
  };
}
