/**
 * Writes into a folder without end, for tests that kill it. Says one line once it has begun.
 *
 * Run: write_until_killed.ts whole FILE | import FOLDER | hold FOLDER
 */
import { folderLock } from "../../lib/records/folder_lock.ts";
import { importBench } from "../../lib/records/import_bench.ts";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { workbookOf } from "../../lib/records/import_workbook.ts";
import { writeWhole } from "../../lib/records/write_whole.ts";

/**
 * The sizes of what `whole` writes in turn, each of one letter. So large that a write takes longer than
 * a kill: a file that was written in place would be caught half done.
 */
export const sizes = { a: 8_000_000, b: 12_000_000 } as const;

/** A sheet of so many shoes, two readings each. */
export async function importShoes(dir: string, shoes: number): Promise<void> {
  const rows = Array.from({ length: shoes }, (_, i) => `Shoe ${i},${300 + i},${301 + i}`);
  const text = ["Shoe,mass 1,mass 2", ...rows].join("\n");
  const trial = (n: number) => ({ header: `mass ${n}`, holds: "trial", metric: "mass", trial: n });
  const json = JSON.stringify({
    kind: "import-mapping",
    schema: 1,
    decimal: null,
    dates: null,
    unlisted_shoes: "take",
    metrics: [{ id: "mass", unit: "g", plausible: { low: 1, high: 1e6 } }],
    sheets: [{
      header_rows: [1],
      fixed: { session_date: "2026-06-05", operator: "op1" },
      columns: [
        { header: "Shoe", holds: "shoe" },
        ...[1, 2].map((n) => ({ ...trial(n), unit: "g" })),
      ],
    }],
  });
  const mapping = importMapping("m.json", json, () => {})!;
  await importBench(await workbookOf("log.csv", new TextEncoder().encode(text)), mapping, dir);
}

if (import.meta.main) {
  const [what, path, from = "1"] = Deno.args;
  if (what === "hold") {
    await using _lock = await folderLock(path, ".import-lock");
    console.log("begun");
    await new Promise(() => setInterval(() => {}, 1000));
  }
  const pages = Object.entries(sizes)
    .map(([letter, size]) => new Uint8Array(size).fill(letter.charCodeAt(0)));
  for (let i = Number(from); true; i++) {
    if (what === "whole") await writeWhole(path, pages[i % 2]);
    else await importShoes(path, i);
    if (i === Number(from)) console.log("begun");
  }
}
