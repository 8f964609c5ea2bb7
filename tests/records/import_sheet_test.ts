import assert from "node:assert/strict";
import { join } from "node:path";
import fc from "fast-check";
import { importBench } from "../../lib/records/import_bench.ts";
import { type ImportMapping, importMapping } from "../../lib/records/import_mapping.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { importWorkbook, type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Problem } from "../../lib/records/types.ts";

const sheets = new URL("../references/sheets/", import.meta.url);
const wide = () => importWorkbook(new URL("wide.xlsx", sheets).pathname);
const later = () => importWorkbook(new URL("wide-later.xlsx", sheets).pathname);
const wideMapping = mappingOf(JSON.parse(Deno.readTextFileSync(new URL("wide.json", sheets))));

function mappingOf(value: unknown): ImportMapping {
  const problems: Problem[] = [];
  const mapping = importMapping("m.json", JSON.stringify(value), (one) => problems.push(one));
  assert.deepEqual(problems, []);
  return mapping!;
}

const csv = (text: string): Promise<Workbook> =>
  workbookOf("season.csv", new TextEncoder().encode(text));

/** A mapping for a sheet of one shoe column, a date and columns that hold these things. */
function small(columns: Record<string, unknown>[], more: Record<string, unknown> = {}) {
  return mappingOf({
    kind: "import-mapping",
    schema: 1,
    decimal: null,
    dates: null,
    unlisted_shoes: "take",
    metrics: [{ id: "mass", unit: "g" }, { id: "sole", unit: "Cel" }],
    ...more,
    sheets: [{
      header_rows: [1],
      fixed: { operator: "op1", session_date: "2026-03-14" },
      columns: [{ header: "Shoe", holds: "shoe" }, ...columns],
    }],
  });
}
const MASS = { header: "Mass", holds: "trial", metric: "mass", unit: "g" };

type Listed = { readonly cell: string; readonly kind: string; readonly reason: string };
const at = (cells: readonly Listed[], cell: string) => cells.find((one) => one.cell === cell);

Deno.test("importSheet() takes 45 of the wide sheet's 71 filled cells, and lists the ten that are no header", async () => {
  const { counts, not_taken, tables } = importSheet(await wide(), wideMapping);
  assert.deepEqual(counts, { read: 71, headers: 16, taken: 45, not_taken: 10 });
  assert.deepEqual(
    not_taken.map(({ sheet, cell, kind }) => `${sheet} ${cell} ${kind}`),
    [
      "Bench 2026 A1 left out",
      "Bench 2026 H4 left out",
      "Bench 2026 J4 left out",
      "Bench 2026 D5 conflict",
      "Bench 2026 G5 conflict",
      "Bench 2026 E7 unreadable",
      "Bench 2026 H7 left out",
      "Bench 2026 A9 left out",
      "Bench 2026 D9 left out",
      "Court E4 unreadable",
    ],
  );
  const trials = tables["trials.csv"]!.rows;
  assert.equal(trials.length, 15);
  const wet = trials.find((row) => row.value === 41.5)!;
  assert.equal(wet.note, "wet");
  assert.equal(trials.find((row) => row.value === 52.5)!.note, "laces loose"); // a comment
});

