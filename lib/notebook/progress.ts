import type { RunProgress } from "./run_notebook.ts";

/**
 * Shows on a terminal how far a notebook's run has come; use it as `onProgress`.
 *
 * On a terminal one line is rewritten cell by cell; elsewhere (a file, a log) only the closing line is written.
 */
export function terminalProgress(
  {
    write = (text: string) => Deno.stderr.writeSync(new TextEncoder().encode(text)),
    isTerminal = Deno.stderr.isTerminal(),
    now = () => performance.now(),
  }: {
    readonly write?: (text: string) => void;
    readonly isTerminal?: boolean;
    readonly now?: () => number;
  } = {},
): (progress: RunProgress) => void {
  let lastShown = -Infinity;
  return (progress) => {
    if (progress.phase === "ended") {
      write(`${isTerminal ? rewriteLine : ""}${closingLine(progress)}\n`);
      return;
    }
    if (!isTerminal || now() - lastShown < SHORTEST_INTERVAL_MS) return;
    lastShown = now();
    write(`${rewriteLine}${runningLine(progress)}`);
  };
}

const SHORTEST_INTERVAL_MS = 50;
const rewriteLine = "\r\u001b[2K";

function runningLine({ notebook, phase, codeCell, codeCells, seconds }: RunProgress): string {
  if (phase === "starting") return `${notebook}: starting the kernel`;
  return `${notebook}: cell ${codeCell} of ${codeCells}, ${seconds.toFixed(1)} s`;
}

function closingLine({ notebook, codeCell, codeCells, seconds, failed }: RunProgress): string {
  const time = `${seconds.toFixed(1)} s`;
  return failed
    ? `${notebook}: stopped at cell ${codeCell} of ${codeCells} after ${time}`
    : `${notebook}: ${codeCells} cells in ${time}`;
}
