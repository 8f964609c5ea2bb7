import { join } from "node:path";
import { benchFileTrouble } from "./bench_file.ts";
import { readCsvTable } from "./csv_table.ts";
import { folderLock } from "./folder_lock.ts";
import type { ImportMapping } from "./import_mapping.ts";
import type { StandingTable, StandingTables, ToFillIn } from "./import_merge.ts";
import { importSettings, type StandingSettings } from "./import_settings.ts";
import { importSheet, type SheetImport } from "./import_sheet.ts";
import type { MappingSource } from "./import_columns.ts";
import type { Workbook } from "./import_workbook.ts";
import { readJson } from "./json_file.ts";
import { tableSchemas } from "./schemas.ts";
import type { Problem, TableFile } from "./types.ts";
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

const ORDER: readonly TableFile[] = [
  "shoes.csv",
  "features.csv",
  "sessions.csv",
  "testers.csv",
  "trials.csv",
  "impressions.csv",
];
const NEEDED: readonly TableFile[] = ["shoes.csv", "sessions.csv", "trials.csv"];

async function readStanding(dir: string): Promise<{
  tables: StandingTables;
  settings: StandingSettings;
  problems: Problem[];
}> {
  const problems: Problem[] = [];
  const tables: Partial<Record<TableFile, StandingTable>> = {};
  for (const file of ORDER) {
    const path = join(dir, file);
    if (!(await exists(path))) continue;
    const trouble = await benchFileTrouble(dir, file, "table");
    if (trouble !== null) {
      problems.push({ file, line: null, column: null, ...trouble, severity: "error" });
      continue;
    }
    const rows: Record<string, string>[] = [];
    const lines: number[] = [];
    await readCsvTable(path, file, tableSchemas[file].shape, (row, line) => {
      rows.push({ ...row });
      lines.push(line);
    }, (problem) => {
      // A column that is not read would be lost when the table is written again.
      const lost = problem.found === "an unknown column" ||
        problem.found.startsWith("cells under no header");
      if (lost) {
        const fix = "Take the column out, or import into a new folder.";
        problems.push({ ...problem, severity: "error", fix });
      } else if (problem.severity === "error") problems.push(problem);
    });
    tables[file] = { rows, lines };
  }
  const json = async (file: string) => {
    if (!(await exists(join(dir, file)))) return null;
    const trouble = await benchFileTrouble(dir, file, "json");
    if (trouble !== null) {
      problems.push({ file, line: null, column: null, ...trouble, severity: "error" });
      return null;
    }
    const text = await Deno.readTextFile(join(dir, file));
    return readJson(file, text, (problem) => problems.push(problem))?.value ?? null;
  };
  const bench = await json("bench.json");
  const metrics = await json("metrics.json");
  let anyRule = false;
  if (await exists(join(dir, "rules"))) {
    for await (const { name } of Deno.readDir(join(dir, "rules"))) {
      anyRule ||= name.endsWith(".json");
    }
  }
  const isObject = (value: unknown): value is Record<string, unknown> =>
    typeof value === "object" && value !== null && !Array.isArray(value);
  const settings: StandingSettings = {
    bench: isObject(bench) ? bench : null,
    metrics: Array.isArray(metrics) && metrics.every(isObject) ? metrics : null,
    anyRule,
  };
  for (
    const [file, value, good] of [
      ["bench.json", bench, settings.bench !== null],
      ["metrics.json", metrics, settings.metrics !== null],
    ] as const
  ) {
    if (value === null || good) continue;
    const expected = file === "bench.json" ? "one object" : "a list of metrics";
    problems.push({
      file,
      line: 1,
      column: null,
      found: typeof value,
      expected,
      fix: "",
      severity: "error",
    });
  }
  return { tables, settings, problems };
}

async function exists(path: string): Promise<boolean> {
  try {
    await Deno.stat(path);
    return true;
  } catch (error) {
    if (error instanceof Deno.errors.NotFound) return false;
    throw error;
  }
}
