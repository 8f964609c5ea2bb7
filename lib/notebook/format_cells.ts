import { join, resolve } from "node:path";
import type { Cell, Notebook } from "./notebook_format.ts";

/**
 * The notebook with its code and prose laid out as `deno fmt` lays them out.
 *
 * `deno fmt --check` itself is no use on notebooks: in 2.9.6 it refuses what `deno fmt` has written,
 * because a cell does not end in a line break. So every cell is formatted as a file of its own, in a
 * folder that is taken away again whatever happens. A cell with a syntax error stays as it is.
 *
 * @param folder where the notebook lies; its configuration decides the line width
 */
export async function withFormattedCells(notebook: Notebook, folder: string): Promise<Notebook> {
  const place = await Deno.makeTempDir({ dir: resolve(folder), prefix: "format-" });
  try {
    const files = notebook.cells.map((cell, index) => fileOf(cell, join(place, `${index}`)));
    const written = files.filter((file) => file !== null);
    for (const [index, file] of files.entries()) {
      if (file) await Deno.writeTextFile(file, notebook.cells[index].source);
    }
    if (written.length > 0) {
      await new Deno.Command(Deno.execPath(), {
        args: ["fmt", "--quiet", ...written],
        cwd: place,
        stdin: "null",
        stdout: "null",
        stderr: "null",
      }).output(); // fails if one cell cannot be read; the others are formatted nevertheless
    }
    const cells: Cell[] = [];
    for (const [index, file] of files.entries()) {
      const cell = notebook.cells[index];
      const source = file ? (await Deno.readTextFile(file)).trimEnd() : cell.source;
      cells.push({ ...cell, source });
    }
    return { ...notebook, cells };
  } finally {
    await Deno.remove(place, { recursive: true });
  }
}

function fileOf(cell: Cell, stem: string): string | null {
  if (cell.cell_type === "raw" || cell.source.trim() === "") return null;
  return `${stem}${cell.cell_type === "code" ? ".ts" : ".md"}`;
}
