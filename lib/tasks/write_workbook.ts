import { unzipSync, zipSync } from "fflate";
import { join } from "node:path";
import writeSheet from "write-excel-file/node";
import { writeWhole } from "../records/write_whole.ts";

/** A cell of a written workbook; null makes an empty cell. */
type WorkbookCell = string | number | null;

/**
 * Writes a table as a workbook of one sheet, its head row kept in sight.
 *
 * Text stays text: a name that begins with an equals sign is no formula. The same rows give the same
 * bytes: the packer's clock is taken out.
 *
 * @returns the path written, whole or not at all
 */
export async function writeWorkbook(
  out: string,
  name: string,
  { sheet, columns, rows }: {
    readonly sheet: string;
    readonly columns: readonly string[];
    readonly rows: readonly Readonly<Record<string, WorkbookCell>>[];
  },
): Promise<string> {
  const head = columns.map((value) => ({ value, type: String, fontWeight: "bold" as const }));
  const body = rows.map((row) =>
    columns.map((column) => {
      const value = row[column] ?? null;
      if (value === null) return null;
      return typeof value === "number" ? { value, type: Number } : { value, type: String };
    })
  );
  const written = await writeSheet([head, ...body], {
    sheet,
    stickyRowsCount: 1,
    stickyColumnsCount: 1,
    columns: columns.map((column, index) => ({
      width: index === 0 ? 32 : Math.max(10, column.length),
    })),
  }).toBuffer();
  // The earliest day that the format knows, in local parts as the packer reads them.
  const bytes = zipSync(unzipSync(new Uint8Array(written)), { mtime: new Date(1980, 0, 1) });
  const path = join(out, `${name}.xlsx`);
  await writeWhole(path, bytes);
  return path;
}
