import type { DataFrame } from "danfojs";
import { columnNames, showTable, type TableOptions } from "./show_table.ts";
import type { TableRow } from "./write_table.ts";

/** What a frame shows beside its rows; the frame itself holds all of them. */
export type FrameOptions = TableOptions;

/**
 * How do these rows look as a data frame, to sort, group and reckon with?
 *
 * A data frame (danfojs) of the rows, which a notebook cell shows as a readable table (`showTable`). The
 * data-frame library is loaded here and nowhere else, at the first frame: a third of a second.
 *
 * @param rows plain rows; null stands for what is not known
 * @throws {RangeError} if `columns` names a column that no row has
 */
export async function frame(
  rows: readonly TableRow[],
  options: FrameOptions = {},
): Promise<DataFrame> {
  const names = columnNames(rows, options.columns);
  const danfo = await import("danfojs");
  // By columns: given rows whose keys come in another order, the library mixes the columns up.
  const data = Object.fromEntries(
    names.map((name) => [name, rows.map((row) => row[name] ?? null)]),
  );
  const made = rows.length === 0
    ? new danfo.DataFrame([], { columns: [...names] })
    : new danfo.DataFrame(data);
  const display = Symbol.for("Jupyter.display");
  Object.defineProperty(made, display, { value: showTable(rows, options)[display] });
  return made;
}
