import assert from "node:assert/strict";
import { strToU8, zipSync } from "fflate";
import { importBench } from "../../lib/records/import_bench.ts";
import {
  readPlainNumber,
  readPrice,
  readRating,
  readReading,
  readSize,
} from "../../lib/records/import_cells.ts";
import { type ImportMapping, importMapping } from "../../lib/records/import_mapping.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { type CellContent, type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import type { Problem } from "../../lib/records/types.ts";

async function csv(lines: readonly string[], name = "sheet"): Promise<Workbook> {
  return await workbookOf(`${name}.csv`, strToU8(lines.join("\n")));
}

function mappingOf(value: unknown): ImportMapping {
  const problems: Problem[] = [];
  const mapping = importMapping("m.json", JSON.stringify(value), (one) => problems.push(one));
  assert.deepEqual(problems.map(problemInWords), []);
  return mapping!;
}

type Suggested = {
  bench: { rating?: unknown; size_system: string };
  metrics: { id: string; unit: string; better: string }[];
  shoes: { shoe_id: string; spelt: string[]; maker?: string; edition?: string; guess?: string }[];
  rating_words?: string[];
  sheets: {
    turned?: boolean;
    guess: string;
    table_columns?: string[];
    fixed: Record<string, string>;
    columns: Record<string, unknown>[];
  }[];
};

async function suggested(lines: readonly string[], name?: string): Promise<Suggested> {
  return importSuggest(await csv(lines, name)) as unknown as Suggested;
}

const whats = (columns: readonly Record<string, unknown>[]) =>
  columns.map(({ holds, field, metric, attribute, tester, trial }) =>
    [holds, field, metric, attribute, tester, trial].filter((one) => one !== undefined).join(" ")
  );

/** The smallest .xlsx of one sheet; style 1 is struck through, style 2 a day. */
function xlsx(sheet: string, { name = "Bench", saved = "", state = "" } = {}): Uint8Array {
  const relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
  const parts = "http://schemas.openxmlformats.org/package/2006/relationships";
  const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
  const file = (body: string) => strToU8(`<?xml version="1.0"?>${body}`);
  return zipSync({
    "xl/workbook.xml": file(
      `<workbook xmlns="${main}" xmlns:r="${relations}"><sheets><sheet name="${name}" sheetId="1" ${
        state === "" ? "" : `state="${state}" `
      }r:id="rId1"/></sheets></workbook>`,
    ),
    "xl/_rels/workbook.xml.rels": file(
      `<Relationships xmlns="${parts}"><Relationship Id="rId1" Type="${relations}/worksheet" ` +
        `Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="${relations}/styles" ` +
        `Target="styles.xml"/></Relationships>`,
    ),
    "xl/styles.xml": file(
      `<styleSheet xmlns="${main}"><fonts count="2"><font/><font><strike/></font></fonts>` +
        `<cellXfs count="3"><xf numFmtId="0" fontId="0"/><xf numFmtId="0" fontId="1"/>` +
        `<xf numFmtId="14" fontId="0"/></cellXfs></styleSheet>`,
    ),
    "xl/worksheets/sheet1.xml": file(`<worksheet xmlns="${main}">${sheet}</worksheet>`),
    ...(saved === "" ? {} : {
      "docProps/core.xml": file(
        `<cp:coreProperties xmlns:cp="urn:x" xmlns:dcterms="http://purl.org/dc/terms/">` +
          `<dcterms:modified>${saved}T10:00:00Z</dcterms:modified></cp:coreProperties>`,
      ),
    }),
  });
}

/** Rows of a sheet's XML: texts, numbers, and `~7` for a struck 7. */
function rowsXml(rows: readonly (readonly (string | number | null)[])[], hidden = -1): string {
  const cell = (value: string | number | null, at: string) => {
    if (value === null) return "";
    if (typeof value === "number") return `<c r="${at}"><v>${value}</v></c>`;
    if (value.startsWith("~")) return `<c r="${at}" s="1"><v>${value.slice(1)}</v></c>`;
    if (value.startsWith("day ")) return `<c r="${at}" s="2"><v>${value.slice(4)}</v></c>`;
    return `<c r="${at}" t="inlineStr"><is><t>${value}</t></is></c>`;
  };
  const letter = (c: number) => String.fromCharCode(65 + c);
  return `<sheetData>${
    rows.map((row, r) =>
      `<row r="${r + 1}"${r === hidden ? ' hidden="1"' : ""}>${
        row.map((value, c) => cell(value, `${letter(c)}${r + 1}`)).join("")
      }</row>`
    ).join("")
  }</sheetData>`;
}

