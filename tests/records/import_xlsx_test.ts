import assert from "node:assert/strict";
import { strToU8, unzipSync, zipSync } from "fflate";
import { readReading } from "../../lib/records/import_cells.ts";
import { type CellContent, WorkbookError, workbookOf } from "../../lib/records/import_workbook.ts";

const RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships";
const MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";

/** The smallest .xlsx file that holds these cells; style 1 is a day, 2 a time, 3 per cent, 4 inches. */
function xlsx(sheetData: string, { prefix = "" } = {}): Uint8Array {
  const text = (body: string) => strToU8(`<?xml version="1.0"?>${body}`);
  const sheet = `<worksheet xmlns="${MAIN}">${sheetData}</worksheet>`;
  const prefixed = sheet.replaceAll(/<(\/?)(\w)/g, `<$1${prefix}$2`)
    .replace("xmlns=", prefix === "" ? "xmlns=" : `xmlns:${prefix.slice(0, -1)}=`);
  return zipSync({
    "xl/workbook.xml": text(
      `<workbook xmlns="${MAIN}" xmlns:r="${RELATIONS}"><sheets><sheet name="Bench" sheetId="1" ` +
        `r:id="rId1"/></sheets></workbook>`,
    ),
    "xl/_rels/workbook.xml.rels": text(
      `<Relationships xmlns="${PACKAGE}"><Relationship Id="rId1" Type="${RELATIONS}/worksheet" ` +
        `Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="${RELATIONS}/styles" ` +
        `Target="styles.xml"/></Relationships>`,
    ),
    "xl/styles.xml": text(
      `<styleSheet xmlns="${MAIN}"><numFmts count="2"><numFmt numFmtId="164" formatCode="0.0%"/>` +
        `<numFmt numFmtId="165" formatCode="0.0\\ &quot;in&quot;;-0.0"/></numFmts><cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="20"/>` +
        `<xf numFmtId="164"/><xf numFmtId="165"/></cellXfs></styleSheet>`,
    ),
    "xl/worksheets/sheet1.xml": text(prefixed),
  });
}

async function cells(bytes: Uint8Array): Promise<readonly (CellContent | null)[]> {
  return (await workbookOf("season.xlsx", bytes)).sheets[0].rows[0];
}

Deno.test("workbookOf() tells days, times, per cent, failed and uncomputed formulas apart", async () => {
  const [number, day, moment, time, share, failed, open, text] = await cells(xlsx(
    `<sheetData><row r="1"><c r="A1"><v>48.5</v></c><c r="B1" s="1"><v>46095</v></c>` +
      `<c r="C1" s="1"><v>46095.104166666664</v></c><c r="D1" s="2"><v>0.395833333333333</v></c>` +
      `<c r="E1" s="3"><v>0.29</v></c><c r="F1" t="e"><f>1/0</f><v>#DIV/0!</v></c>` +
      `<c r="G1"><f>AVERAGE(A1:A1)</f></c><c r="H1" t="inlineStr"><is><t>41.5 (wet)</t></is></c>` +
      `</row></sheetData>`,
  ));
  assert.deepEqual(number, { kind: "number", value: 48.5, percent: false });
  assert.deepEqual(day, { kind: "date", date: "2026-03-14", time: null });
  assert.deepEqual(moment, { kind: "date", date: "2026-03-14", time: "02:30:00" });
  assert.equal(time?.kind, "trouble"); // 09:30 is no day, though a spreadsheet stores it as one
  assert.match((time as { why: string }).why, /time of day/);
  assert.deepEqual(share, { kind: "number", value: 0.29, percent: true });
  assert.equal(failed?.kind === "trouble" && failed.shown, "#DIV/0!");
  assert.match(open?.kind === "trouble" ? open.why : "", /value is not stored/);
  assert.deepEqual(text, { kind: "text", text: "41.5 (wet)" });
});

Deno.test("readReading() goes by the unit that a number's format shows, not by the mapping's", async () => {
  const [inches] = await cells(
    xlsx(`<sheetData><row r="1"><c r="A1" s="4"><v>11.2</v></c></row></sheetData>`),
  );
  assert.deepEqual(inches, { kind: "number", value: 11.2, percent: false, unit: "[in_i]" });
  const options = { decimal: null, notes: "leave" } as const;
  assert.deepEqual(readReading(inches!, { ...options, unit: "cm" }), {
    value: 11.2,
    unit: "[in_i]",
    note: null,
  });
  const why = readReading(inches!, { ...options, unit: "g" });
  assert.match("why" in why ? why.why : "", /does not measure what the column's unit, g, does/);
});

Deno.test("workbookOf() finds merged blocks and uncomputed formulas under any name prefix", async () => {
  const file = xlsx(
    `<sheetData><row r="1"><c r="A1"><f>1+1</f></c></row></sheetData>` +
      `<mergeCells count="1"><mergeCell ref="A1:C2"/></mergeCells>`,
    { prefix: "x:" },
  );
  const { sheets: [{ merges }] } = await workbookOf("season.xlsx", file);
  assert.deepEqual(merges, [{ top: 0, left: 0, bottom: 1, right: 2 }]);
});

Deno.test("workbookOf() refuses an .xlsx file whose figures were changed by damage", async () => {
  const file = xlsx(`<sheetData><row r="1"><c r="A1"><v>48.5</v></c></row></sheetData>`);
  const stored = await workbookOf("season.xlsx", storedWith(file, "48.5", "48.5"));
  assert.equal(stored.sheets[0].rows[0][0]?.kind, "number");
  await assert.rejects(
    workbookOf("season.xlsx", storedWith(file, "48.5", "48.4")),
    (error) => error instanceof WorkbookError && /sheet1\.xml in it is damaged/.test(error.message),
  );
  await assert.rejects(workbookOf("season.xlsx", file.slice(0, -30)), /it is cut off/);
});

Deno.test("workbookOf() decides the separator of a CSV sheet from all of its first lines", async () => {
  const rows = async (text: string) =>
    (await workbookOf("season.csv", strToU8(text))).sheets[0].rows
      .map((row) => row.map((cell) => cell?.kind === "text" ? cell.text : null));
  assert.deepEqual(await rows("\ufeffShoe;Heel\r\nAlder;48,5\r\nBirch;52,1"), [
    ["Shoe", "Heel"],
    ["Alder", "48,5"],
    ["Birch", "52,1"],
  ]);
  assert.deepEqual(await rows("Shoe\tHeel\nAlder\t48.5"), [["Shoe", "Heel"], ["Alder", "48.5"]]);
  assert.deepEqual(await rows("A title; with a mark\nShoe,Heel,Mass\nAlder,48.5,300\nB,1,2"), [
    ["A title; with a mark"],
    ["Shoe", "Heel", "Mass"],
    ["Alder", "48.5", "300"],
    ["B", "1", "2"],
  ]);
});

/** The same archive with its contents stored plainly, one byte sequence in them replaced. */
function storedWith(file: Uint8Array, from: string, to: string): Uint8Array {
  const stored = zipSync(unzipSync(file), { level: 0 });
  const [before, after] = [strToU8(from), strToU8(to)];
  const at = stored.findIndex((_, i) => before.every((byte, j) => stored[i + j] === byte));
  assert.ok(at > 0);
  stored.set(after, at);
  return stored;
}
