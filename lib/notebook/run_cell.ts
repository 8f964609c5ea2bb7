import { type LiveDisplays, type OutputCollector, outputCollector } from "./collect_outputs.ts";
import { type Channel, execute } from "./kernel_channel.ts";
import { KernelError } from "./kernel_error.ts";
import type { JupyterMessage } from "./messages.ts";
import type { ErrorOutput, Output } from "./notebook_format.ts";
import { markCode, markOf } from "./prepare_kernel.ts";
import { explainFailedImport, explainSyntaxError } from "./unexplained_error.ts";
import { firstOf, secondsOf, type WatchedProcess } from "./watched_process.ts";

/** Who prints without end in a front end sees it there; here is no use for all of it. */
const MOST_KEPT = 120_000_000;
const INTERRUPT_GRACE_MS = 2_000;
const DRAIN_LIMIT_MS = 15_000;

/** How one cell is run. */
export type ExecuteOptions = {
  /** After so long the cell is interrupted, and the kernel ended if that does not help. */
  readonly timeLimitMs?: number;
  /** A cell that puts out more than so many bytes is stopped in the same way; `onMessage` hears no more. */
  readonly outputLimit?: number;
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

/** What a cell's run needs of its kernel. */
export type Running = {
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

/** What a cell was stopped for. */
type Stopped = Omit<ErrorOutput, "output_type">;

/**
 * Runs one cell and waits until everything it put out is here.
 *
 * @throws {KernelError} if the kernel has ended before
 */
export async function runCell(
  code: string,
  { timeLimitMs, outputLimit = Infinity, onOutput, onMessage, onInput, silent = false, ...more }:
    ExecuteOptions,
  running: Running,
): Promise<CellRun> {
  const { shell, process, displays, listen } = running;
  const { storeHistory = !silent } = more;
  if (process.ended()) throw new KernelError(process.obituary());

  const endMark = crypto.randomUUID();
  const collector = outputCollector({ displays });
  const drained = Promise.withResolvers<null>();
  const flooded = Promise.withResolvers<"flooded">();
  let size = 0;
  running.answerInput(onInput);
  listen((message) => {
    size += sizeOf(message);
    if (size > outputLimit) flooded.resolve("flooded");
    else onMessage?.(message);
    const keeps = size <= MOST_KEPT || message.header.msg_type === "error";
    if (keeps && collector.add(message)) onOutput?.(collector.outputs);
    if (markOf(message) === endMark) drained.resolve(null);
  });
  try {
    const allowInput = onInput !== undefined;
    const reply = execute(shell, code, { silent, storeHistory, allowInput });
    const outcome = await firstOf({
      reply: Promise.race([reply, flooded.promise]),
      death: process.death,
      limitMs: timeLimitMs,
    });
    if (outcome === "late" || outcome === "flooded") {
      const stopped = outcome === "late" ? timeLimit(timeLimitMs!) : outputLimitOf(outputLimit);
      return await stop(collector, stopped, reply, drained.promise, endMark, running);
    }
    if (outcome === "dead") return failed(collector, died(process), null, false);
    const end = await drain(drained.promise, endMark, running);
    if (end !== "drained") return failed(collector, end, null, false);
    return await ended(code, collector, outcome, running);
  } finally {
    listen(null);
    running.answerInput(undefined);
  }
}

/** Interrupts a cell that has gone on for too long, and ends the kernel if that does not help. */
async function stop(
  collector: OutputCollector,
  { ename, evalue }: Stopped,
  reply: Promise<JupyterMessage>,
  drained: Promise<null>,
  endMark: string,
  running: Running,
): Promise<CellRun> {
  const { control, process } = running;
  control.request("interrupt_request", {}).catch(() => {});
  let outcome = await firstOf({ reply, death: process.death, limitMs: INTERRUPT_GRACE_MS });
  if (outcome === "late") {
    running.kill();
    await process.death;
    outcome = "dead";
  }
  if (outcome === "dead" || await drain(drained, endMark, running) !== "drained") {
    const unheeded = `${evalue}; the kernel did not heed the interrupt and was ended`;
    return failed(collector, { ename, evalue: unheeded, traceback: [] }, null, false);
  }
  const executionCount = Number(outcome.content.execution_count);
  const error = { ename, evalue, traceback: [] };
  return failed(withoutLastError(collector), error, executionCount, true);
}

/** Waits until what is still on its way is here; says what stood in the way, and the kernel is gone then. */
async function drain(
  drained: Promise<null>,
  endMark: string,
  { shell, process, kill }: Running,
): Promise<"drained" | Stopped> {
  execute(shell, markCode(endMark), { silent: true }).catch(() => {});
  const end = await firstOf({
    reply: drained,
    death: process.death,
    limitMs: DRAIN_LIMIT_MS,
  });
  if (end === null) return "drained";
  if (end === "dead") return died(process);
  kill();
  await process.death;
  const evalue = "What the cell put out could not be read to its end; the kernel was ended";
  return { ename: "OutputLost", evalue, traceback: [] };
}

/** What came of a cell that the kernel itself has ended. */
async function ended(
  code: string,
  collector: OutputCollector,
  { content }: JupyterMessage,
  running: Running,
): Promise<CellRun> {
  const executionCount = Number(content.execution_count);
  const told = { ename: String(content.ename), evalue: String(content.evalue), traceback: [] };
  if (content.status === "error") collector.endWith(told);
  const shown = collector.error();
  if (shown || content.status === "ok") {
    return { executionCount, outputs: collector.outputs, error: shown, alive: true };
  }
  if (running.interrupted()) {
    const stopped = { ename: "Interrupted", evalue: "The cell was stopped", traceback: [] };
    return failed(collector, stopped, executionCount, true);
  }
  // The kernel keeps silent about code that it could not even start.
  const explained = await explainSyntaxError(code, running.deno) ?? explainFailedImport(code) ??
    told;
  return failed(collector, explained, executionCount, true);
}

function timeLimit(limitMs: number): Stopped {
  const evalue = `The cell ran longer than ${secondsOf(limitMs)} and was stopped`;
  return { ename: "TimeLimit", evalue, traceback: [] };
}

function outputLimitOf(limit: number): Stopped {
  const evalue = `The cell put out more than ${limit / 1e6} MB and was stopped`;
  return { ename: "OutputLimit", evalue, traceback: [] };
}

/** What a cell, or all that comes after its end, may put out: the largest pages hold a tenth of it. */
export const OUTPUT_LIMIT = 100_000_000;

/** About how much a message brings; a display that replaces another counts as well. */
export function sizeOf({ content, buffers }: JupyterMessage): number {
  let size = 100;
  if (typeof content.text === "string") size += content.text.length;
  for (const form of Object.values((content.data ?? {}) as Record<string, unknown>)) {
    size += typeof form === "string" ? form.length : 1_000;
  }
  for (const buffer of buffers) size += buffer.length;
  return size;
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