Deno.test("27 rows whose shoes are named by brand, shoe and edition together stay 27 shoes", async () => {
  const lines = ["Brand,Shoe,Edition,Date,By,Heel (cm)"];
  for (const maker of ["Tarnwick", "Ormley", "Ostrellan"]) {
    for (const model of ["Alder", "Birch", "Cedar"]) {
      for (const edition of [1, 2, 3]) {
        lines.push(`${maker},${model},${edition},2026-03-14,mb,${30 + edition}`);
      }
    }
  }
  const workbook = await csv(lines);
  const mapping = mappingOf(importSuggest(workbook));
  const { rows, tables, not_taken } = importSheet(workbook, mapping);
  assert.deepEqual(rows.map(({ rows, shoes }) => [rows, shoes]), [[27, 27]]);
  assert.deepEqual(not_taken, []);
  const shoe = tables["shoes.csv"]!.rows[26];
  assert.deepEqual([shoe.maker, shoe.model, shoe.edition], ["Ostrellan", "Cedar", "3"]);
});

Deno.test("rows that give one shoe two makers are refused, and rows that collapse wait for a look", async () => {
  const lines = [
    "Shoe,Brand,Mass (g)",
    "Alder,Tarnwick,300",
    "Alder,Ormley,320",
    "Birch,Ormley,310",
  ];
  const mapping = mappingOf({
    kind: "import-mapping",
    schema: 1,
    decimal: ".",
    dates: null,
    unlisted_shoes: "take",
    metrics: [{ id: "mass", unit: "g" }],
    sheets: [{
      header_rows: [1],
      fixed: { session_date: "2026-03-14", operator: "mb" },
      columns: [
        { header: "Shoe", holds: "shoe" },
        { header: "Brand", holds: "shoe detail", field: "maker" },
        { header: "Mass (g)", holds: "trial", metric: "mass", unit: "g", trial: "in order" },
      ],
    }],
  });
  const { not_taken, tables } = importSheet(await csv(lines), mapping);
  assert.deepEqual(not_taken.map(({ cell }) => cell), ["A3", "B3", "C3"]);
  assert.match(
    not_taken[0].reason,
    /maker "Ormley" here and "Tarnwick" in 'sheet' row 2: two shoes/,
  );
  assert.equal(tables["trials.csv"]!.added, 2);

  const same = await csv(["Shoe,Brand,Mass (g)", "Alder,Tarnwick,300", "Alder,Tarnwick,320"]);
  const dir = await Deno.makeTempDir();
  const waiting = await importBench(same, mapping, dir, { looked: false });
  assert.deepEqual(waiting.written, []);
  assert.match(waiting.to_look_at[0], /2 rows → 1 shoes.*alder \(2 rows\) apart/);
  assert.ok(
    (await importBench(same, mapping, dir, { looked: true })).written.includes("trials.csv"),
  );
  await Deno.remove(dir, { recursive: true });
});

Deno.test("different shoes a letter or two apart are not offered as one", async () => {
  const { shoes } = await suggested([
    "Shoe,Date,By,Mass (g)",
    "Lantern Drift 4,2026-03-14,mb,300",
    "Lantern Swift 4,2026-03-14,mb,310",
  ]);
  assert.deepEqual(shoes.map(({ spelt }) => spelt), [["Lantern Drift 4"], ["Lantern Swift 4"]]);
  assert.match(shoes[0].guess!, /Near to lantern-swift-4: one shoe\?/);
});

Deno.test("a table whose shoes' names end in numbers and recur is not laid on its side", async () => {
  const lines = ["Shoe,Visit,Rebound (cm),Tilt,Mass (g),Note"];
  for (let shoe = 1; shoe <= 8; shoe++) {
    for (let visit = 1; visit <= 5; visit++) lines.push(`Alder ${shoe},${visit},40,30,300,ok`);
  }
  const [sheet] = (await suggested(lines)).sheets;
  assert.equal(sheet.turned, undefined);
  assert.equal(sheet.columns.length, 6);
  assert.equal(sheet.columns[0].holds, "shoe");
});

