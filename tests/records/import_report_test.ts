import assert from "node:assert/strict";
import { strToU8 } from "fflate";
import { importBench } from "../../lib/records/import_bench.ts";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { importReport } from "../../lib/records/import_report.ts";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { workbookOf } from "../../lib/records/import_workbook.ts";

/** The report on a sheet of these lines. */
async function reportOn(lines: readonly string[]): Promise<string> {
  const workbook = await workbookOf("log.csv", strToU8(lines.join("\n")));
  const mapping = importMapping("m.json", JSON.stringify(importSuggest(workbook)), () => {});
  const dir = await Deno.makeTempDir();
  try {
    const result = await importBench(workbook, mapping!, dir);
    return importReport(result, { from: "log.csv", mapping: "m.json", notes: [] });
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}
const HEAD = "Shoe,Date,By,Mass (g)";
/** Names that differ by more than a letter or two. */
const shoes = (count: number) =>
  Array.from({ length: count }, (_, s) => {
    const letter = String.fromCharCode(65 + s % 26);
    return `${letter.repeat(4)} ${"stuvwxyz"[Math.floor(s / 26)].repeat(3)},2026-03-14,mb,${
      300 + s
    }`;
  });
const names = (report: string) =>
  report.split("## How shoes' names were read")[1].split("\n## ")[0].split("\n")
    .filter((line) => /^\| [A-Z]{4}/.test(line)).length;

Deno.test("a table of the report shows 200 rows, and says how many more there are only where there are", async () => {
  const all = await reportOn([HEAD, ...shoes(200)]);
  assert.equal(names(all), 200);
  assert.doesNotMatch(all, /more, in import-report\.json/);
  const more = await reportOn([HEAD, ...shoes(203)]);
  assert.equal(names(more), 200);
  assert.match(more, /And 3 more, in import-report\.json\./);
});

Deno.test("a cell's text becomes no bar, link or tag of the report, and a long one is cut", async () => {
  const report = await reportOn([
    HEAD,
    'Alder,2026-03-14,mb,"[a](b) | <b>x</b> `c` *d*"',
    `Birch,2026-03-14,mb,${"w".repeat(300)}`,
    "Cedar,2026-03-14,mb,310",
  ]);
  assert.ok(report.includes("\\[a\\](b) \\| \\<b\\>x\\</b\\> \\`c\\` \\*d\\*"), report);
  assert.match(report, /w{90,159}… \|/);
  assert.ok(!report.includes("w".repeat(160)));
});
