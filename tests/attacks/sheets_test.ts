/** Spreadsheets made to fill memory, to take for ever or to change what objects are. */
import assert from "node:assert/strict";
import { strToU8, unzipSync, zipSync } from "fflate";
import { importSuggest, mappingText } from "../../lib/records/import_suggest.ts";
import { type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";
import { inventedWorkbook } from "../records/invented_workbook.ts";

const parts = () => unzipSync(inventedWorkbook({ S: [["Shoe", "Mass"], ["alder", 1]] }));

/** The first sheet of an otherwise sound file, as this text. */
const withSheet = (bytes: Uint8Array) =>
  zipSync({ ...parts(), "xl/worksheets/sheet1.xml": bytes }, { level: 6 });

Deno.test("a small .xlsx that unpacks to 300 MB is refused before it is unpacked", async () => {
  const swollen = withSheet(new Uint8Array(300_000_000).fill(32));
  assert.ok(swollen.length < 1_000_000);
  const before = Deno.memoryUsage().rss;
  await assert.rejects(
    workbookOf("season.xlsx", swollen),
    /season\.xlsx can't be read as a spreadsheet \(unpacked it is larger than 200 MB\)/,
  );
  assert.ok(Deno.memoryUsage().rss - before < 50e6);
});

Deno.test("entities of a sheet stand for nothing: none swells, none reads a file", async () => {
  const { sheets } = await workbookOf(
    "a.xlsx",
    withSheet(strToU8(
      `<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY x SYSTEM "file:///etc/hostname">]>` +
        `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` +
        `<row r="1"><c r="A1" t="inlineStr"><is><t>x&b;&x;</t></is></c></row></sheetData></worksheet>`,
    )),
  );
  const [[cell]] = sheets[0].rows;
  assert.ok(cell?.kind === "text" && /^x(&b;)?(&x;)?$/.test(cell.text), JSON.stringify(cell));
});

Deno.test("a table of 200,000 columns or of three million rows is refused in a sentence", async () => {
  const wide = strToU8(`Shoe${",m".repeat(200_000)}\na${",1".repeat(200_000)}\n`);
  await assert.rejects(
    workbookOf("wide.csv", wide),
    /'wide' has 200001 columns, expected at most 2000/,
  );
  const long = strToU8("Shoe,Mass\n" + "a,1\n".repeat(2_000_000));
  await assert.rejects(workbookOf("long.csv", long), /'long' has more than 3 million cells/);
});

/** Texts on which a pattern that looks for units, notes or scales would try every pair of places. */
const SLOW = ["1", " ", "\t", "(", "[", "1 ", "-", "1,1", "1/", "°", "1e", "£", "<", "EU ", "½"]
  .map((sign) => sign.repeat(30_000 / sign.length) + "x");

Deno.test("cells of 30,000 characters made for slow patterns are not taken, and cost no time", async () => {
  const suggested = (workbook: Workbook) => mappingText(importSuggest(workbook)).length;
  const began = performance.now();
  for (const text of SLOW) {
    const rows = [["Shoe", "Mass", "Note", text], ["a", 1, text, text], ["c 1", text, text, "y"]];
    const workbook = await workbookOf("a.xlsx", inventedWorkbook({ S: rows }));
    assert.ok(suggested(workbook) > 200);
    const cell = workbook.sheets[0].rows[1][2];
    assert.ok(cell?.kind === "trouble", text.slice(0, 3));
    assert.equal(cell.why, "a text of 30001 characters; at most 2000 are read, so shorten it");
    await workbookOf(
      "a.csv",
      strToU8(`${rows.map((row) => row.map((one) => `"${one}"`).join(";")).join("\n")}`),
    );
  }
  // A minute and a half before there was a bound; the test machine may be slow, but not that slow.
  assert.ok(performance.now() - began < 30_000);
});

Deno.test("names that every object has are names like others in a workbook", async () => {
  const names = ["__proto__", "constructor", "toString", "hasOwnProperty"];
  const workbook = await workbookOf(
    "a.xlsx",
    inventedWorkbook({
      ["__proto__"]: [["Shoe", ...names], ...names.map((name) => [name, 1, 2, 3, 4])],
    }),
  );
  const mapping = importSuggest(workbook);
  const sheets = mapping.sheets as readonly { readonly sheet: string }[];
  assert.deepEqual(sheets.map(({ sheet }) => sheet), ["__proto__"]);
  assert.deepEqual(Object.keys(Object.prototype), []);
  assert.equal(({} as Record<string, unknown>).guess, undefined);
});
