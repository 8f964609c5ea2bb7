import assert from "node:assert/strict";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { suggestMetricNames } from "../../lib/records/import_suggest_names.ts";
import { type Workbook, workbookOf } from "../../lib/records/import_workbook.ts";

async function workbook(...sheets: readonly (readonly string[])[]): Promise<Workbook> {
  const read = await Promise.all(
    sheets.map((lines) => workbookOf("log.csv", new TextEncoder().encode(lines.join("\n")))),
  );
  return {
    ...read[0],
    sheets: read.flatMap((one, i) =>
      one.sheets.map((sheet) => ({ ...sheet, name: `sheet ${i + 1}` }))
    ),
  };
}

type Suggested = {
  readonly bench: { readonly guess: string; readonly size_system: string };
  readonly metrics: readonly { readonly id: string; readonly unit: string }[];
  readonly sheets: readonly {
    readonly sheet?: string;
    readonly columns: readonly Record<string, unknown>[];
  }[];
};
const suggested = async (...sheets: readonly (readonly string[])[]) =>
  importSuggest(await workbook(...sheets)) as unknown as Suggested;

const TABLE = ["Shoe,Date,By,Mass (g)", "Alder,2026-03-14,mb,310", "Birch,2026-03-14,mb,320"];

Deno.test("a sheet of loose notes beside one table is no table, and alone it is looked at all the same", async () => {
  const notes = ["Calibrate the scale", "Ask Jo"];
  assert.equal((await suggested(TABLE, notes)).sheets.length, 1);
  assert.equal((await suggested(notes)).sheets.length, 1);
  assert.equal((await suggested(notes, notes)).sheets.length >= 1, true);
});

Deno.test("a long sheet's metrics are those that its rows name, whether the unit stands before or behind", async () => {
  const rows = [["Sole wear", "mm", "2.1"], ["Sole wear", "mm", "2.3"], ["Mass", "g", "310"]];
  for (const order of [[0, 1, 2], [1, 0, 2], [2, 1, 0]]) {
    const header = ["Test", "Unit", "Reading"];
    const { metrics } = await suggested([
      `Shoe,Date,${order.map((c) => header[c]).join(",")}`,
      ...rows.map((row) => `Alder,2026-03-14,${order.map((c) => row[c]).join(",")}`),
    ]);
    assert.deepEqual(metrics.map(({ id, unit }) => [id, unit]), [["sole-wear", "mm"], [
      "mass",
      "g",
    ]]);
  }
});

Deno.test("suggestMetricNames() leaves out what stands in brackets, unless nothing else is there", () => {
  assert.deepEqual(suggestMetricNames(["Grip (wet)", "Grip", "Mass [g]", "(dry)", "!"]), [
    { id: "grip", spelt: ["Grip (wet)", "Grip"] },
    { id: "mass", spelt: ["Mass [g]"] },
    { id: "dry", spelt: ["(dry)"] },
  ]);
});

Deno.test("the settings' guess says what the file tells and what nothing tells", async () => {
  assert.match((await suggested(TABLE)).bench.guess, /^Nothing in the file says/);
});

Deno.test("a scale of ratings is suggested for a file that holds ratings, and for no other", async () => {
  const scale = async (lines: readonly string[]) =>
    ((await suggested(lines)).bench as { readonly rating?: unknown }).rating;
  assert.equal(await scale(TABLE), undefined);
  const rated = ["Who,Shoe,Date,Grip /5", "jo,Alder,2026-03-20,4", "sam,Alder,2026-03-20,3"];
  assert.deepEqual(await scale(rated), { min: 0, max: 5, step: 0.5 });
});

Deno.test("of two rows of headers the lower says what a column holds, the upper what it belongs to", async () => {
  const sheet = (await workbook([
    "Shoe,Session,,Mass",
    ",Date,By,g",
    "Alder,2026-03-14,mb,310",
    "Birch,2026-03-14,mb,320",
  ])).sheets[0];
  const merged = { ...sheet, merges: [{ top: 0, left: 1, bottom: 0, right: 2 }] };
  const { sheets: [{ columns }] } = importSuggest({
    ...await workbook(TABLE),
    sheets: [merged],
  }) as unknown as Suggested;
  assert.deepEqual(columns.slice(0, 3).map(({ header, holds, field }) => [header, holds, field]), [
    ["Shoe", "shoe", undefined],
    ["Session / Date", "session detail", "date"],
    ["Session / By", "session detail", "operator"],
  ]);
});

Deno.test("a number in brackets says which trial a column is, and the unit before it is no part of the metric's name", async () => {
  const { metrics, sheets: [{ columns }] } = await suggested([
    "Shoe,Date,By,Heel drop mm (1),Heel drop mm (2),Wt g,Slip (deg)",
    "Alder,2026-03-14,mb,41,42.5,331,38.2",
    "Birch,2026-03-14,mb,39,40,342,36.4",
  ]);
  assert.deepEqual(metrics.map(({ id, unit }) => [id, unit]), [
    ["heel-drop", "mm"],
    ["wt", "g"],
    ["slip", "deg"],
  ]);
  assert.deepEqual(
    columns.slice(3).map(({ metric, unit, trial }) => [metric, unit, trial]),
    [["heel-drop", "mm", 1], ["heel-drop", "mm", 2], ["wt", "g", 1], ["slip", "deg", 1]],
  );
});

Deno.test("a header of EU alone is a size, and hours played are of every reading of the row", async () => {
  const { sheets: [{ columns }] } = await suggested([
    "Shoe,Date,By,EU,Hours played,Mass (g)",
    "Alder,2026-03-14,mb,42.5,0,310",
    "Alder,2026-05-14,mb,42.5,20,309",
  ]);
  assert.deepEqual(columns.slice(3, 5).map(({ holds, field }) => [holds, field]), [
    ["shoe detail", "size"],
    ["trial detail", "hours_played"],
  ]);
});

Deno.test("hours beside ratings are how long was played, in hours", async () => {
  const { sheets: [{ columns }] } = await suggested([
    "Shoe,Who,Grip /10,Speed /10,Hours",
    "Alder,T1,7.5,8,2",
    "Birch,T2,6,7,1.5",
  ]);
  const { holds, field, unit } = columns[4];
  assert.deepEqual([holds, field, unit], ["impression detail", "minutes", "h"]);
});

Deno.test("a shoe whose maker and model have columns of their own is spelt as it was first", async () => {
  const { shoes } = await suggested([
    "Maker,Model,Date,By,Mass (g)",
    "Tarnwick,Alder 2,2026-03-14,mb,310",
    "Tarnwick,alder 2,2026-05-14,mb,309",
    "Ormley,Birch,2026-03-14,mb,342",
  ]) as unknown as { readonly shoes: readonly { readonly model: string }[] };
  assert.deepEqual(shoes.map(({ model }) => model), ["Alder 2", "Birch"]);
});

Deno.test("figures without day or operator are said to be taken as published on the day the file was saved, others are not", async () => {
  const guess = async (lines: readonly string[]) => {
    const mapping = importSuggest({ ...await workbook(lines), saved: "2026-05-02" });
    return (mapping as unknown as { sheets: { guess: string; fixed?: object }[] }).sheets[0];
  };
  const published = await guess([
    "Shoe,Price,Mass (g),Heel (cm)",
    "Alder,£120,310,29",
    "Birch,£95,320,31",
    "Cedar,£110,330,30",
  ]);
  assert.deepEqual(published.fixed, { published: "2026-05-02" });
  assert.match(published.guess, /taken as published on 2026-05-02, when the file was saved/);
  assert.doesNotMatch((await guess(TABLE)).guess, /published/);
});
