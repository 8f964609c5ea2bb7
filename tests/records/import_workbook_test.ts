import assert from "node:assert/strict";
import { strToU8, unzipSync, zipSync } from "fflate";
import { importWorkbook, workbookOf } from "../../lib/records/import_workbook.ts";

const wide = new URL("../references/sheets/wide.xlsx", import.meta.url).pathname;

/** The wide workbook with the XML of its first sheet changed. */
async function changed(change: (xml: string) => string) {
  const files = unzipSync(await Deno.readFile(wide));
  const path = "xl/worksheets/sheet1.xml";
  const xml = new TextDecoder().decode(files[path]);
  const next = change(xml);
  assert.notEqual(next, xml);
  return await workbookOf("season.xlsx", zipSync({ ...files, [path]: strToU8(next) }));
}

Deno.test("importWorkbook() reads dates, merged blocks, cached formulas, errors and comments of a LibreOffice file", async () => {
  const { sheets } = await importWorkbook(wide);
  assert.deepEqual(sheets.map(({ name }) => name), ["Bench 2026", "Court"]);
  const [{ rows, merges, comments }] = sheets;
  assert.deepEqual(rows[6][1], { kind: "date", date: "2026-04-02", time: null });
  assert.deepEqual(rows[3][7], { kind: "number", value: 48.75, percent: false });
  assert.deepEqual(rows[6][7], {
    kind: "trouble",
    shown: "#DIV/0!",
    why: "the spreadsheet's own error, not a value; correct its formula",
  });
  assert.ok(merges.some(({ top, left, right }) => top === 1 && left === 3 && right === 5));
  assert.deepEqual([...comments], [["F6", "laces loose"]]);
});

Deno.test("workbookOf() says that a formula's value was never stored, rather than reading an empty cell", async () => {
  const { sheets } = await changed((xml) =>
    xml.replace(/(<c r="H4"[^>]*>)(<f[^>]*>.*?<\/f>)<v>.*?<\/v>/, "$1$2")
  );
  const cell = sheets[0].rows[3][7]!;
  assert.equal(cell.kind, "trouble");
  assert.match("why" in cell ? cell.why : "", /value is not stored/);
});

Deno.test("workbookOf() knows a number that is shown as per cent", async () => {
  const files = unzipSync(await Deno.readFile(wide));
  const styles = new TextDecoder().decode(files["xl/styles.xml"]);
  const percent = styles.replace(
    /(<cellXfs[^>]*>\s*<xf numFmtId=")\d+/,
    "$19",
  );
  assert.notEqual(percent, styles);
  const book = await workbookOf(
    "season.xlsx",
    zipSync({ ...files, "xl/styles.xml": strToU8(percent) }),
  );
  assert.deepEqual(book.sheets[0].rows[3][3], { kind: "number", value: 48.5, percent: true });
});

Deno.test("workbookOf() reads a .csv with semicolons, decimal commas, a byte-order mark and CRLF as it stands", async () => {
  const text = "\uFEFFShoe;Heel (cm)\r\nAlder;41,5\r\n";
  const { sheets, notes } = await workbookOf("season.csv", new TextEncoder().encode(text));
  assert.deepEqual(sheets[0].rows[0][0], { kind: "text", text: "Shoe" });
  assert.deepEqual(sheets[0].rows[1][1], { kind: "text", text: "41,5" });
  assert.equal(notes.length, 2);
});

Deno.test("workbookOf() refuses a damaged workbook, one that is no workbook, and bytes that are no text", async () => {
  const good = await Deno.readFile(wide);
  await assert.rejects(workbookOf("a.xlsx", good.slice(0, 4000)), { name: "WorkbookError" });
  await assert.rejects(workbookOf("a.xlsx", strToU8("text")), { name: "WorkbookError" });
  await assert.rejects(workbookOf("a.csv", new Uint8Array([65, 44, 233, 129, 10])), /no text/);
  await assert.rejects(workbookOf("a.ods", new Uint8Array([80, 75, 3, 4])), /save it as .xlsx/);
  await assert.rejects(
    workbookOf("a.xls", new Uint8Array([208, 207, 17, 224])),
    /Save it as .xlsx/,
  );
});

Deno.test("workbookOf() reads a .csv in UTF-16 and in Windows-1252, and says so", async () => {
  const text = "Shoe;Höhe\nAlder é;28,4\n";
  const utf16 = new Uint8Array(2 + 2 * text.length);
  new DataView(utf16.buffer).setUint16(0, 0xfeff, true);
  [...text].forEach((one, i) =>
    new DataView(utf16.buffer).setUint16(2 + 2 * i, one.charCodeAt(0), true)
  );
  const latin = Uint8Array.from(text, (one) => one.charCodeAt(0));
  for (const [bytes, said] of [[utf16, /UTF-16/], [latin, /Windows-1252.*accents/]] as const) {
    const { sheets, notes } = await workbookOf("old.csv", bytes);
    assert.deepEqual(sheets[0].rows[1], [
      { kind: "text", text: "Alder é" },
      { kind: "text", text: "28,4" },
    ]);
    assert.match(notes.join("\n"), said);
    assert.match(notes.join("\n"), /";" between the columns/);
  }
});

Deno.test("workbookOf() reads a text of 2,000 characters whole, and refuses one of 2,001 in words", async () => {
  const cellOf = async (length: number) => {
    const text = `shoe,note\nalder,${"a".repeat(length)}\n`;
    const { sheets } = await workbookOf("season.csv", new TextEncoder().encode(text));
    return sheets[0].rows[1][1];
  };
  assert.deepEqual(await cellOf(2000), { kind: "text", text: "a".repeat(2000) });
  const refused = await cellOf(2001);
  assert.match(refused!.kind === "trouble" ? refused!.why : "", /2001 characters; at most 2000/);
});
