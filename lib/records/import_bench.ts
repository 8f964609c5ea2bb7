import { join } from "node:path";
import * as option from "../options.ts";
import { folderLock } from "./folder_lock.ts";
import type { ImportMapping } from "./import_mapping.ts";
import type { ToFillIn } from "./import_merge.ts";
import { importSettings } from "./import_settings.ts";
import { importSheet, type SheetImport } from "./import_sheet.ts";
import type { MappingSource } from "./import_columns.ts";
import type { Workbook } from "./import_workbook.ts";
import { tableSchemas } from "./schemas.ts";
import { ORDER, readStanding } from "./standing_tables.ts";
import type { TableFile } from "./types.ts";
import { unitOf } from "./units.ts";
import { writeTable } from "./write_table.ts";
import { writeWhole } from "./write_whole.ts";

/** An import into a bench folder: what it took, and the files that it wrote. */
export type BenchImport = SheetImport & {
  readonly written: readonly string[];
  /** What the mapping says otherwise than the folder's settings, which stay. */
  readonly unused: readonly string[];
  /** Rows that may have become one shoe by mistake: nothing was written, as nobody has looked yet. */
  readonly to_look_at: readonly string[];
};

/**
 * Brings a spreadsheet into a bench folder, which is made when it is not there.
 *
 * Files that would not change are not written; each is written whole or not at all, in an order that
 * leaves the folder readable if the run is broken off; the next run then adds the rest. Imports into
 * the same folder wait for each other.
 *
 * @param onWait called when another import into the folder has to end first
 * @param looked whether somebody has seen that rows collapse into fewer shoes, and means it
 * @returns with `problems` when the mapping or a standing file has errors, with `to_look_at` where rows
 * that nothing tells apart became one shoe and nobody has looked; then nothing was written
 */
export async function importBench(
  workbook: Workbook,
  mapping: ImportMapping,
  dir: string,
  { source, onWait = () => {}, looked = true }: {
    readonly source?: MappingSource;
    readonly looked?: boolean;
    readonly onWait?: () => void;
  } = {},
): Promise<BenchImport> {
  option.check("records.importBench", arguments[3], {
    source: option.thing,
    looked: option.flag,
    onWait: option.call,
  });
  await Deno.mkdir(dir, { recursive: true });
  await using _lock = await folderLock(dir, ".import-lock", { onWait });
  const { tables, settings, problems } = await readStanding(dir);
  const units = (settings.metrics ?? []).flatMap(({ id, unit }) =>
    typeof unit === "string" && unitOf(unit) !== null ? [[String(id), unit] as const] : []
  );
  const result = importSheet(workbook, mapping, {
    standing: tables,
    metricUnits: new Map(units),
    rating: ratingOf(settings.bench ?? mapping.bench),
    sizeSystem: String(settings.bench?.size_system ?? mapping.bench?.size_system ?? "") || null,
    ...(source === undefined ? {} : { source }),
  });
  const all = [...problems, ...result.problems];
  const nothing = { ...result, tables: {}, written: [], unused: [], to_look_at: [] };
  if (all.length > 0) return { ...nothing, problems: all };
  const toLookAt = collapsed(result);
  if (!looked && toLookAt.length > 0) return { ...nothing, to_look_at: toLookAt };

  const { files, toFillIn, unused } = importSettings(mapping, result, settings);
  const written: string[] = [];
  for (const [file, value] of Object.entries(files)) {
    if (file.startsWith("rules/")) await Deno.mkdir(join(dir, "rules"), { recursive: true });
    await writeWhole(join(dir, file), JSON.stringify(value, null, 2) + "\n");
    written.push(file);
  }
  // Tables that others refer to come first.
  for (const file of ORDER) {
    const table = result.tables[file];
    const columns = Object.keys(tableSchemas[file].shape);
    if (table === undefined) {
      if (!NEEDED.includes(file) || tables[file] !== undefined) continue;
      await writeTable(join(dir, file), [], columns);
    } else {
      if (table.added + table.filled === 0) continue;
      await writeTable(join(dir, file), table.rows, columns);
    }
    written.push(file);
  }
  const to_fill_in: ToFillIn[] = [...result.to_fill_in, ...toFillIn];
  return { ...result, to_fill_in, written, unused, to_look_at: [] };
}

/** `27 rows → 3 shoes`, for every sheet where rows of a shoe differ in nothing but their readings. */
function collapsed({ rows }: SheetImport): string[] {
  // A row copied by mistake now and then shows as a repeat or a conflict; many are something else.
  const many = rows.filter(({ rows, repeated, in_order }) =>
    repeated.length > 0 &&
    (in_order || repeated.reduce((sum, { rows }) => sum + rows - 1, 0) >= rows / 4)
  );
  return many.map(
    ({ sheet, rows, shoes, repeated }) => {
      const shown = repeated.slice(0, 3).map(({ shoe_id, rows }) => `${shoe_id} (${rows} rows)`);
      const more = repeated.length > 3 ? ` and ${repeated.length - 3} more` : "";
      return `'${sheet}': ${rows} rows → ${shoes} shoes. Nothing but their readings tells the rows of ` +
        `${shown.join(", ")}${more} apart`;
    },
  );
}

function ratingOf(bench: unknown): { min: number; max: number } | null {
  const { min, max } = (bench as { rating?: { min?: unknown; max?: unknown } } | null)?.rating ??
    {};
  return typeof min === "number" && typeof max === "number" ? { min, max } : null;
}

const NEEDED: readonly TableFile[] = ["shoes.csv", "sessions.csv", "trials.csv"];