Deno.test("a ratings sheet becomes impressions, and its attributes stand in the bench afterwards", async () => {
  const dir = await Deno.makeTempDir();
  const readings = await csv(["Shoe,Date,By,Mass (g)", "Alder 1,2026-03-14,mb,300"]);
  await importBench(readings, mappingOf(importSuggest(readings)), dir);
  const lines = [
    "who,shoe,date,grip /10,quick /10,comment",
    "jo,Alder 1,2026-03-20,7½,8/10,felt planted",
    "sam,Alder 1,2026-03-20,6,11,",
  ];
  const workbook = await csv(lines, "friends");
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.deepEqual(whats(mapping.sheets[0].columns), [
    "impression detail tester",
    "shoe",
    "impression detail date",
    "impression grip",
    "impression quick",
    "impression detail note",
  ]);
  const { not_taken } = await importBench(workbook, mappingOf(mapping), dir);
  assert.deepEqual(not_taken.map(({ cell, reason }) => [cell, reason.slice(0, 32)]), [
    ["E3", "outside the bench's scale, 0 to "],
  ]);
  const bench = await loadBench(dir);
  assert.deepEqual(bench.settings.attributes.map(({ id }) => id), ["grip", "quick"]);
  assert.deepEqual(
    bench.impressions.map(({ tester, attribute, rating }) => `${tester} ${attribute} ${rating}`),
    ["jo grip 7.5", "jo quick 8", "sam grip 6"],
  );
  await Deno.remove(dir, { recursive: true });
});

