import { join } from "node:path";
import { benchFileTrouble } from "./bench_file.ts";
import { readCsvTable } from "./csv_table.ts";
import type { StandingTable, StandingTables } from "./import_merge.ts";
import type { StandingSettings } from "./import_settings.ts";
import { readJson } from "./json_file.ts";
import { tableSchemas } from "./schemas.ts";
import type { Problem, TableFile } from "./types.ts";
import { fileExists } from "./file_exists.ts";

/** The tables that spreadsheets and bench sheets add to; those that others refer to come first. */
export const ORDER: readonly TableFile[] = [
  "shoes.csv",
  "features.csv",
  "sessions.csv",
  "testers.csv",
  "trials.csv",
  "impressions.csv",
];

/** What does a bench folder hold now, cell by cell, so that rows can be added to it? */
export async function readStanding(dir: string): Promise<{
  tables: StandingTables;
  settings: StandingSettings;
  problems: Problem[];
}> {
  const problems: Problem[] = [];
  const tables: Partial<Record<TableFile, StandingTable>> = {};
  for (const file of ORDER) {
    const path = join(dir, file);
    if (!(await fileExists(path))) continue;
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
    if (!(await fileExists(join(dir, file)))) return null;
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
  if (await fileExists(join(dir, "rules"))) {
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
