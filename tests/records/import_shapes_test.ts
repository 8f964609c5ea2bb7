import assert from "node:assert/strict";
import { type ImportMapping, importMapping } from "../../lib/records/import_mapping.ts";
import { mappingHelp } from "../../lib/records/import_mapping_help.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { importSuggest, mappingText } from "../../lib/records/import_suggest.ts";
import { type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import type { Problem } from "../../lib/records/types.ts";

const BASE = { kind: "import-mapping", schema: 1, decimal: ".", dates: "day-month-year" };
const ALDER = { shoe_id: "alder", spelt: ["Tarnwick Alder", "T. Alder"] };
const BIRCH = { shoe_id: "birch", spelt: ["Tarnwick Birch"] };

async function sheetOf(lines: readonly string[]): Promise<Workbook> {
  return await workbookOf("log.csv", new TextEncoder().encode(lines.join("\n")));
}

function mappingOf(value: unknown): ImportMapping {
  const problems: Problem[] = [];
  const mapping = importMapping("m.json", JSON.stringify(value, null, 1), (p) => problems.push(p));
  assert.deepEqual(problems.map(problemInWords), []);
  return mapping!;
}

function problemsOf(value: unknown): string {
  const problems: Problem[] = [];
  importMapping("m.json", JSON.stringify(value, null, 1), (problem) => problems.push(problem));
  return problems.map(problemInWords).join("\n");
}

const LONG = [
  "Date,Shoe,Test,Reading,Unit,Who",
  "12/06/2026,Tarnwick Alder,Sole wear,2.1,mm,M.B.",
  "12/06/2026,T. Alder,sole  wear,2.3,mm,MB",
  "12/06/2026,T. Alder,Hardness (A),61,Shore A,MB",
  "12/06/2026,T. Alder,Springiness,5,mm,MB",
  "12/06/2026,T. Alder,Sole wear,0.22,cm,MB",
  "12/06/2026,T. Alder,Sole wear,2.2,furlong,MB",
];
const LONG_MAPPING = {
  ...BASE,
  metrics: [
    { id: "sole-wear", unit: "mm" },
    { id: "hardness", unit: "shore-a", spelt: ["Hardness (A)"] },
  ],
  shoes: [ALDER],
  operators: [{ name: "mb", spelt: ["M.B."] }],
  sheets: [{
    header_rows: [1],
    columns: [
      { header: "Date", holds: "session detail", field: "date" },
      { header: "Shoe", holds: "shoe" },
      { header: "Test", holds: "trial detail", field: "metric" },
      { header: "Reading", holds: "trial", trial: "in order" },
      { header: "Unit", holds: "trial detail", field: "unit" },
      { header: "Who", holds: "session detail", field: "operator" },
    ],
  }],
};

Deno.test("importSheet() reads a long sheet by the metric and the unit that each row names", async () => {
  const { tables, not_taken, counts, other_names } = importSheet(
    await sheetOf(LONG),
    mappingOf(LONG_MAPPING),
  );
  const rows = tables["trials.csv"]!.rows
    .map(({ metric_id, trial, value, unit }) => [metric_id, trial, value, unit]);
  assert.deepEqual(rows, [
    ["sole-wear", 1, 2.1, "mm"],
    ["sole-wear", 2, 2.3, "mm"],
    ["hardness", 1, 61, "shore-a"],
    ["sole-wear", 3, 0.22, "cm"],
  ]);
  assert.deepEqual(tables["sessions.csv"]!.rows.map(({ session_id }) => session_id), [
    "2026-06-12-mb",
  ]);
  const unreadable = not_taken.filter(({ kind }) => kind === "unreadable");
  assert.deepEqual(unreadable.map(({ cell }) => cell), ["C5", "D5", "D7", "E7"]);
  assert.match(unreadable[0].reason, /no metric of the mapping or the bench; list it in "metrics"/);
  assert.match(unreadable[3].reason, /no unit that is known/);
  assert.equal(counts.headers + counts.taken + counts.not_taken, counts.read);
  assert.deepEqual(other_names.find(({ name }) => name === "M.B."), {
    kind: "operators",
    name: "M.B.",
    taken_as: "mb",
    cells: 1,
  });
});

Deno.test("importSheet() numbers readings in the order of their rows, the same ones when they come again", async () => {
  const mapping = mappingOf(LONG_MAPPING);
  const first = importSheet(await sheetOf(LONG.slice(0, 4)), mapping);
  const standing = Object.fromEntries(
    Object.entries(first.tables).map(([file, { rows }]) => [file, {
      rows: rows.map((row) =>
        Object.fromEntries(Object.entries(row).map(([name, value]) => [name, String(value)]))
      ),
      lines: rows.map((_, i) => i + 2),
    }]),
  );
  const later = [...LONG.slice(0, 4), "12/06/2026,T. Alder,Sole wear,2.3,mm,MB"];
  const { tables, conflicts } = importSheet(await sheetOf(later), mapping, { standing });
  const { stood, added, again } = tables["trials.csv"]!;
  assert.deepEqual([stood, added, again, conflicts.length], [3, 1, 3, 0]);
  assert.equal(tables["trials.csv"]!.rows.at(-1)!.trial, 3);
});

Deno.test("importSheet() gives a reading the next number although the one before it can't be read", async () => {
  const lines = [LONG[0], "12/06/2026,T. Alder,Sole wear,about 2,mm,MB", LONG[1]];
  const { tables } = importSheet(await sheetOf(lines), mappingOf(LONG_MAPPING));
  assert.deepEqual(tables["trials.csv"]!.rows.map(({ trial }) => trial), [2]);
});

Deno.test("importSheet() reads a long sheet of ratings by the attribute, the tester and the day of each row", async () => {
  const workbook = await sheetOf([
    "Shoe,Played,Player,Aspect,Score,Note",
    "Alder,5.6.2026,Jo,Energy return,7,",
    "Alder,5.6.2026,Joanna,Grip,8 (wet court),",
    "Alder,5.6.2026,Mik,grip,,laces tore",
    "Alder,5.6.2026,,Grip,9,",
  ]);
  const mapping = mappingOf({
    ...BASE,
    shoes: [{ shoe_id: "alder", spelt: ["Alder"] }],
    testers: [{ name: "t1", spelt: ["Jo", "Joanna"] }],
    attributes: [{ name: "energy", spelt: ["Energy return"] }],
    sheets: [{
      header_rows: [1],
      columns: [
        { header: "Shoe", holds: "shoe" },
        { header: "Played", holds: "impression detail", field: "date" },
        { header: "Player", holds: "impression detail", field: "tester" },
        { header: "Aspect", holds: "impression detail", field: "attribute" },
        { header: "Score", holds: "impression", notes: "take" },
        { header: "Note", holds: "impression detail", field: "note" },
      ],
    }],
  });
  const { tables, not_taken } = importSheet(workbook, mapping);
  assert.deepEqual(
    tables["impressions.csv"]!.rows.map(({ date, tester, attribute, rating, note }) =>
      [date, tester, attribute, rating, note].join(" ").trim()
    ),
    ["2026-06-05 t1 energy 7", "2026-06-05 t1 grip 8 wet court"],
  );
  assert.deepEqual(
    not_taken.map(({ cell, kind, reason }) => `${cell} ${kind}: ${reason}`),
    [
      "B4 left out: no reading stands in its row",
      "C4 left out: no reading stands in its row",
      "D4 left out: no reading stands in its row",
      "F4 unreadable: no reading stands in its row, so that what it says would be lost",
      "B5 left out: it belongs to a reading that was not taken",
      "D5 left out: it belongs to a reading that was not taken",
      "E5 unreadable: the row names no tester; write who rated",
    ],
  );
});

const TURNED = [
  "Twist rig,,,",
  "Test,Unit,Tarnwick Alder,Tarnwick Birch",
  "Date,,5.6.2026,5.6.2026",
  "Torsion 1,Nm/deg,0.31,0.42",
  "Torsion 2,Nm/deg,0.33,n/a",
  "Mean,Nm/deg,0.32,0.42",
];

Deno.test("importSheet() reads a turned sheet, and names its cells by their own addresses", async () => {
  const trial = (n: number) => ({ row: 3 + n, holds: "trial", metric: "torsion", trial: n });
  const mapping = {
    ...BASE,
    metrics: [{ id: "torsion", unit: "Nm/deg" }],
    shoes: [ALDER, BIRCH],
    sheets: [{
      turned: true,
      header_columns: ["A", "B"],
      last_column: "D",
      fixed: { operator: "mb" },
      columns: [
        { header: "Test / Unit", holds: "shoe" },
        { header: "Date", row: 3, holds: "session detail", field: "date" },
        { ...trial(1), unit: "Nm/deg" },
        { ...trial(2), unit: "Nm/deg" },
      ],
    }],
  };
  const workbook = await sheetOf(TURNED);
  const { tables, not_taken, counts } = importSheet(workbook, mappingOf(mapping));
  const rows = tables["trials.csv"]!.rows
    .map(({ shoe_id, trial, value }) => [shoe_id, trial, value]);
  assert.deepEqual(rows, [
    ["alder", 1, 0.31],
    ["alder", 2, 0.33],
    ["birch", 1, 0.42],
    ["birch", 2, "NA"],
  ]);
  assert.deepEqual(not_taken.map(({ cell, reason }) => [cell, reason]), [
    ["C6", "no entry of the mapping names this row"],
    ["D6", "no entry of the mapping names this row"],
  ]);
  assert.equal(counts.headers + counts.taken + counts.not_taken, counts.read);
  const bad = structuredClone(mapping);
  bad.sheets[0].columns[0].header = "Tests / Unit";
  const [problem] = importSheet(workbook, mappingOf(bad)).problems;
  assert.match(problemInWords(problem), /Write "Test \/ Unit" if that is meant/);
});

Deno.test("importMapping() refuses what belongs to sheets of the other turn, and says what stands in its place", () => {
  const columns = [{ column: "A", holds: "shoe" }];
  const turned = problemsOf({ ...BASE, sheets: [{ turned: true, header_rows: [1], columns }] });
  assert.match(turned, /header_columns in its place, as the sheet is turned/);
  assert.match(turned, /expected a "row" here, as the sheet is turned/);
  const plain = problemsOf({ ...BASE, sheets: [{ header_columns: ["A"], columns }] });
  assert.match(plain, /the rows with the headers, such as \[1\]/);
});

Deno.test("importSheet() leaves a row out that holds but a name, unless a shoe of that name is known", async () => {
  const mapping = mappingOf({
    ...BASE,
    unlisted_shoes: "take",
    metrics: [{ id: "mass", unit: "g" }],
    shoes: [BIRCH],
    sheets: [{
      header_rows: [1],
      fixed: { session_date: "2026-06-05", operator: "mb" },
      columns: [
        { header: "Shoe", holds: "shoe" },
        { header: "Mass", holds: "trial", metric: "mass", unit: "g" },
      ],
    }],
  });
  const lines = ["Shoe,Mass", "Season 2026,", "Alder,331", "Tarnwick Birch,"];
  const { tables, not_taken } = importSheet(await sheetOf(lines), mapping);
  assert.deepEqual(tables["shoes.csv"]!.rows.map(({ shoe_id }) => shoe_id), ["birch", "alder"]);
  assert.deepEqual(not_taken.map(({ cell, kind }) => [cell, kind]), [["A2", "left out"]]);
  assert.match(not_taken[0].reason, /a heading/);
});

Deno.test("importSheet() names a spelling that stands for two operators, and takes nothing", async () => {
  const operators = [{ name: "mb", spelt: ["M"] }, { name: "mk", spelt: ["m"] }];
  const { problems } = importSheet(
    await sheetOf(LONG),
    mappingOf({ ...LONG_MAPPING, operators }),
  );
  assert.match(problems.map(problemInWords).join(), /operators\[1\]\.spelt.*"m", which mb has too/);
});

Deno.test("importSuggest() tells long, turned and rated sheets apart", async () => {
  const suggest = async (lines: readonly string[]) => {
    const { sheets } = importSuggest(await sheetOf(lines)) as unknown as {
      sheets: { turned?: boolean; columns: Record<string, unknown>[] }[];
    };
    return { turned: sheets[0].turned ?? false, columns: sheets[0].columns };
  };
  const long = await suggest(LONG);
  assert.equal(long.turned, false);
  assert.deepEqual(long.columns.map(({ field, holds }) => field ?? holds), [
    "date",
    "shoe",
    "metric",
    "trial",
    "unit",
    "operator",
  ]);
  assert.equal(long.columns[3].trial, "in order");
  const trialsOf = (rows: readonly string[]) =>
    suggest(["Date,Shoe,Mass (g)", ...rows.map((shoe, i) => `2026-03-14,${shoe},${310 + i}`)])
      .then(({ columns }) => columns[2].trial);
  assert.equal(await trialsOf(["Tarnwick Alder", "Tarnwick Alder", "Tarnwick Birch"]), "in order");
  assert.equal(await trialsOf(["Tarnwick Alder", "Tarnwick Birch", "Tarnwick Cedar"]), 1);
  const turned = await suggest(TURNED);
  assert.equal(turned.turned, true);
  assert.deepEqual(
    turned.columns.map(({ holds, metric, trial }) => [holds, metric, trial].filter(Boolean)),
    [
      ["left out"],
      ["shoe"],
      ["session detail"],
      ["trial", "torsion", 1],
      ["trial", "torsion", 2],
      ["left out"],
    ],
  );
  const rated = await suggest(["Shoe,Played,Player,Energy,Comfort", "Alder,5.6.2026,Jo,7,8"]);
  assert.deepEqual(
    rated.columns.map(({ field, attribute, holds }) => field ?? attribute ?? holds),
    [
      "shoe",
      "date",
      "tester",
      "energy",
      "comfort",
    ],
  );
});

Deno.test("a sheet with maker, model and version in columns of their own and a row a trial goes in as suggested", async () => {
  const lines = [
    "Brand;Model;Version;Date;Operator;Heel left (mm);Mass",
    "Tarnwick;Alder;1;14.03.2026;MB;285,5;331",
    "Tarnwick;Alder;1;14.03.2026;MB;284;331",
    "Tarnwick;Alder;2;15.03.2026;MB;301;342",
    "Tarnwick;Alder;2;15.03.2026;MB;302;342,5",
    "Ostrellan;Alder;;15.03.2026;Ines;270;318",
  ];
  const workbook = await sheetOf(lines);
  const mapping = mappingOf(importSuggest(workbook));
  const { tables, not_taken } = importSheet(workbook, mapping);
  assert.deepEqual(not_taken, []);
  assert.deepEqual(
    tables["shoes.csv"]!.rows.map(({ shoe_id, maker, model, edition }) =>
      [shoe_id, maker, model, edition].join(" ").trim()
    ),
    [
      "tarnwick-alder-1 Tarnwick Alder 1",
      "tarnwick-alder-2 Tarnwick Alder 2",
      "ostrellan-alder Ostrellan Alder",
    ],
  );
  const heel = tables["trials.csv"]!.rows.filter(({ metric_id }) => metric_id === "heel");
  assert.deepEqual(
    heel.map(({ session_id, trial, value, side }) => [session_id, trial, value, side].join(" ")),
    [
      "2026-03-14-mb 1 285.5 left",
      "2026-03-14-mb 2 284 left",
      "2026-03-15-mb 1 301 left",
      "2026-03-15-mb 2 302 left",
      "2026-03-15-ines 1 270 left",
    ],
  );
});

Deno.test("mappingHelp explains every key and word that importMapping() takes", () => {
  const words = problemsOf({
    ...BASE,
    decimal: ";",
    nonsense: 1,
    sheets: [{
      header_rows: [1],
      columns: [
        { header: "A", holds: "session detail", field: "?" },
        {
          header: "B",
          holds: "trial detail",
          field: "?",
        },
        { header: "C", holds: "impression detail", field: "?" },
        {
          header: "D",
          holds: "feature",
          feature: "x",
          blank: "?",
        },
      ],
    }],
  });
  const choices = [...words.matchAll(/expected one of ([^.\n]+)/g)]
    .flatMap(([, list]) => list.split(", "));
  assert.ok(choices.length > 15, words);
  for (const choice of choices) assert.ok(mappingHelp.includes(choice), choice);
  const full = mappingOf({ ...LONG_MAPPING, bench: { name: "b" } });
  const keys = [full, full.sheets[0], full.metrics[1], full.shoes[0]].flatMap(Object.keys);
  assert.ok(keys.length > 25);
  for (const key of keys) assert.ok(mappingHelp.includes(key), key);
  for (const holds of ["shoe", "shoe detail", "session", "trial", "impression", "left out"]) {
    assert.ok(mappingHelp.includes(`"${holds}"`), holds);
  }
});

Deno.test("mappingText() is the mapping, one line a column", async () => {
  const mapping = importSuggest(await sheetOf(LONG));
  const text = mappingText(mapping);
  assert.deepEqual(JSON.parse(text), mapping);
  const columns = text.split("\n").filter((line) => line.includes('"holds"'));
  assert.equal(columns.length, 6);
  for (const line of columns) assert.doesNotThrow(() => JSON.parse(line.trim().replace(/,$/, "")));
});