Deno.test("where a bench lists its testers, one who is new among the ratings is added to them, and no operator is", async () => {
  const dir = await Deno.makeTempDir();
  const readings = await csv(["Shoe,Date,By,Mass (g)", "Alder 1,2026-03-14,mb,300"]);
  await importBench(readings, mappingOf(importSuggest(readings)), dir);
  const ratings = async (lines: readonly string[]) => {
    const workbook = await csv(["who,shoe,date,grip /10", ...lines], "friends");
    await importBench(workbook, mappingOf(importSuggest(workbook)), dir);
  };
  await ratings(["jo,Alder 1,2026-03-20,7"]);
  await assert.rejects(Deno.stat(`${dir}/testers.csv`), Deno.errors.NotFound);
  await Deno.writeTextFile(`${dir}/testers.csv`, "tester\njo\n");
  await ratings([
    "jo,Alder 1,2026-03-20,7",
    "sam,Alder 1,2026-03-21,6",
    "sam,Alder 1,2026-03-22,5",
  ]);
  const more = await csv(["Shoe,Date,By,Mass (g)", "Alder 1,2026-03-23,ann,301"]);
  await importBench(more, mappingOf(importSuggest(more)), dir);
  const bench = await loadBench(dir);
  assert.deepEqual(bench.testers.map(({ tester }) => tester), ["jo", "sam"]);
  assert.equal(bench.trials.length, 2);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("a bench whose scale of ratings has no end yet takes ratings as they stand, and a scale with both ends refuses those outside", async () => {
  const dir = await Deno.makeTempDir();
  const readings = await csv(["Shoe,Date,By,Mass (g)", "Alder 1,2026-03-14,mb,300"]);
  await importBench(readings, mappingOf(importSuggest(readings)), dir);
  const bench = JSON.parse(await Deno.readTextFile(`${dir}/bench.json`));
  const ratings = await csv(["who,shoe,date,grip /10", "jo,Alder 1,2026-03-20,3"], "friends");
  const mapping = mappingOf(importSuggest(ratings));
  const refused = async (rating: Record<string, number>) => {
    await Deno.writeTextFile(`${dir}/bench.json`, JSON.stringify({ ...bench, rating }));
    const { not_taken } = await importBench(ratings, mapping, dir);
    return not_taken.map(({ reason }) => reason);
  };
  const outside = (await refused({ min: 5, max: 10, step: 0.5 })).filter((one) =>
    /scale/.test(one)
  );
  assert.equal(outside.length, 1);
  assert.match(outside[0], /outside the bench's scale, 5 to 10/);
  assert.deepEqual(await refused({ min: 5, step: 0.5 }), []);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("a second table beside the first is read by its own shoes", async () => {
  const lines = [
    "Shoe,Date,By,Heel (cm),,Shoe,Mass (g)",
    "Alder,2026-03-14,mb,30,,Cedar,330",
    "Birch,2026-03-14,mb,31,,Alder,300",
    "Cedar,2026-03-14,mb,32,,Birch,310",
  ];
  const workbook = await csv(lines);
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.deepEqual(mapping.sheets.map(({ table_columns }) => table_columns), [
    ["A", "D"],
    ["F", "G"],
  ]);
  mapping.sheets[1].fixed = { session_date: "2026-03-14", operator: "mb" };
  const { tables, not_taken } = importSheet(workbook, mappingOf(mapping));
  assert.deepEqual(not_taken, []);
  const masses = tables["trials.csv"]!.rows.filter(({ metric_id }) => metric_id === "mass");
  assert.deepEqual(masses.map(({ shoe_id, value }) => [shoe_id, value]), [
    ["cedar", 330],
    ["alder", 300],
    ["birch", 310],
  ]);
});

Deno.test("behind an empty column names with numbers beside them begin a table of their own, notes do not", async () => {
  const table = (...beside: readonly string[]) => [
    `Shoe,Date,By,Heel (cm),,${beside[0]}`,
    ...["Alder", "Birch", "Cedar"].map((shoe, i) =>
      `${shoe},2026-03-14,mb,3${i},,${beside[i + 1]}`
    ),
  ];
  const places = async (...beside: readonly string[]) =>
    (await suggested(table(...beside))).sheets.map(({ table_columns }) => table_columns);
  const two = [["A", "D"], ["F", "G"]];
  assert.deepEqual(await places("Item,Mass (g)", "Cedar,330", "Alder,300", "Birch,310"), two);
  // Two names and a number are names still; one name and two numbers are not.
  assert.deepEqual(await places("Item,Mass (g)", "Cedar,330", "Alder,300", "7,310"), two);
  assert.deepEqual((await places("Item,Mass (g)", "Cedar,330", "8,300", "7,310")).length, 1);
  assert.deepEqual((await places("Remark,", "windy,", "old paper,", "new paper,")).length, 1);
});

Deno.test("a unit that few cells write is taken for those beside them only where they lie alike", async () => {
  const heat = ["Shoe,Date,By,Heat", "Alder,2026-03-14,mb,62.6", "Birch,2026-03-14,mb,163.4 °F"];
  const [, , , odd] = (await suggested(heat)).sheets[0].columns;
  assert.equal(odd.unit, undefined);
  assert.match(String(odd.guess), /62\.6 lie apart from those in °F/);
  const workbook = await csv(heat);
  const { not_taken } = importSheet(workbook, mappingOf(importSuggest(workbook)));
  assert.deepEqual(not_taken.map(({ cell }) => cell), ["D2"]);
  const heel = ["Shoe,Date,By,Heel", "Alder,2026-03-14,mb,29 cm", "Birch,2026-03-14,mb,31"];
  assert.equal((await suggested(heel)).sheets[0].columns[3].unit, "cm");
});

Deno.test("a struck-through reading is excluded with its comment's sense, and hidden rows are not taken unsaid", async () => {
  const rows = [
    ["Shoe", "Date", "By", "Mass (g)"],
    ["Alder", "day 46095", "mb", "~300"],
    ["Birch", "day 46095", "mb", 310],
    ["Cedar", "day 46095", "mb", 320],
  ];
  const workbook = await workbookOf("b.xlsx", xlsx(rowsXml(rows, 2)));
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.match(mapping.sheets[0].guess, /hidden: say "hidden": "take" or "leave"/);
  const { tables, not_taken } = importSheet(workbook, mappingOf(mapping));
  const trials = tables["trials.csv"]!.rows;
  assert.deepEqual(trials.map(({ shoe_id, excluded }) => [shoe_id, excluded ?? ""]), [
    ["alder", "struck through in the spreadsheet"],
    ["cedar", ""],
  ]);
  assert.deepEqual(not_taken.map(({ cell, kind }) => [cell, kind]), [
    ["A3", "unreadable"],
    ["B3", "unreadable"],
    ["C3", "unreadable"],
    ["D3", "unreadable"],
  ]);
  const taken = { ...mapping, sheets: [{ ...mapping.sheets[0], hidden: "take" }] };
  assert.equal(importSheet(workbook, mappingOf(taken)).tables["trials.csv"]!.added, 3);
  const hidden = await workbookOf("b.xlsx", xlsx(rowsXml(rows), { state: "hidden" }));
  assert.deepEqual(importSheet(hidden, mappingOf(importSuggest(hidden))).tables, {});
});

Deno.test("of columns C to the last one, hidden together, A and B are read and those behind are not taken unsaid", async () => {
  const rows = rowsXml([
    ["Shoe", "Date", "By", "Mass (g)"],
    ["Alder", "day 46095", "mb", 300],
  ]);
  const hidden = `<cols><col min="3" max="16384" hidden="1"/></cols>`;
  const workbook = await workbookOf("b.xlsx", xlsx(hidden + rows));
  const columns = workbook.sheets[0].hidden!.columns;
  assert.deepEqual(
    [columns.has(1), columns.has(2), columns.has(16383), columns.has(16384)],
    [false, true, true, false],
  );
  assert.equal(columns.size, 16384 - 2);
  const shown = await workbookOf(
    "b.xlsx",
    xlsx(`<cols><col min="1" max="4" hidden="0"/></cols>${rows}`),
  );
  assert.equal(shown.sheets[0].hidden!.columns.size, 0);
  const mapping = importSuggest(workbook) as unknown as Suggested;
  const { tables, not_taken } = importSheet(workbook, mappingOf(mapping));
  assert.deepEqual(tables["trials.csv"]?.rows ?? [], []);
  assert.match(not_taken.find(({ cell }) => cell === "D2")!.reason, /its column is hidden/);
});

Deno.test("a cell far outside the table is named and costs neither minutes nor memory", async () => {
  const rows = rowsXml([["Shoe", "Date", "By", "Mass (g)"], ["Alder", "day 46095", "mb", 300]]);
  const far = rows.replace("</row></sheetData>", `<c r="XFD2"><v>1</v></c></row></sheetData>`);
  const last = far.replace(
    "</sheetData>",
    `<row r="1048576"><c r="A1048576"><v>2</v></c></row></sheetData>`,
  );
  const { sheets, notes } = await workbookOf(
    "b.xlsx",
    xlsx(`<dimension ref="A1:XFD1048576"/>${last}`),
  );
  assert.deepEqual([sheets[0].rows.length, sheets[0].rows[1].length], [2, 4]);
  assert.match(notes.join("\n"), /'Bench' XFD2 stands far from the table/);
  assert.match(notes.join("\n"), /'Bench' A1048576 stands far/);
});

Deno.test("a year alone becomes no day of 1905, and is kept as a note where the mapping says so", async () => {
  const rows = [
    ["Shoe", "Released", "Date", "By", "Mass (g)"],
    ["Alder", "day 2023", "day 46095", "mb", 300],
  ];
  const workbook = await workbookOf("b.xlsx", xlsx(rowsXml(rows)));
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.equal(mapping.sheets[0].columns[1].field, "note");
  mapping.sheets[0].columns[1].field = "released";
  const { not_taken, tables } = importSheet(workbook, mappingOf(mapping));
  assert.match(not_taken[0].reason, /the year 2023 alone/);
  assert.equal(tables["shoes.csv"]!.rows[0].released, undefined);
});

Deno.test("readings, sizes, prices and ratings are read as people write them", () => {
  const text = (text: string): CellContent => ({ kind: "text", text });
  const reading = (one: string) => {
    const read = readReading(text(one), { decimal: null, unit: null, notes: "leave" });
    return "why" in read ? read.why : [read.bound ?? "", read.value, read.unit].join(" ").trim();
  };
  assert.equal(reading("140.5F"), "140.5 [degF]");
  assert.equal(reading("57.4C"), "57.4 Cel");
  assert.equal(reading("7½"), "7.5");
  assert.equal(reading("11 3/8 in"), "11.375 [in_i]");
  assert.equal(reading("<1 mm"), "< 1 mm");
  assert.match(reading("3/4"), /number/); // a date, a share or a fraction: nobody can tell
  assert.deepEqual(readSize(text("size 11 US M"), null), { value: 11, system: "us-men" });
  assert.deepEqual(readSize(text("EU 45"), null), { value: 45, system: "eu" });
  assert.deepEqual(readSize(text("size 11 US"), null), { value: 11, system: "us" });
  assert.deepEqual(readPrice(text("£120"), null), { value: 120, currency: "GBP", sign: null });
  assert.deepEqual(readPrice(text("$120"), null), { value: 120, currency: null, sign: "$" });
  assert.deepEqual(readPrice(text("99,- €"), null), { value: 99, currency: "EUR", sign: null });
  assert.deepEqual(readPrice(text("1.99-"), null), readPlainNumber(text("1.99-"), null));
  const rating = (one: string, max: number, words: string[] = []) =>
    readRating(text(one), { decimal: null, notes: "leave", scale: { min: 0, max }, words });
  assert.deepEqual(rating("8/10", 10), { value: 8, unit: null, note: null });
  assert.match((rating("4/5", 10) as { why: string }).why, /out of 5, where.* go to 10/);
  assert.deepEqual(rating("Ok", 10, ["bad", "ok", "great"]), { value: 5, unit: null, note: "Ok" });
});

Deno.test("ratings in words go in by the order that the mapping states", async () => {
  const workbook = await csv([
    "Player,Shoe,Date,Grip",
    "jo,Alder,2026-03-20,great",
    "sam,Alder,2026-03-20,ok",
    "kim,Alder,2026-03-20,bad",
  ]);
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.deepEqual(mapping.rating_words, ["bad", "ok", "great"]);
  const { tables, not_taken } = importSheet(workbook, mappingOf(mapping));
  assert.deepEqual(not_taken, []);
  assert.deepEqual(tables["impressions.csv"]!.rows.map(({ rating }) => rating), [10, 5, 0]);
});

Deno.test("numbered columns are trials of one metric, 'Try' numbers trials, friends and losses are told apart", async () => {
  const numbered = await suggested(
    ["Shoe,Date,By,1,2,3", "Alder,2026-03-14,mb,30,31,32"],
    "Heel drop",
  );
  assert.deepEqual(whats(numbered.sheets[0].columns.slice(3)), [
    "trial heel-drop 1",
    "trial heel-drop 2",
    "trial heel-drop 3",
  ]);
  const tries = await suggested(["Shoe,Date,By,Try,Mass (g)", "Alder,2026-03-14,mb,1,300"]);
  assert.equal(whats(tries.sheets[0].columns)[3], "trial detail trial");
  const others = await suggested([
    "Shoe,Date,By,Ben (comfort),Grip loss",
    "Alder,2026-03-14,mb,7,8",
  ]);
  assert.deepEqual(whats(others.sheets[0].columns.slice(3)), [
    "impression comfort ben",
    "trial grip-loss 1",
  ]);
});

Deno.test("a slip angle is guessed the right way round, and no direction is taken while it is a guess", async () => {
  const workbook = await csv(["Shoe,Date,By,Slip angle (deg)", "Alder,2026-03-14,mb,31"]);
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.equal(mapping.metrics[0].better, "higher");
  const dir = await Deno.makeTempDir();
  const { to_fill_in } = await importBench(workbook, mappingOf(mapping), dir);
  assert.equal((await loadBench(dir)).metrics[0].better, "none");
  assert.ok(to_fill_in.some(({ what }) => /"higher" was only a guess/.test(what)));
  const lacks = (list: typeof to_fill_in) => list.map(({ what }) => what.split(":")[0]);
  for (const lack of ["plausible", "group", "method"]) assert.ok(lacks(to_fill_in).includes(lack));
  const told = {
    plausible: { low: 0, high: 90 },
    group: "traction",
    method: "tilt until it slips",
  };
  const full = {
    ...mapping,
    metrics: mapping.metrics.map((metric) => ({ ...metric, ...told })),
  };
  const other = await Deno.makeTempDir();
  const left = lacks((await importBench(workbook, mappingOf(full), other)).to_fill_in);
  for (const lack of ["plausible", "group", "method"]) assert.ok(!left.includes(lack), lack);
  await Deno.remove(other, { recursive: true });
  await Deno.remove(dir, { recursive: true });
});

Deno.test("which way of a metric is better is asked for where nobody or a guess alone says it, not where a person has", async () => {
  const workbook = await csv(["Shoe,Date,By,Mass (g)", "Alder,2026-03-14,mb,300"]);
  const asked = async (about: Record<string, unknown>) => {
    const mapping = importSuggest(workbook) as unknown as Record<string, unknown>;
    const metric = { id: "mass", unit: "g", ...about };
    const dir = await Deno.makeTempDir();
    const { to_fill_in } = await importBench(
      workbook,
      mappingOf({ ...mapping, metrics: [metric] }),
      dir,
    );
    const [{ better }] = (await loadBench(dir)).metrics;
    await Deno.remove(dir, { recursive: true });
    return [better, to_fill_in.filter(({ what }) => what.startsWith("better")).length];
  };
  assert.deepEqual(await asked({ better: "lower" }), ["lower", 0]);
  assert.deepEqual(await asked({ better: "none" }), ["none", 0]);
  assert.deepEqual(await asked({}), ["none", 1]);
  assert.deepEqual(await asked({ better: "lower", guess: "by its name" }), ["none", 1]);
  assert.deepEqual(await asked({ better: "none", guess: "by its name" }), ["none", 0]);
});

Deno.test("a note that can't be read costs the note, not the row's readings", async () => {
  const rows = [
    ["Shoe", "Date", "By", "Mass (g)", "Note"],
    ["Alder", "day 46095", "mb", 300, "~7"],
  ];
  const workbook = await workbookOf("b.xlsx", xlsx(rowsXml(rows)));
  const { tables, not_taken } = importSheet(workbook, mappingOf(importSuggest(workbook)));
  assert.equal(tables["trials.csv"]!.added, 1);
  assert.deepEqual(not_taken.map(({ cell }) => cell), ["E2"]);
});

Deno.test("a catalogue of published means goes in as one reading a shoe of a day, by nobody, of unknown noise", async () => {
  const rows = [
    ["Shoe", "Size", "Price", "Heel", "Heat", "Width", "Overall score"],
    ["Alder", "EU 43", "£120", "29 cm", "159.3F", 98.2, 81],
    ["Birch", "EU 43", "£95", "31", "-", 101.5, 77],
    ["Cedar", "EU 44", "£110", "30.5", "n/a", 99, 75],
  ];
  const bytes = xlsx(rowsXml(rows), { name: "Clay", saved: "2026-05-02" });
  const workbook = await workbookOf("catalogue.xlsx", bytes);
  const mapping = importSuggest(workbook) as unknown as Suggested;
  assert.deepEqual(mapping.sheets[0].fixed, { surface: "clay", published: "2026-05-02" });
  assert.equal(mapping.bench.size_system, "eu");
  assert.equal(mapping.sheets[0].columns[6].holds, "left out");
  const width = mapping.sheets[0].columns[5];
  assert.equal(width.holds, "trial");
  width.unit = "mm";
  mapping.metrics.find(({ id }) => id === "width")!.unit = "mm";
  const dir = await Deno.makeTempDir();
  const { not_taken } = await importBench(workbook, mappingOf(mapping), dir, { looked: false });
  assert.deepEqual(not_taken.filter(({ kind }) => kind === "unreadable"), []);
  const bench = await loadBench(dir);
  const [session] = bench.sessions;
  assert.deepEqual([session.date, session.operator], ["2026-05-02", "not given"]);
  assert.match(session.note!, /Published figures.*not known/);
  assert.deepEqual(
    bench.shoes.map(({ surface, price, currency, size }) => [surface, price, currency, size]),
    [
      ["clay", 120, "GBP", 43],
      ["clay", 95, "GBP", 43],
      ["clay", 110, "GBP", 44],
    ],
  );
  const heel = bench.trials.filter(({ metric_id }) => metric_id === "heel");
  assert.deepEqual(heel.map(({ value, trial }) => [value, trial]), [[29, 1], [31, 1], [30.5, 1]]);
  await Deno.remove(dir, { recursive: true });
});
