import { kernelName, kernelTitle } from "./register_kernel.ts";
import type { Cell, Notebook } from "./notebook_format.ts";

/**
 * The metadata block every notebook of the kit carries; without a version, which would only churn.
 *
 * It names the kernel that `deno task lab` registers, so that a front end opens that one and not a plain one, which
 * loses output and dies on Stop.
 */
export const NOTEBOOK_METADATA = {
  kernelspec: { display_name: kernelTitle, language: "typescript", name: kernelName },
  language_info: {
    codemirror_mode: "typescript",
    file_extension: ".ts",
    mimetype: "text/x.typescript",
    name: "typescript",
    nbconvert_exporter: "script",
    pygments_lexer: "typescript",
  },
} as const;

/**
 * The notebook as it is committed: no outputs, no counts, no injected parameters, no metadata but the
 * tags of a cell and the kernel's own block. Source, attachments and cell ids stay as they are.
 */
export function clearNotebook(notebook: Notebook): Notebook {
  return {
    cells: notebook.cells
      .filter((cell) => !cell.metadata.tags?.includes("injected-parameters"))
      .map(clearCell),
    metadata: NOTEBOOK_METADATA,
    nbformat: 4,
    nbformat_minor: 5,
  };
}

function clearCell(cell: Cell): Cell {
  const tags = cell.metadata.tags ?? [];
  const metadata = tags.length === 0 ? {} : { tags };
  if (cell.cell_type === "code") {
    const { cell_type, id, source } = cell;
    return { cell_type, execution_count: null, id, metadata, outputs: [], source };
  }
  const { cell_type, id, source, attachments } = cell;
  return { cell_type, ...(attachments ? { attachments } : {}), id, metadata, source };
}
