import assert from "node:assert/strict";
import { join } from "node:path";
import { strToU8 } from "fflate";
import { enterSheet } from "../../lib/records/enter_sheet.ts";
import { enteredRows } from "../../lib/records/entered_rows.ts";
import { workbookOf } from "../../lib/records/import_workbook.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { copyBench } from "../tasks/run_task.ts";

const said = { date: "2026-11-20", operator: "mb" };
const HEAD = "line,part,shoe,metric,unit,reading_1,reading_2,note,shoe_id,metric_id,sheet";

async function enter(dir: string, lines: readonly string[], write: boolean, more = {}) {
  const workbook = await workbookOf("bench-sheet.csv", strToU8(lines.join("\n")));
  const scratch = await Deno.makeTempDir();
  try {
    return await enterSheet(dir, workbook, { said: { ...said, ...more }, scratch, write });
  } finally {
    await Deno.remove(scratch, { recursive: true });
  }
}

async function withBench(body: (dir: string) => Promise<void>): Promise<void> {
  const dir = await copyBench("data-demo");
  try {
    await body(dir);
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

const demo = await loadBench("data-demo");
const mass = demo.metrics.find(({ id }) => id === "mass")!;
const usual = demo.trials.find(({ metric_id, shoe_id }) =>
  metric_id === mass.id && shoe_id === "pavrico-orbinel-3"
)!.value!;

Deno.test("a filled sheet is shown first, added with its numbers on request, and twice changes nothing", async () => {
  await withBench(async (dir) => {
    const before = await Deno.readTextFile(join(dir, "trials.csv"));
    const lines = [
      HEAD,
      `1,visit,orbinel 3,Mass,g,${usual},"${String(usual + 0.5)}",,,mass,ab12cd34`,
    ];
    const shown = await enter(dir, lines, false);
    assert.deepEqual(shown.problems.map(problemInWords), []);
    assert.deepEqual(shown.added.map(({ what }) => what), [
      "pavrico-orbinel-3, mass, reading 1",
      "pavrico-orbinel-3, mass, reading 2",
    ]);
    assert.equal(await Deno.readTextFile(join(dir, "trials.csv")), before);
    const written = await enter(dir, lines, true, { rig: "rig 9", temperature_c: 21 });
    assert.deepEqual(written.written, ["sessions.csv", "trials.csv"]);
    const bench = await loadBench(dir);
    assert.equal(bench.trials.length, demo.trials.length + 2);
    const session = bench.sessions.find(({ session_id }) => session_id === "2026-11-20-mb-rig-9")!;
    assert.deepEqual([session.date, session.operator, session.rig, session.temperature_c], [
      "2026-11-20",
      "mb",
      "rig 9",
      21,
    ]);
    const bytes = await Deno.readTextFile(join(dir, "trials.csv"));
    const again = await enter(dir, lines, true, { rig: "rig 9", temperature_c: 21 });
    assert.deepEqual([again.added, again.again], [[], 2]);
    assert.equal(await Deno.readTextFile(join(dir, "trials.csv")), bytes);
  });
});

Deno.test("a slip corrected in the sheet corrects its own reading, and no reading of another sheet", async () => {
  await withBench(async (dir) => {
    const line = (
      value: number,
      code: string,
    ) => [HEAD, `1,visit,,,g,${value},,,pavrico-orbinel-3,mass,${code}`];
    await enter(dir, line(usual, "aaaa1111"), true);
    const other = await enter(dir, line(usual + 1, "bbbb2222"), true);
    assert.match(other.problems.map(problemInWords).join(), /did not come from this sheet/);
    const own = await enter(dir, line(usual + 1, "aaaa1111"), true);
    assert.deepEqual(own.changed.map(({ from, value }) => [from, value]), [
      [`${usual} g`, `${usual + 1} g`],
    ]);
    const trials = (await loadBench(dir)).trials.filter(({ session_id }) =>
      session_id === "2026-11-20-mb"
    );
    assert.deepEqual(trials.map(({ value }) => value), [usual + 1]);
  });
});

Deno.test("an impossible reading stops the whole sheet, with its place; a far one is only shown", async () => {
  await withBench(async (dir) => {
    const before = await Deno.readTextFile(join(dir, "trials.csv"));
    const lines = [
      HEAD,
      `1,visit,,,g,${usual},,,pavrico-orbinel-3,mass,x`,
      `2,visit,,,g,${usual * 100},,,pavrico-orbinel-2,mass,x`,
    ];
    const { problems, written } = await enter(dir, lines, true);
    assert.match(
      problems.map(problemInWords).join(),
      /bench-sheet\.csv line 3, column "reading 1"/,
    );
    assert.deepEqual(written, []);
    assert.equal(await Deno.readTextFile(join(dir, "trials.csv")), before);
    const far = [HEAD, `1,visit,,,g,${usual + 60},,,pavrico-orbinel-3,mass,x`];
    const { odd, problems: none } = await enter(dir, far, false);
    assert.deepEqual(none, []);
    assert.match(
      odd.join("\n"),
      /pavrico-orbinel-3, mass: .* more than 4 times what visits usually scatter/,
    );
    const [reference] = demo.settings.reference_shoes;
    const own = demo.trials.find(({ metric_id, shoe_id }) =>
      metric_id === "mass" && shoe_id === reference
    )!.value!;
    const off = [HEAD, `1,reference first,,,g,${own + 60},,,${reference},mass,x`];
    assert.match((await enter(dir, off, false)).odd.join("\n"), /The reference .*look at the rig/);
  });
});

Deno.test("a sheet of another bench, a day that is none and a cell that is no number are said with their places", async () => {
  await withBench(async (dir) => {
    const lines = [HEAD, "1,visit,Elsewhere Runner 9,Mass,g,300,,,elsewhere-9,mass,x"];
    const other = (await enter(dir, lines, true)).problems.map(problemInWords).join();
    assert.match(other, /line 2, column "shoe id": found "elsewhere-9".*A sheet of another bench/);
    const text = [HEAD, "1,visit,,,g,about 300,,,pavrico-orbinel-3,mass,x"];
    assert.match((await enter(dir, text, true)).problems.map(problemInWords).join(), /"about 300"/);
    const day = await enter(dir, lines, true, { date: "2026-13-40" });
    assert.match(day.problems.map(problemInWords).join(), /expected a day such as 2026-07-14/);
  });
});

Deno.test("rating cards go in by tester, and a rating outside the scale stops them", async () => {
  await withBench(async (dir) => {
    const head = "tester,order,shoe,grip,comfort,minutes,surface,date,shoe_id,sheet";
    const good = [head, "t1,1,orbinel 3,7,6½,45,hard,2026-11-20,,cafe0001"];
    const { added, problems } = await enter(dir, good, true);
    assert.deepEqual(problems.map(problemInWords), []);
    assert.deepEqual(added.map(({ what, value }) => `${what} ${value}`), [
      "t1 on pavrico-orbinel-3, grip 7",
      "t1 on pavrico-orbinel-3, comfort 6.5",
    ]);
    const bench = await loadBench(dir);
    assert.equal(bench.impressions.length, demo.impressions.length + 2);
    assert.deepEqual(
      bench.impressions.slice(-2).map(({ surface, minutes }) => [surface, minutes]),
      [["hard", 45], ["hard", 45]],
    );
    const bad = [head, "t1,1,orbinel 3,70,6,45,hard,2026-11-21,,cafe0001"];
    assert.match(
      (await enter(dir, bad, true)).problems.map(problemInWords).join(),
      /outside the bench/,
    );
  });
});

Deno.test("of a sheet of two rows with two readings each, of which one is filled, three are blank", async () => {
  const lines = [
    HEAD,
    `1,visit,orbinel 3,Mass,g,${usual},,,,mass,ab12cd34`,
    `2,visit,orbinel 3,Mass,g,,,,,mass,ab12cd34`,
  ];
  const sheet = await workbookOf("bench-sheet.csv", strToU8(lines.join("\n")));
  assert.equal(enteredRows(sheet, demo, said).blank, 3);
  const cards =
    "tester,shoe,date,comfort,speed\nt1,orbinel 3,2026-11-20,7,\nt2,orbinel 3,2026-11-20,,";
  const rated = enteredRows(await workbookOf("cards.csv", strToU8(cards)), demo, said);
  assert.deepEqual([rated.rows.length, rated.blank], [1, 3]);
});

Deno.test("a sheet on which nothing was filled in adds no session", async () => {
  await withBench(async (dir) => {
    const blank = await enter(dir, [HEAD, "1,visit,orbinel 3,Mass,g,,,,,mass,ab12cd34"], true);
    assert.deepEqual([blank.problems.map(problemInWords), blank.added, blank.written], [
      [],
      [],
      [],
    ]);
    assert.equal((await loadBench(dir)).sessions.length, demo.sessions.length);
  });
});
