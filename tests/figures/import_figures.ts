// What is suggested for the sheets that tests keep, and what comes in by their mappings.
import { join } from "node:path";
import { importBench } from "../../lib/records/import_bench.ts";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";
import { inventedCatalogue, inventedWorkbook } from "../records/invented_workbook.ts";
import { SHAPES } from "../records/mangled_sheets.ts";

const references = new URL("../references/sheets/", import.meta.url);

/** A season as somebody types it who never thought of an import: blocks, units in headers, remarks. */
const SEASON = {
  "Bench 2025": [
    ["Court shoes, spring", null, null, null, null, null, null, null],
    [
      "Maker",
      "Model",
      "Date",
      "Heel drop mm (1)",
      "Heel drop mm (2)",
      "Slip angle / deg",
      "Wt g",
      "OK?",
    ],
    ["Tarnwick", "Alder 2", "03/04/2025", 41, 42.5, 38.2, 331, "yes"],
    ["Tarnwick", "alder 2", "17/04/2025", 40.5, "lost", 37.9, 330, "y"],
    ["Ormley", "Birch", "17/04/2025", "39,5", 40, "<35", 342, "no"],
    ["Ormley", "Birch GTX", "17/04/2025", 38, 39, 36.4, "n/a", ""],
    ["Ostrellan", "Cedar", "24/04/2025", 44, 43, 39.1, 12.1, "yes"],
    ["Mean", null, null, 40.5, 41.1, 37.9, 334, null],
  ],
  "Play": [
    ["shoe", "who", "grip /10", "speed /10", "comfort /10", "hours", "comment"],
    ["Alder 2", "T1", 7.5, 8, 6, 2, "nice"],
    ["Alder 2", "T2", 8, 7, 6.5, 1.5, null],
    ["Birch", "T1", 5, 6, 7, 2, "runs short"],
    ["Cedar", "T2", 9, 7.5, "-", 1, null],
  ],
  "Catalogue": [
    ["Shoe", "EU", "Width", "Price €", "Court", "Torsion bar", "Released"],
    ["Alder 2", 42.5, "regular", 119.9, "indoor", "x", 2024],
    ["Birch", 42, "wide", "99,-", "all court", null, 2023],
    ["Cedar", 43, "narrow", "£ 140", "clay", "x", 2025],
  ],
} as const;

/** Every sheet's suggested mapping, and the tables that come of the mapping that it has. */
export async function importFigures(): Promise<Readonly<Record<string, unknown>>> {
  const kept = (file: string) => Deno.readFile(new URL(file, references));
  const mapped = async (file: string) =>
    JSON.parse(await Deno.readTextFile(new URL(file, references)));
  const sheets: (readonly [file: string, bytes: Uint8Array, mapping: unknown])[] = [
    ["wide.xlsx", await kept("wide.xlsx"), await mapped("wide.json")],
    ["wide-later.xlsx", await kept("wide-later.xlsx"), await mapped("wide.json")],
    ["club-years.xlsx", await kept("club-years.xlsx"), await mapped("club-years.json")],
    ...SHAPES.map(([bytes, mapping], i) => [`shape-${i}.csv`, bytes, mapping] as const),
    ["catalogue.xlsx", inventedCatalogue(), null],
    ["season.xlsx", inventedWorkbook(SEASON), null],
  ];
  const figures: Record<string, unknown> = {};
  for (const [file, bytes, mapping] of sheets) {
    const workbook = await workbookOf(file, bytes);
    const suggested = importSuggest(workbook);
    figures[`${file} suggested`] = suggested;
    figures[`${file} taken in`] = await takenIn(workbook, mapping ?? completed(suggested));
  }
  return figures;
}

/** With what no sheet told: who read, and the days of the sheet of ratings. */
function completed(suggested: Readonly<Record<string, unknown>>): unknown {
  const sheets = suggested.sheets as { readonly sheet?: string; readonly fixed: object }[];
  const told = { operator: "op1", session_date: "2025-05-01", impression_date: "2025-05-01" };
  return {
    ...suggested,
    sheets: sheets.map((sheet) => sheet.sheet === "Play" ? { ...sheet, fixed: told } : sheet),
  };
}

/** What an import says of itself, and every file that it writes, line by line. */
async function takenIn(workbook: Workbook, value: unknown): Promise<unknown> {
  const faults: unknown[] = [];
  const mapping = importMapping("m.json", JSON.stringify(value), (one) => faults.push(one));
  if (mapping === null) return { faults };
  const dir = await Deno.makeTempDir();
  try {
    const { written, ...result } = await importBench(workbook, mapping, dir, { looked: true });
    const files: Record<string, string[]> = {};
    for (const file of written) {
      files[file] = (await Deno.readTextFile(join(dir, file))).split("\n");
    }
    return { ...result, files };
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}
