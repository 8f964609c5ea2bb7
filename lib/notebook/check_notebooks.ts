import { basename, dirname } from "node:path";
import { notebookCodeProblems, type NotebookFile } from "./check_notebook_code.ts";
import { type NotebookProblem, notebookShapeProblems } from "./check_notebook_shape.ts";
import { withFormattedCells } from "./format_cells.ts";
import { NotebookFormatError, parseNotebook } from "./notebook_format.ts";

/**
 * Are these notebooks fit to be committed?
 *
 * Each must be nbformat 4.5, cleared and tidy (see `notebookShapeProblems()`), and its code cells must
 * pass the type checker and the linter, and be laid out as the formatter does it. Every problem of every notebook is found in one go.
 *
 * @param paths notebook files
 * @returns the problems, in the order of the files and cells; empty if all is well
 * @throws {Deno.errors.NotFound} if a file is not there
 */
export async function checkNotebooks(
  paths: readonly string[],
): Promise<readonly NotebookProblem[]> {
  const problems: NotebookProblem[] = [];
  const readable: NotebookFile[] = [];
  for (const given of paths) {
    const path = await Deno.realPath(given);
    const text = await Deno.readTextFile(path);
    problems.push(...notebookShapeProblems(text, basename(path)));
    try {
      readable.push({ path, name: basename(path), notebook: parseNotebook(text) });
    } catch (error) {
      if (!(error instanceof NotebookFormatError)) throw error; // the shape has said it already
    }
  }
  for (const files of Map.groupBy(readable, ({ path }) => dirname(path)).values()) {
    problems.push(...await notebookCodeProblems(files));
  }
  for (const file of readable) problems.push(...await layoutProblems(file));
  const order = paths.map((path) => basename(path));
  const place = ({ notebook }: NotebookProblem) => (order.indexOf(notebook) + 1) || Infinity;
  return problems.toSorted((a, b) =>
    place(a) - place(b) || (a.cell ?? 0) - (b.cell ?? 0) || (a.line ?? 0) - (b.line ?? 0) || 0
  );
}

async function layoutProblems({ path, name, notebook }: NotebookFile) {
  const formatted = await withFormattedCells(notebook, dirname(path));
  return notebook.cells.flatMap(({ source }, index): readonly NotebookProblem[] => {
    const wanted = formatted.cells[index].source.split("\n");
    if (source === wanted.join("\n")) return [];
    const given = source.split("\n");
    const line = wanted.findIndex((text, at) => text !== given[at]);
    const shown = wanted[line]?.trim() ?? "";
    const message = line === -1
      ? "found lines after the last, expected the cell to end there"
      : `laid out differently, expected ${JSON.stringify(shown)}`;
    return [{
      notebook: name,
      cell: index + 1,
      line: (line === -1 ? wanted.length : line) + 1,
      message,
    }];
  });
}

/** A problem in one line: `start-here.ipynb, cell 3 line 2: …`. */
export function notebookProblemText({ notebook, cell, line, message }: NotebookProblem): string {
  const place = [
    cell === null ? "" : `cell ${cell}`,
    line === null ? "" : `line ${line}`,
  ].filter((part) => part !== "").join(" ");
  return `${notebook}${place === "" ? "" : `, ${place}`}: ${message}`;
}
