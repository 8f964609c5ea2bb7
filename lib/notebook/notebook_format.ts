/**
 * The notebook file format, version 4.5, as far as this kit reads and writes it.
 *
 * @see https://nbformat.readthedocs.io/en/latest/format_description.html
 */

/** Output data by media type; JSON media types hold objects, all others text. */
export type MediaBundle = Readonly<Record<string, unknown>>;

/** Text printed to standard output or standard error. */
export type StreamOutput = {
  readonly output_type: "stream";
  readonly name: "stdout" | "stderr";
  readonly text: string;
};

/** Something a cell displayed. */
export type DisplayOutput = {
  readonly output_type: "display_data";
  readonly data: MediaBundle;
  readonly metadata: Readonly<Record<string, unknown>>;
};

/** The value of a cell's last expression. */
export type ResultOutput = {
  readonly output_type: "execute_result";
  readonly execution_count: number | null;
  readonly data: MediaBundle;
  readonly metadata: Readonly<Record<string, unknown>>;
};

/** An exception that ended a cell. */
export type ErrorOutput = {
  readonly output_type: "error";
  readonly ename: string;
  readonly evalue: string;
  readonly traceback: readonly string[];
};

/** Whatever a cell put out. */
export type Output = StreamOutput | DisplayOutput | ResultOutput | ErrorOutput;

/** What is known of a cell besides its text. */
export type CellMetadata = {
  readonly tags?: readonly string[];
  readonly [key: string]: unknown;
};

/** A cell of code with what it put out. */
export type CodeCell = {
  readonly cell_type: "code";
  readonly id: string;
  readonly metadata: CellMetadata;
  readonly source: string;
  readonly execution_count: number | null;
  readonly outputs: readonly Output[];
};

/** A cell of prose, or one passed through as it is. */
export type TextCell = {
  readonly cell_type: "markdown" | "raw";
  readonly id: string;
  readonly metadata: CellMetadata;
  readonly source: string;
  readonly attachments?: Readonly<Record<string, MediaBundle>>;
};

/** A cell of a notebook. */
export type Cell = CodeCell | TextCell;

/** A whole notebook; every `source` and `text` is one string here, though a file may hold lists of lines. */
export type Notebook = {
  readonly cells: readonly Cell[];
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly nbformat: 4;
  readonly nbformat_minor: number;
};

/** A notebook that cannot be read as one. */
export class NotebookFormatError extends Error {
  /** The error's name. */
  override readonly name = "NotebookFormatError";
}

/**
 * Reads the text of a notebook file.
 *
 * Lists of lines become one string; a cell without an id (before version 4.5) gets one from its place.
 *
 * @throws {NotebookFormatError} if the text is not a notebook of major version 4
 */
export function parseNotebook(text: string, { name = "notebook" } = {}): Notebook {
  let file: unknown;
  try {
    file = JSON.parse(text);
  } catch (cause) {
    throw new NotebookFormatError(`${name}: not JSON (${(cause as Error).message})`, { cause });
  }
  if (!isObject(file) || !Array.isArray(file.cells)) {
    throw new NotebookFormatError(`${name}: found no list of cells, expected a Jupyter notebook`);
  }
  if (file.nbformat !== 4) {
    throw new NotebookFormatError(
      `${name}: found notebook format ${JSON.stringify(file.nbformat)}, expected 4`,
    );
  }
  const cells = file.cells.map((cell, index) =>
    parseCell(cell, `${name}, cell ${index + 1}`, index)
  );
  const ids = new Set(cells.map((cell) => cell.id));
  if (ids.size < cells.length) {
    const twice = cells.find((cell, i) => cells.findIndex((other) => other.id === cell.id) < i)!;
    throw new NotebookFormatError(`${name}: two cells have the id "${twice.id}"`);
  }
  return {
    cells,
    metadata: isObject(file.metadata) ? file.metadata : {},
    nbformat: 4,
    nbformat_minor: Math.max(5, Number(file.nbformat_minor) || 5),
  };
}

/** The text of a notebook file: JSON with sorted outer keys, one space a level, a last newline, as Jupyter writes it. */
export function notebookText(notebook: Notebook): string {
  const { cells, metadata, nbformat, nbformat_minor } = notebook;
  const lines = cells.map((cell) => ({
    ...cell,
    source: linesOf(cell.source),
    ...(cell.cell_type === "code" ? { outputs: cell.outputs.map(outputOnDisk) } : {}),
  }));
  return JSON.stringify({ cells: lines, metadata, nbformat, nbformat_minor }, null, 1) + "\n";
}

function outputOnDisk(output: Output): unknown {
  if (output.output_type === "stream") return { ...output, text: linesOf(output.text) };
  if (output.output_type === "error") return output;
  const data = Object.fromEntries(
    Object.entries(output.data).map(([type, value]) => [
      type,
      typeof value === "string" && isTextual(type) ? linesOf(value) : value,
    ]),
  );
  return { ...output, data };
}

function isTextual(mediaType: string): boolean {
  return mediaType.startsWith("text/") || mediaType === "image/svg+xml";
}

function linesOf(text: string): string[] {
  return text === "" ? [] : text.split(/(?<=\n)/);
}

function parseCell(cell: unknown, where: string, index: number): Cell {
  if (!isObject(cell)) throw new NotebookFormatError(`${where}: not an object`);
  const common = {
    id: typeof cell.id === "string" ? cell.id : `cell-${index + 1}`,
    metadata: (isObject(cell.metadata) ? cell.metadata : {}) as CellMetadata,
    source: joined(cell.source, where),
  };
  if (cell.cell_type === "markdown" || cell.cell_type === "raw") {
    const attachments = isObject(cell.attachments)
      ? { attachments: cell.attachments as Record<string, MediaBundle> }
      : {};
    return { cell_type: cell.cell_type, ...common, ...attachments };
  }
  if (cell.cell_type !== "code") {
    throw new NotebookFormatError(
      `${where}: found the type ${JSON.stringify(cell.cell_type)}, expected code, markdown or raw`,
    );
  }
  const outputs = Array.isArray(cell.outputs) ? cell.outputs : [];
  return {
    cell_type: "code",
    ...common,
    execution_count: typeof cell.execution_count === "number" ? cell.execution_count : null,
    outputs: outputs.map((output) => parseOutput(output, where)),
  };
}

function parseOutput(output: unknown, where: string): Output {
  if (!isObject(output)) throw new NotebookFormatError(`${where}: an output is not an object`);
  if (output.output_type === "stream") {
    return { ...output, text: joined(output.text, where) } as StreamOutput;
  }
  if (output.output_type === "error") return output as unknown as ErrorOutput;
  if (!isObject(output.data)) throw new NotebookFormatError(`${where}: an output holds no data`);
  const data = Object.fromEntries(
    Object.entries(output.data).map(([type, value]) => [
      type,
      Array.isArray(value) && value.every((line) => typeof line === "string")
        ? value.join("")
        : value,
    ]),
  );
  return { ...output, data } as unknown as Output;
}

function joined(text: unknown, where: string): string {
  if (typeof text === "string") return text;
  if (Array.isArray(text)) return text.join("");
  throw new NotebookFormatError(`${where}: found no text, expected a string or a list of lines`);
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
