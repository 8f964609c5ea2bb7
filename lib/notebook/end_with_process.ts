/** How a process of the kit ends together with what it has started, whoever stops it. */

/** Signals that ask for an end, with the exit code that says so. */
const exitCodes = { SIGINT: 130, SIGTERM: 143, SIGHUP: 129 } as const;
type EndSignal = keyof typeof exitCodes;
const signals = Object.keys(exitCodes) as EndSignal[];

/** What has to be done, at once and without waiting, if this process is stopped before it is through. */
const unfinished = new Set<() => void>();
const listeners = signals.map((signal) => () => {
  if (waitedFor === 0) Deno.exit(exitCodes[signal]); // which does what is unfinished
});
/** Programs that are waited for: this process ends when they have. */
let waitedFor = 0;

function endAll(): void {
  for (const end of [...unfinished].reverse()) {
    try {
      end();
    } catch { /* the others still have to be done */ }
  }
  unfinished.clear();
}

/** Has `end` called if this process is stopped, the last given first; returns how to take that back. */
export function endWithProcess(end: () => void): () => void {
  if (unfinished.size === 0) {
    signals.forEach((signal, i) => onSignal(signal, listeners[i]));
    globalThis.addEventListener("unload", endAll);
  }
  unfinished.add(end);
  return () => {
    if (!unfinished.delete(end) || unfinished.size > 0) return;
    signals.forEach((signal, i) => offSignal(signal, listeners[i]));
    globalThis.removeEventListener("unload", endAll);
  };
}

const LOOK_EVERY_MS = 250;

/**
 * Calls `end` once when the process that started this one is gone, however it went.
 *
 * @param parent its number, where it is known; it may be gone before this one could ask
 */
export function whenParentEnds(end: () => void, parent = Deno.ppid): void {
  const look = () => {
    if (Deno.ppid === parent) return;
    clearInterval(timer);
    end();
  };
  const timer = setInterval(look, LOOK_EVERY_MS);
  Deno.unrefTimer(timer);
  look();
}

/** Ends this process, as a signal would, when the one that started it is gone. */
export function endWithParent(parent?: number): void {
  whenParentEnds(() => {
    if (waitedFor === 0) Deno.exit(exitCodes.SIGTERM);
  }, parent);
}

/** Longer than an orderly end takes; whoever asked should not have to wait for one that never comes. */
const GRACE_MS = 1_200;

/**
 * Waits for a program that this process has started, and stops it when this process is stopped.
 *
 * @param ignore signals that are not meant for the program
 * @returns its exit code, or the one for the signal that stopped this process
 */
export async function waitFor(
  child: Deno.ChildProcess,
  { ignore = [] }: { readonly ignore?: readonly EndSignal[] } = {},
): Promise<number> {
  let stopped: number | null = null;
  const stop = (code: number) => {
    if (stopped !== null) return;
    stopped = code;
    kill(child, "SIGTERM");
    Deno.unrefTimer(setTimeout(() => kill(child, "SIGKILL"), GRACE_MS));
  };
  const ownListeners = signals.map((signal) => () => {
    if (!ignore.includes(signal)) stop(exitCodes[signal]);
  });
  signals.forEach((signal, i) => onSignal(signal, ownListeners[i]));
  whenParentEnds(() => stop(exitCodes.SIGTERM));
  waitedFor++;
  const { code } = await child.status;
  waitedFor--;
  signals.forEach((signal, i) => offSignal(signal, ownListeners[i]));
  return stopped ?? code;
}

/** Sends a signal to a program that may have ended already. */
export function kill(child: Deno.ChildProcess, signal: Deno.Signal): void {
  try {
    child.kill(signal);
  } catch { /* already ended */ }
}

function onSignal(signal: EndSignal, listener: () => void): void {
  try {
    Deno.addSignalListener(signal, listener);
  } catch { /* not every system has every signal */ }
}

function offSignal(signal: EndSignal, listener: () => void): void {
  try {
    Deno.removeSignalListener(signal, listener);
  } catch { /* was not added */ }
}