Deno.test("importBench() makes a folder that loads, and changes no byte of it when run again", async () => {
  const dir = await Deno.makeTempDir();
  const first = await importBench(await wide(), wideMapping, dir);
  assert.ok(first.written.includes("trials.csv"));
  const bench = await loadBench(dir);
  assert.equal(bench.trials.length, 15);
  assert.equal(bench.shoes.length, 3);
  assert.equal(bench.sessions[0].temperature_c!.toFixed(2), "21.11"); // 70 °F, merged date
  assert.deepEqual(bench.sessions.map(({ date }) => date), [
    "2026-03-14",
    "2026-04-02",
    "2026-04-03",
  ]);
  const again = await importBench(await wide(), wideMapping, dir);
  assert.deepEqual(again.written, []);
  assert.equal((await loadBench(dir)).trials.length, 15);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("importBench() adds a later export's new trials and shows a changed one with both values, the first kept", async () => {
  const dir = await Deno.makeTempDir();
  await importBench(await wide(), wideMapping, dir);
  const { conflicts, tables, not_taken } = await importBench(await later(), wideMapping, dir);
  const changed = conflicts.find(({ key }) => key.includes("birch"))!;
  assert.equal(changed.kept, "51.5 cm");
  assert.equal(changed.kept_at, "trials.csv line 7");
  assert.equal(changed.given, "50.5 cm");
  assert.equal(changed.given_at, "'Bench 2026' E6");
  assert.equal(at(not_taken, "E6")!.kind, "conflict");
  assert.equal(tables["trials.csv"]!.added, 4); // the new session of the birch
  const bench = await loadBench(dir);
  assert.equal(bench.trials.length, 19);
  assert.equal(bench.trials[5].value, 51.5);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("importBench() keeps what was written by hand: an exclusion stays, a note in a blank is not lost", async () => {
  const dir = await Deno.makeTempDir();
  const sheet = await csv("Shoe,Mass\nAlder,300\nBirch,310\n");
  await importBench(sheet, small([MASS]), dir);
  const path = join(dir, "trials.csv");
  const text = await Deno.readTextFile(path);
  await Deno.writeTextFile(path, text.replace("300,g,1,,,", "300,g,1,,dropped,=wet"));
  await importBench(await csv("Shoe,Mass\nAlder,300\nCedar,320\n"), small([MASS]), dir);
  const after = await Deno.readTextFile(path);
  assert.match(after, /alder,mass,1,300,g,1,,dropped,'=wet/);
  assert.equal(after.trim().split("\r\n").length, 4);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("importBench() writes nothing when a standing table has a column that would be lost", async () => {
  const dir = await Deno.makeTempDir();
  await importBench(await csv("Shoe,Mass\nAlder,300\n"), small([MASS]), dir);
  const path = join(dir, "shoes.csv");
  const mine = "shoe_id,maker,model,colour\nalder,T,A,blue\n";
  await Deno.writeTextFile(path, mine);
  const { problems, written } = await importBench(
    await csv("Shoe,Mass\nBirch,1\n"),
    small([MASS]),
    dir,
  );
  assert.deepEqual(written, []);
  assert.equal(problems[0].column, "colour");
  assert.equal(await Deno.readTextFile(path), mine);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("importSheet() reads units from header and cell, and refuses one of another dimension", async () => {
  const mapping = small([MASS, { header: "Sole", holds: "trial", metric: "sole" }]);
  const book = await csv('Shoe;Mass;Sole\r\nA;11.2 oz;159 °F\r\nB;"300,5";31 cm\r\nC;3 N;40\r\n');
  const { tables, not_taken } = importSheet(book, mapping);
  const rows = tables["trials.csv"]!.rows.map(({ value, unit }) => [value, unit]);
  assert.deepEqual(rows, [[11.2, "[oz_av]"], [159, "[degF]"], [300.5, "g"]]);
  assert.match(at(not_taken, "C3")!.reason, /where sole is in Cel/);
  assert.match(at(not_taken, "B4")!.reason, /does not measure/);
  assert.match(at(not_taken, "C4")!.reason, /no unit/);
});

Deno.test("importSheet() refuses 3/4/2026 unless the mapping says the order, and takes 14/3/2026", async () => {
  const columns = [{ header: "Day", holds: "session detail", field: "date" }, MASS];
  const book = await csv("Shoe,Day,Mass\nA,3/4/2026,300\nB,14/3/2026,310\n");
  const unsaid = importSheet(book, small(columns));
  assert.match(at(unsaid.not_taken, "B2")!.reason, /2026-04-03 or 2026-03-04/);
  const dates = (dates: string) =>
    importSheet(book, small(columns, { dates })).tables["sessions.csv"]!.rows.map(({ date }) =>
      date
    );
  assert.deepEqual(dates("day-month-year"), ["2026-04-03", "2026-03-14"]);
  assert.deepEqual(dates("month-day-year"), ["2026-03-04"]); // and never the mapping's fixed date
});

Deno.test("importSheet() names the time of day that it leaves out of a date", async () => {
  const columns = [MASS, { header: "Day", holds: "session detail", field: "date" }];
  const sheet = await csv("Shoe,Mass,Day\nAlder,300,14.3.2026 09:30\nBirch,310,2026-03-15\n");
  const { counts, taken_in_part } = importSheet(sheet, small(columns));
  assert.deepEqual(counts, { read: 9, headers: 3, taken: 6, not_taken: 0 });
  assert.deepEqual(taken_in_part, [{
    sheet: "season",
    cell: "C2",
    content: "14.3.2026 09:30",
    left: "the time of day, 09:30",
  }]);
});

Deno.test("importSheet() takes no trial of a row whose side can't be read", async () => {
  const side = { header: "Foot", holds: "trial detail", field: "side" };
  const { tables, not_taken } = importSheet(
    await csv("Shoe,Foot,Mass\nA,middle,300\nB,L,310\n"),
    small([side, MASS]),
  );
  assert.deepEqual(tables["trials.csv"]!.rows.map(({ side }) => side), ["left"]);
  assert.match(at(not_taken, "C2")!.reason, /row's side could not be read/);
});

Deno.test("importSheet() lists '41.5 (wet)' unless the mapping takes notes, and never guesses a unit from a word", async () => {
  const book = await csv("Shoe,Mass\nA,415 (wet)\nB,415 grm\nC,415*\n");
  const left = importSheet(book, small([MASS]));
  assert.equal(left.counts.not_taken, 3);
  assert.match(at(left.not_taken, "B2")!.reason, /"notes": "take"/);
  const taken = importSheet(book, small([{ ...MASS, notes: "take" }]));
  assert.deepEqual(taken.tables["trials.csv"]!.rows.map(({ value, note }) => [value, note]), [
    [415, "wet"],
    [415, "marked *"],
  ]);
  assert.match(at(taken.not_taken, "B3")!.reason, /known unit/);
});

Deno.test("importSheet() leaves an unlisted shoe out and names the nearest, and joins spellings that are listed", async () => {
  const shoes = [{ shoe_id: "alder", spelt: ["Tarnwick Alder", "TW Alder"] }];
  const book = await csv("Shoe,Mass\ntarnwick  ALDER,300\nTarnwick Aldr,310\n");
  const { tables, not_taken } = importSheet(
    book,
    small([MASS], { shoes, unlisted_shoes: "leave" }),
  );
  assert.deepEqual(tables["shoes.csv"]!.rows.map(({ shoe_id }) => shoe_id), ["alder"]);
  assert.match(at(not_taken, "A3")!.reason, /nearest there is: "tarnwick alder"/);
  assert.equal(at(not_taken, "B3")!.kind, "unreadable");
});

Deno.test("importSheet() reports a header that the sheet lacks with its place in the mapping, and does nothing else", async () => {
  const book = await csv("Shoe,Mass\nA,300\n");
  const mapping = small([{ ...MASS, header: "Mas" }]);
  const { problems, tables } = importSheet(book, mapping);
  assert.equal(problems[0].column, "sheets[0].columns[1].header");
  assert.match(problems[0].fix, /"Mass"/);
  assert.deepEqual(tables, {});
});

Deno.test("importMapping() names the line of a bad value", () => {
  const problems: Problem[] = [];
  const text = '{\n"kind": "import-mapping",\n"schema": 1,\n"decimal": ";",\n"dates": null,\n' +
    '"sheets": [{"header_rows": [1], "columns": [{"header": "A", "holds": "shoe"}]}]\n}';
  assert.equal(importMapping("m.json", text, (one) => problems.push(one)), null);
  assert.equal(problems[0].line, 4);
  assert.equal(problems[0].column, "decimal");
});

Deno.test("importSheet() takes every reading of a 10,000-row .xlsx", async () => {
  const book = await importWorkbook(new URL("ten-thousand.xlsx", sheets).pathname);
  const mapping = mappingOf({
    ...small([]),
    sheets: [{
      header_rows: [1],
      fixed: { operator: "op1" },
      columns: [
        { header: "Shoe", holds: "shoe" },
        { header: "Date", holds: "session detail", field: "date" },
        { header: "Mass (g)", holds: "trial", metric: "mass", unit: "g" },
      ],
    }],
  });
  const { counts, tables } = importSheet(book, mapping);
  assert.deepEqual(counts, { read: 30_003, headers: 3, taken: 30_000, not_taken: 0 });
  assert.equal(tables["trials.csv"]!.rows.length, 10_000);
});

Deno.test("importSuggest() gives a mapping that importMapping() takes, and marks its guesses", async () => {
  const suggested = importSuggest(await wide());
  const mapping = mappingOf(suggested);
  assert.match(JSON.stringify(suggested), /"guess"/);
  const { counts } = importSheet(await wide(), mapping);
  assert.ok(counts.taken >= 30, `${counts.taken} cells taken`);
  assert.deepEqual(mapping.sheets[0].header_rows, [2, 3]);
});

Deno.test("importSheet() accounts for every cell of any table of texts", async () => {
  const cell = fc.oneof(
    fc.constantFrom("", "Alder", "Birch", "41,5 (wet)", "11.2 oz", "n/a", "3/4/2026", "=1+1", "x"),
    fc.string({ maxLength: 8 }),
    fc.double().map(String),
  );
  const table = fc.array(fc.array(cell, { minLength: 5, maxLength: 5 }), { maxLength: 8 });
  const mapping = small([
    MASS,
    { header: "Day", holds: "session detail", field: "date" },
    { header: "Insole", holds: "feature", feature: "insole" },
    { header: "Side", holds: "trial detail", field: "side" },
  ]);
  await fc.assert(
    fc.asyncProperty(table, async (rows) => {
      const quote = (text: string) => `"${text.replaceAll('"', '""')}"`;
      const text = [["Shoe", "Mass", "Day", "Insole", "Side"], ...rows]
        .map((row) => row.map(quote).join(",")).join("\n");
      const { counts, not_taken, problems } = importSheet(await csv(text), mapping);
      assert.deepEqual(problems, []);
      const filled = rows.flat().filter((one) => one.trim() !== "").length;
      assert.equal(counts.read, filled + 5);
      assert.equal(counts.headers + counts.taken + counts.not_taken, counts.read);
      assert.equal(not_taken.length, counts.not_taken);
      for (const { cell, reason } of not_taken) {
        assert.match(cell, /^[A-E]\d+$/);
        assert.notEqual(reason, "");
      }
    }),
    { numRuns: 300, seed: 20260101 },
  );
});

Deno.test("importSuggest() makes up no day, no operator and no tester: the import asks for them", async () => {
  const suggested = importSuggest(
    await csv("Shoe,Mass (g)\nAlder 2,300\nalder II,310\nBirch,290\n"),
  );
  const text = JSON.stringify(suggested);
  assert.match(text, /No column gives operator, session_date: write them in \\"fixed\\"/);
  const { problems } = importSheet(
    await csv("Shoe,Mass (g)\nAlder 2,300\n"),
    mappingOf(suggested),
  );
  assert.deepEqual(problems.map(({ found }) => found), ["trials without a date"]);
  const { shoes } = mappingOf(suggested);
  assert.deepEqual(shoes.map(({ spelt }) => spelt), [["Alder 2", "alder II"], ["Birch"]]);
  assert.ok(shoes.every(({ maker }) => maker === undefined));
});

Deno.test("importSheet() makes two sessions of one day that two people worked, the same ones each time", async () => {
  const columns = [
    MASS,
    { header: "Day", holds: "session detail", field: "date" },
    { header: "By", holds: "session detail", field: "operator" },
  ];
  const text = "Shoe,Mass,Day,By\nAlder,300,2026-03-14,MB\nAlder,302,2026-03-14,J. K.\n";
  const { tables, conflicts } = importSheet(await csv(text), small(columns));
  assert.deepEqual(
    tables["sessions.csv"]!.rows.map(({ session_id, operator }) => [session_id, operator]),
    [["2026-03-14-mb", "MB"], ["2026-03-14-j-k", "J. K."]],
  );
  assert.equal(tables["trials.csv"]!.added, 2);
  assert.deepEqual(conflicts, []);
  const dir = await Deno.makeTempDir();
  await importBench(await csv(text), small(columns), dir);
  assert.deepEqual((await importBench(await csv(text), small(columns), dir)).written, []);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("importSuggest() joins a shoe's spellings, short ones too, and says which order of dates alone fits", async () => {
  const suggested = mappingOf(importSuggest(
    await csv(
      "Shoe,Date,Mass (g)\nTarnwick Alder,03/04/2026,300\nT. Alder,14/04/2026,301\nALDER,5/4/2026,302\n" +
        "Tarnwick Alder 2,6/4/2026,303\nOrmley Alder 2,6/4/2026,304\n",
    ),
  ));
  assert.deepEqual(suggested.shoes.map(({ spelt }) => spelt), [
    ["Tarnwick Alder", "T. Alder", "ALDER"],
    ["Tarnwick Alder 2"],
    ["Ormley Alder 2"], // another maker's
  ]);
  assert.equal(suggested.dates, "day-month-year");
  assert.match(suggested.about!, /14\/04\/2026 can be nothing else/);
  const open = mappingOf(importSuggest(await csv("Shoe,Date,Mass\nAlder,3/4/2026,300\n")));
  assert.equal(open.dates, null);
});

Deno.test("hours played come in from a column, in minutes too, and hours below 0 take no reading", async () => {
  const mapping = small([
    { header: "Hours", holds: "trial detail", field: "hours_played" },
    { header: "Mass", holds: "trial", metric: "mass", trial: "in order", unit: "g" },
  ]);
  const { tables, not_taken } = importSheet(
    await csv("Shoe,Hours,Mass\nAlder,,310\nAlder,20,309\nAlder,90 min,308\nAlder,-1,307"),
    mapping,
  );
  assert.deepEqual(
    tables["trials.csv"]!.rows.map(({ hours_played, value }) => [hours_played, value]),
    [[undefined, 310], [20, 309], [1.5, 308]],
  );
  assert.deepEqual(not_taken.map(({ cell, reason }) => [cell, reason]), [
    ["B5", "outside 0 to 10000 h; correct the cell"],
    ["C5", "the row's hours_played could not be read; see that cell"],
  ]);
});

Deno.test("how long was played goes in as minutes, whatever the column or the cell counts in", async () => {
  const mapping = small([
    { header: "Played", holds: "impression detail", field: "minutes", unit: "h" },
    { header: "Grip", holds: "impression", attribute: "grip", tester: "t1" },
  ], { bench: { name: "b", size_system: "eu", rating: { min: 0, max: 10, step: 1 } } });
  const { tables } = importSheet(
    await csv("Shoe,Played,Grip\nAlder,1.5,7\nBirch,45 min,6\nCedar,,5"),
    mapping,
  );
  assert.deepEqual(
    tables["impressions.csv"]!.rows.map(({ minutes, rating }) => [minutes, rating]),
    [[90, 7], [45, 6], [undefined, 5]],
  );
});
