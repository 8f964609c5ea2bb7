import { basename, dirname, isAbsolute, relative, sep } from "node:path";
import { pathToFileURL } from "node:url";
import { withoutControl } from "../records/control_characters.ts";
import { injectedSource, injectParameters, type ParameterValue } from "./inject_parameters.ts";
import { type Kernel, startKernel } from "./kernel.ts";
import { OUTPUT_LIMIT } from "./run_cell.ts";
import {
  type Cell,
  type CodeCell,
  type ErrorOutput,
  type Notebook,
  type Output,
  parseNotebook,
} from "./notebook_format.ts";

/** How far a run has come; `cell` counts all cells from 1. */
export type RunProgress = {
  readonly notebook: string;
  readonly phase: "starting" | "running" | "ended";
  /** The code cell that runs now, counted among the code cells from 1; 0 before the first. */
  readonly codeCell: number;
  readonly codeCells: number;
  readonly cell: number;
  readonly seconds: number;
  readonly failed: CellFailure | null;
};

/** Which cell stopped a run, and why. */
export type CellFailure = {
  readonly notebook: string;
  /** Its place among all cells of the executed notebook, from 1. */
  readonly cell: number;
  /** Its place among the code cells, from 1. */
  readonly codeCell: number;
  readonly id: string;
  readonly name: string;
  /** The error in words, without the notebook's or the cell's name. */
  readonly message: string;
  /** One sentence for a person: notebook, cell and error. */
  readonly sentence: string;
};

/** What a run is made of. */
export type RunNotebookOptions = {
  /** The notebook: the path of its file, or the notebook itself. */
  readonly notebook: string | Notebook;
  /** What to call it in messages; default its file name. */
  readonly name?: string;
  /** New values for names declared in its cell tagged `parameters`. */
  readonly parameters?: Readonly<Record<string, ParameterValue>>;
  readonly kitDir: string;
  /** The bench folder: cells read it. */
  readonly dataDir: string;
  /** The only folder that cells may write; must exist. */
  readonly outDir: string;
  /** Where its files will lie in the end, as the executed notebook says it; default the same folder. */
  readonly finalDir?: string;
  /** Where the broker's socket and the connection file lie meanwhile; default a temporary folder. */
  readonly scratchDir?: string;
  /** How long one cell may take, default two minutes. */
  readonly cellTimeLimitMs?: number;
  readonly onProgress?: (progress: RunProgress) => void;
  /** The Deno executable, default the one that runs this. */
  readonly deno?: string;
  /** From `startKernelOf` with the same options, for a start ahead of the run, which closes it. */
  readonly kernel?: Promise<Kernel>;
};

/** An executed notebook. */
export type NotebookRun = {
  /** With outputs up to the failing cell, if one failed; later cells have none. */
  readonly notebook: Notebook;
  readonly failed: CellFailure | null;
  readonly seconds: number;
};

/**
 * Runs a notebook from the top in a fresh Deno kernel and returns it with its outputs.
 *
 * Cells read the kit, the data and the out folder and write the out folder; nothing else is open to them.
 * The first failing cell ends the run, and that is a result, not an exception. The executed notebook holds
 * no times and no ids of the run, so equal data give equal bytes as far as the cells themselves do.
 *
 * @throws {ParameterError} if a parameter is not one that the notebook declares
 * @throws {NotebookFormatError} if the file is not a notebook
 * @throws {KernelError} if the kernel does not start
 */
export async function runNotebook(options: RunNotebookOptions): Promise<NotebookRun> {
  const { parameters = {}, cellTimeLimitMs = 120_000, onProgress = () => {} } = options;
  const kitDir = Deno.realPathSync(options.kitDir);
  const file = typeof options.notebook === "string" ? options.notebook : null;
  const name = options.name ?? file?.split(/[\\/]/).at(-1) ?? "notebook";
  const original = typeof options.notebook === "string"
    ? parseNotebook(await Deno.readTextFile(options.notebook), { name })
    : options.notebook;
  const { cells, metadata } = injectParameters(original, parameters, { name });
  const codeCells = cells.filter(isWorthRunning).length;

  const began = performance.now();
  const seconds = () => (performance.now() - began) / 1000;
  const report = (phase: RunProgress["phase"], at: { cell: number; codeCell: number }) =>
    onProgress({ notebook: name, phase, ...at, codeCells, seconds: seconds(), failed });
  let failed: CellFailure | null = null;
  let at = { cell: 0, codeCell: 0 };
  report("starting", at);

  const kernel = await (options.kernel ?? startKernelOf(options));
  const executed: Cell[] = [];
  try {
    for (const [index, cell] of cells.entries()) {
      if (cell.cell_type !== "code" || failed || !isWorthRunning(cell)) {
        executed.push(
          cell.cell_type === "code" ? { ...cell, outputs: [], execution_count: null } : cell,
        );
        continue;
      }
      at = { cell: index + 1, codeCell: at.codeCell + 1 };
      report("running", at);
      const { run, error } = await runOne(kernel, cell, cellTimeLimitMs);
      executed.push(run);
      if (error) failed = failureOf(error, { notebook: name, id: cell.id, ...at });
    }
  } finally {
    await kernel.close();
  }
  // Displays may change until the last cell has run, so machine paths are taken out at the end.
  const { dataDir, outDir, finalDir = outDir } = options;
  const clean = pathCleaner({ kitDir, dataDir, outDir, finalDir });
  const shownParameters = relativePaths(
    Object.fromEntries(
      Object.entries(parameters).map((
        [name, value],
      ) => [name, value === outDir ? finalDir : value === dataDir ? BENCH : value]),
    ),
    finalDir,
  );
  const notebook: Notebook = {
    cells: executed.map((cell) => {
      if (cell.cell_type !== "code") return cell;
      const injected = cell.metadata.tags?.includes("injected-parameters");
      const source = injected ? injectedSource(shownParameters) : cell.source;
      return { ...cell, source, outputs: cell.outputs.map(clean.output) };
    }),
    metadata,
    nbformat: 4,
    nbformat_minor: 5,
  };
  if (failed) {
    const message = clean.text(failed.message);
    failed = { ...failed, message, sentence: clean.text(failed.sentence) };
  }
  report("ended", at);
  return { notebook, failed, seconds: seconds() };
}

