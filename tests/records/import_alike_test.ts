import assert from "node:assert/strict";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { importSuggest, mappingText } from "../../lib/records/import_suggest.ts";
import { workbookOf } from "../../lib/records/import_workbook.ts";
import type { Problem } from "../../lib/records/types.ts";
import { inventedCatalogue, inventedWorkbook } from "./invented_workbook.ts";

function mappingOf(value: unknown) {
  const problems: Problem[] = [];
  const text = mappingText(value);
  const mapping = importMapping("m.json", text, (problem) => problems.push(problem));
  return { mapping, problems, text };
}

Deno.test("three sheets with the same headers are suggested as one entry that says what differs", async () => {
  const workbook = await workbookOf("catalogue.xlsx", inventedCatalogue());
  const suggested = importSuggest(workbook);
  const [entry, ...others] = suggested.sheets as readonly Record<string, unknown>[];
  assert.deepEqual(others, []);
  assert.equal(entry.sheet, "Hard");
  assert.deepEqual(entry.also, { Clay: { surface: "clay" }, Grass: { surface: "grass" } });

  const { mapping, problems } = mappingOf(suggested);
  assert.deepEqual(problems, []);
  assert.deepEqual(mapping!.sheets.map(({ sheet, fixed }) => [sheet, fixed.surface]), [
    ["Hard", "hard"],
    ["Clay", "clay"],
    ["Grass", "grass"],
  ]);
  const { also, ...head } = entry as { also: Record<string, object>; fixed: object };
  const apart = mappingOf({
    ...suggested,
    sheets: [
      head,
      ...Object.entries(also).map(([sheet, own]) => ({
        ...head,
        sheet,
        fixed: { ...head.fixed, ...own },
      })),
    ],
  });
  const tables = (one: typeof mapping) => importSheet(workbook, one!).tables;
  assert.deepEqual(tables(mapping), tables(apart.mapping));
  assert.equal(tables(mapping)["shoes.csv"]?.rows.length, 120);
});

Deno.test("a fault in an entry for several sheets is placed where it stands in the file", async () => {
  const workbook = await workbookOf("catalogue.xlsx", inventedCatalogue());
  const suggested = importSuggest(workbook);
  const [entry] = suggested.sheets as readonly Record<string, object>[];
  const { mapping, text } = mappingOf({
    ...suggested,
    sheets: [{ ...entry, also: { Clay: {}, Carpet: { surface: "indoor" } } }],
  });
  const { problems } = importSheet(workbook, mapping!, { source: { file: "m.json", text } });
  assert.deepEqual(problems.map(({ column, found }) => [column, found]), [
    ["sheets[0].sheet", '"Carpet"'],
  ]);
  assert.match(text.split("\n")[problems[0].line! - 1], /"sheet": "Hard"/);
  const both = mappingOf({
    ...suggested,
    sheets: [{ ...entry, also: { Clay: { session_date: "2026-05-02" } } }],
  });
  assert.deepEqual(both.problems.map(({ column, expected }) => [column, expected]), [
    ["sheets[0].also.Clay", "session_date or published, one of the two"],
  ]);
});

Deno.test("names that differ in a code of a letter or two are no slips of each other; Drift and Swift are asked about", async () => {
  const shoesOf = async (names: readonly string[]) => {
    const rows = [["Shoe", "Mass (g)"], ...names.map((name, i) => [name, 300 + i])];
    const workbook = await workbookOf("a.xlsx", inventedWorkbook({ S: rows }));
    return (importSuggest(workbook).shoes as readonly { shoe_id: string; guess?: string }[])
      .map(({ guess = "" }) => guess.includes("Near to"));
  };
  assert.deepEqual(await shoesOf(["Tarnwick Alder B 2", "Tarnwick Alder Q 2"]), [false, false]);
  assert.deepEqual(await shoesOf(["Lantern Drift 4", "Lantern Swift 4"]), [true, true]);
});
