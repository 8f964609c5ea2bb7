import { z } from "zod";
import { NOTEBOOK_METADATA } from "./clear_notebook.ts";
import { parametersProblem } from "./parameter_statements.ts";
import { joinedText } from "./page_text.ts";

/** Something in a notebook that should not be committed. Cells and lines count from 1. */
export type NotebookProblem = {
  readonly notebook: string;
  readonly cell: number | null;
  readonly line: number | null;
  readonly message: string;
};

/** Tags that mean something to the kit; any other is taken for a slip of the pen. */
const TAGS = [
  "parameters",
  "summary",
  "caution",
  "hide-code",
  "hide",
  "fold",
  "fold-small",
  "glossary",
] as const;

const clearIt = "clear the notebook before committing it";
const Source = z.union([z.string(), z.array(z.string())]);
const Id = z.string().regex(/^[a-zA-Z0-9_-]{1,64}$/, "expected 1 to 64 letters, digits, - or _");
const Metadata = z.strictObject({ tags: z.array(z.enum(TAGS)).optional() });

const CodeCell = z.strictObject({
  cell_type: z.literal("code"),
  id: Id,
  metadata: Metadata,
  source: Source,
  execution_count: z.null({ error: `expected null: ${clearIt}` }),
  outputs: z.array(z.unknown()).max(0, `expected no outputs: ${clearIt}`),
});
const TextCell = z.strictObject({
  cell_type: z.enum(["markdown", "raw"]),
  id: Id,
  metadata: Metadata,
  source: Source,
  attachments: z.record(z.string(), z.record(z.string(), z.unknown())).optional(),
});

const CommittedNotebook = z.strictObject({
  cells: z.array(z.discriminatedUnion("cell_type", [CodeCell, TextCell])).min(1),
  metadata: z.strictObject({
    kernelspec: exactly(NOTEBOOK_METADATA.kernelspec),
    language_info: exactly(NOTEBOOK_METADATA.language_info),
  }),
  nbformat: z.literal(4),
  nbformat_minor: z.literal(5),
});

function exactly(block: Readonly<Record<string, string>>) {
  return z.strictObject(
    Object.fromEntries(Object.entries(block).map(([key, value]) => [key, z.literal(value)])),
  );
}

/**
 * Is this the text of a notebook as the kit commits them? nbformat 4.5, cleared, nothing in the
 * metadata but tags and the kernel's block, cell ids unique, parameters first and declared by `let`.
 *
 * @param name what to call the notebook in the problems
 */
export function notebookShapeProblems(text: string, name: string): readonly NotebookProblem[] {
  const problem = (message: string, cell: number | null = null, line: number | null = null) => ({
    notebook: name,
    cell,
    line,
    message,
  });
  let file: unknown;
  try {
    file = JSON.parse(text);
  } catch (error) {
    return [problem(`not JSON: ${(error as Error).message}`)];
  }
  const read = CommittedNotebook.safeParse(file);
  const problems = (read.error?.issues ?? []).map(({ path, message }) => {
    const inCell = path[0] === "cells" && typeof path[1] === "number";
    const place = path.slice(inCell ? 2 : 0).join(".");
    return problem(`${place}: ${message}`.replace(/^: /, ""), inCell ? Number(path[1]) + 1 : null);
  });
  const cells = cellsOf(file);
  const seen = new Map<string, number>();
  cells.forEach(({ id }, index) => {
    const first = seen.get(id);
    if (first === undefined) seen.set(id, index + 1);
    else problems.push(problem(`id: "${id}" is taken by cell ${first}`, index + 1));
  });
  return [...problems, ...parameterCellProblems(cells, problem)];
}

type AnyCell = {
  readonly isCode: boolean;
  readonly id: string;
  readonly source: string;
  readonly isParameters: boolean;
};

/** What can be said of the cells of a file that may be no notebook at all. */
function cellsOf(file: unknown): readonly AnyCell[] {
  const cells = (file as { cells?: unknown } | null)?.cells;
  if (!Array.isArray(cells)) return [];
  return cells.map((cell, index) => {
    const tags = cell?.metadata?.tags;
    return {
      isCode: cell?.cell_type === "code",
      id: typeof cell?.id === "string" ? cell.id : `(cell ${index + 1} without an id)`,
      source: joinedText(cell?.source),
      isParameters: Array.isArray(tags) && tags.includes("parameters"),
    };
  });
}

function parameterCellProblems(
  cells: readonly AnyCell[],
  problem: (message: string, cell?: number | null, line?: number | null) => NotebookProblem,
): readonly NotebookProblem[] {
  if (cells.length === 0) return [];
  const tagged = cells.flatMap(({ isParameters }, index) => isParameters ? [index] : []);
  if (tagged.length === 0) {
    return [problem('no cell is tagged "parameters", expected the first code cell to be')];
  }
  const [at, ...others] = tagged;
  const firstCode = cells.findIndex(({ isCode }) => isCode);
  const found = others.map((index) =>
    problem(`a second cell tagged "parameters", the first is cell ${at + 1}`, index + 1)
  );
  if (at !== firstCode) {
    found.push(problem(
      firstCode === -1
        ? 'tagged "parameters" but is no code cell'
        : `tagged "parameters" but the first code cell is cell ${firstCode + 1}`,
      at + 1,
    ));
  }
  const wrong = parametersProblem(cells[at].source);
  if (wrong) found.push(problem(wrong.message, at + 1, wrong.line));
  return found;
}