/** Starts the kernel that a run with these options needs: it comes up while the caller does something else. */
export function startKernelOf(
  { notebook, kitDir, dataDir, outDir, finalDir, scratchDir, deno }: Pick<
    RunNotebookOptions,
    "notebook" | "kitDir" | "dataDir" | "outDir" | "finalDir" | "scratchDir" | "deno"
  >,
): Promise<Kernel> {
  const kit = Deno.realPathSync(kitDir);
  return startKernel({
    kitDir: kit,
    workingDir: workingDirOf(typeof notebook === "string" ? notebook : null, kit),
    readable: finalDir === undefined ? [dataDir] : [dataDir, finalDir],
    writable: [outDir],
    scratchDir,
    deno,
  });
}

async function runOne(
  kernel: Kernel,
  cell: CodeCell,
  timeLimitMs: number,
): Promise<{ readonly run: CodeCell; readonly error: Omit<ErrorOutput, "output_type"> | null }> {
  const { executionCount, outputs, error } = await kernel.execute(cell.source, {
    timeLimitMs,
    outputLimit: OUTPUT_LIMIT,
  });
  return { run: { ...cell, execution_count: executionCount, outputs }, error };
}

/** The notebook's own folder, as in a front end, if that lies in the kit; else the kit's. */
function workingDirOf(file: string | null, kitDir: string): string {
  if (file === null) return kitDir;
  const folder = dirname(Deno.realPathSync(file));
  return folder === kitDir || folder.startsWith(kitDir + sep) ? folder : kitDir;
}

/** What an executed notebook calls the folders it was made from and into, whatever they were called. */
const BENCH = "bench-folder";
const RESULTS = "results-folder";

/**
 * Parameters as the executed notebook shows them: paths as seen from the out folder, where it will lie; of a
 * folder further away the name alone, of the bench's a word in its place.
 *
 * So the file says nothing of where it was made, and has the same bytes wherever that was.
 */
function relativePaths(
  parameters: Readonly<Record<string, ParameterValue>>,
  outDir: string,
): Record<string, ParameterValue> {
  return Object.fromEntries(
    Object.entries(parameters).map(([name, value]) => [
      name,
      typeof value === "string" && isAbsolute(value) ? nearPath(outDir, value) : value,
    ]),
  );
}

function nearPath(outDir: string, path: string): string {
  const near = relative(outDir, path) || ".";
  return /^\.\.[\\/]\.\./.test(near) ? basename(path) : near;
}

function isWorthRunning(cell: Cell): cell is CodeCell {
  return cell.cell_type === "code" && cell.source.trim() !== "";
}

function failureOf(
  error: Omit<ErrorOutput, "output_type">,
  at: {
    readonly notebook: string;
    readonly cell: number;
    readonly codeCell: number;
    readonly id: string;
  },
): CellFailure {
  // It is printed on a terminal, which obeys more than colours.
  const message = withoutControl(stripColour(error.evalue));
  return {
    ...at,
    name: error.ename,
    message,
    sentence:
      `${at.notebook}, cell ${at.cell} (code cell ${at.codeCell}): ${error.ename}: ${message}`,
  };
}

/** Takes the folders' places on this machine, and terminal colours in tracebacks, out of outputs. */
function pathCleaner(
  { kitDir, dataDir, outDir, finalDir }: {
    readonly kitDir: string;
    readonly dataDir: string;
    readonly outDir: string;
    readonly finalDir: string;
  },
): { readonly text: (text: string) => string; readonly output: (output: Output) => Output } {
  // The out and data folders first: they often lie in the kit.
  const named = [
    [outDir, RESULTS],
    [finalDir, RESULTS],
    [dataDir, BENCH],
    [kitDir, ""],
  ] as const;
  const replacements = named.filter(([dir]) => isAbsolute(dir)).flatMap(([dir, name]) => [
    [pathToFileURL(dir).href, name],
    [dir, name],
  ]);
  const text = (text: string) =>
    replacements.reduce(
      (text, [place, name]) =>
        text.replaceAll(`${place}/`, name && `${name}/`).replaceAll(place, name || "."),
      text,
    );
  const output = (output: Output): Output => {
    if (output.output_type === "stream") return { ...output, text: text(output.text) };
    if (output.output_type === "error") {
      return {
        ...output,
        evalue: text(stripColour(output.evalue)),
        traceback: output.traceback.map((line) => text(stripColour(line))),
      };
    }
    const data = Object.fromEntries(
      Object.entries(output.data).map(([type, value]) => [
        type,
        typeof value === "string" && type.startsWith("text/") ? text(value) : value,
      ]),
    );
    return { ...output, data };
  };
  return { text, output };
}

function stripColour(text: string): string {
  // deno-lint-ignore no-control-regex -- that is what terminal colours begin with
  return text.replaceAll(/\u001b\[[0-9;]*[A-Za-z]/g, "");
}
