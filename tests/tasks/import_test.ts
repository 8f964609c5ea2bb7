import assert from "node:assert/strict";
import { join } from "node:path";
import { inventedCatalogue } from "../records/invented_workbook.ts";
import { kit, runTask } from "./run_task.ts";

const sheets = join(kit, "tests", "references", "sheets");
const wide = join(sheets, "wide.xlsx");

Deno.test("deno task import turns a wide workbook into a bench that inspect finds no error in and review runs on", async () => {
  const place = await Deno.makeTempDir();
  const bench = join(place, "bench");
  const mapping = join(sheets, "wide.json");
  const imported = await runTask("import", "--from", wide, "--mapping", mapping, "--out", bench);
  assert.equal(imported.code, 1, imported.stderr); // two conflicts and two cells to look at
  assert.match(imported.stdout, /71 filled cells: 16 headers, 45 taken, 10 not taken/);
  assert.match(imported.stdout, /'Bench 2026' E7 "about 45"/);
  const report = JSON.parse(await Deno.readTextFile(join(bench, "import-report.json")));
  assert.equal(report.not_taken.length, 10);
  assert.match(await Deno.readTextFile(join(bench, "import-report.md")), /16 \+ 45 \+ 10 = 71/);
  const inspected = await runTask("inspect", "--data", bench, "--out", join(place, "out"));
  assert.equal(inspected.code, 0, inspected.stdout);
  const reviewed = await runTask("review", "--data", bench, "--out", join(place, "out"));
  assert.equal(reviewed.code, 0, reviewed.stderr);
  await Deno.remove(place, { recursive: true });
});

Deno.test("deno task import --suggest writes a mapping that imports readings without an edit", async () => {
  const out = await Deno.makeTempDir();
  const suggested = await runTask("import", "--from", wide, "--suggest", "--out", out);
  assert.equal(suggested.code, 0, suggested.stderr);
  const mapping = join(out, "suggested-mapping.json");
  const bench = join(out, "bench");
  const imported = await runTask("import", "--from", wide, "--mapping", mapping, "--out", bench);
  assert.match(imported.stdout, /trials\.csv: \d+ rows added to 0/, imported.stderr);
  assert.match(imported.stdout, /suggested-mapping\.json: \d+ guesses are still marked/);
  const report = JSON.parse(await Deno.readTextFile(join(bench, "import-report.json")));
  assert.deepEqual(Object.keys(report.data), ["wide.xlsx", "suggested-mapping.json"]);
  assert.ok(report.guesses > 10 && report.made_with.deno === Deno.version.deno);
  await Deno.remove(out, { recursive: true });
});

const club = join(sheets, "club-years.xlsx");

Deno.test("a club's workbook of years goes in by its suggested mapping, and into a review by the corrected one", async () => {
  const place = await Deno.makeTempDir();
  const bench = join(place, "bench");
  const suggested = await runTask("import", "--from", club, "--suggest", "--out", bench);
  assert.equal(suggested.code, 0, suggested.stderr);
  const guessed = join(bench, "suggested-mapping.json");
  const first = join(place, "first");
  await runTask("import", "--from", club, "--mapping", guessed, "--out", first);
  const mapping = join(sheets, "club-years.json");
  const imported = await runTask("import", "--from", club, "--mapping", mapping, "--out", bench);
  assert.equal(imported.code, 1, imported.stderr); // two cells hold no number
  const counts = async (dir: string) =>
    JSON.parse(await Deno.readTextFile(join(dir, "import-report.json"))).counts;
  const { read, headers, taken, not_taken } = await counts(bench);
  assert.deepEqual([read, headers + taken + not_taken], [884, 884]);
  assert.deepEqual(await counts(first), { read, headers, taken, not_taken });
  const unread = imported.stdout.match(/^not taken: .*$/gm);
  assert.deepEqual(unread?.map((one) => one.slice(0, 30)), [
    "not taken: 'Bench' L11 \"about ",
    "not taken: 'Friends' E6 \"didn'",
  ]);
  assert.match(imported.stdout, /trials\.csv: 292 rows added to 0/);
  assert.match(imported.stdout, /impressions\.csv: 94 rows added to 0/);
  const reviewed = await runTask("review", "--data", bench, "--out", join(place, "out"));
  assert.equal(reviewed.code, 0, reviewed.stderr);
  assert.match(reviewed.stdout, /leads\s+the\s+table/);
  assert.doesNotMatch(reviewed.stdout, /lacks?\s+a\s+term/); // all 16 have a score
  const again = await runTask("import", "--from", club, "--mapping", mapping, "--out", bench);
  assert.match(again.stdout, /trials\.csv: 0 rows added to 292, 0 filled in, 292 again/);
  const other = await runTask("import", "--from", club, "--mapping", guessed, "--out", bench);
  assert.match(other.stdout, /is not the mapping of the last import into this folder/);
  assert.match(other.stdout, /metrics\.json.*keeps what it says|bench\.json.*keeps what it says/);
  await Deno.remove(place, { recursive: true });
});

Deno.test("deno task import ends with exit code 0 when all that was not taken was left out by the mapping", async () => {
  const place = await Deno.makeTempDir();
  const sheet = join(place, "small.csv");
  await Deno.writeTextFile(sheet, "Shoe,Mass,Mean\nAlder,331,331\n");
  const mapping = join(place, "small.json");
  const columns = [
    { header: "Shoe", holds: "shoe" },
    { header: "Mass", holds: "trial", metric: "mass", unit: "g" },
    { header: "Mean", holds: "left out", because: "computed" },
  ];
  const fixed = { session_date: "2026-06-05", operator: "op1" };
  await Deno.writeTextFile(
    mapping,
    JSON.stringify({
      kind: "import-mapping",
      schema: 1,
      decimal: null,
      dates: null,
      unlisted_shoes: "take",
      metrics: [{ id: "mass", unit: "g" }],
      sheets: [{ header_rows: [1], fixed, columns }],
    }),
  );
  const call = [
    "import",
    "--from",
    sheet,
    "--mapping",
    mapping,
    "--out",
    join(place, "b"),
  ] as const;
  const { code, stdout } = await runTask(...call);
  assert.match(stdout, /6 filled cells: 3 headers, 2 taken, 1 not taken/);
  assert.equal(code, 0, stdout);
  await Deno.remove(place, { recursive: true });
});

Deno.test("deno task import ends with exit code 2 and words on a call that names no file or no spreadsheet", async () => {
  const none = await runTask("import");
  assert.equal(none.code, 2);
  assert.match(none.stderr, /--from/);
  const picture = join(await Deno.makeTempDir(), "season.xlsx");
  await Deno.writeTextFile(picture, "no workbook");
  const wrong = await runTask("import", "--from", picture, "--mapping", join(sheets, "wide.json"));
  assert.equal(wrong.code, 2);
  assert.match(wrong.stderr, /Save it again as \.xlsx/);
});

Deno.test("two imports into one folder at once leave a bench that loads", async () => {
  const out = await Deno.makeTempDir();
  const mapping = join(sheets, "wide.json");
  const call = ["import", "--mapping", mapping, "--out", out] as const;
  await Promise.all([
    runTask(...call, "--from", wide),
    runTask(...call, "--from", join(sheets, "wide-later.xlsx")),
  ]);
  const inspected = await runTask("inspect", "--data", out);
  assert.equal(inspected.code, 0, inspected.stdout);
  const trials = await Deno.readTextFile(join(out, "trials.csv"));
  assert.equal(trials.trim().split("\r\n").length, 1 + 19);
  await Deno.remove(out, { recursive: true });
});

Deno.test("three sheets of 120 shoes' published figures are in with two edits, and no best is made of them", async () => {
  const place = await Deno.makeTempDir();
  const book = join(place, "our catalogue.xlsx");
  await Deno.writeFile(book, inventedCatalogue());
  const suggested = await runTask("import", "--from", book, "--suggest", "--out", place);
  assert.equal(suggested.code, 0, suggested.stderr);
  assert.match(suggested.stdout, /--from "[^"]*our catalogue\.xlsx"/);
  const page = await Deno.readTextFile(join(place, "suggested-mapping.html"));
  assert.match(page, /Hard: 40 rows become 40 shoes/);
  const mapping = JSON.parse(await Deno.readTextFile(join(place, "suggested-mapping.json")));
  // The two edits: the direction of the metric that is asked about is confirmed, and the scale of heat too.
  for (const metric of mapping.metrics) {
    if (metric.id === "heel-rebound" || metric.id === "mass") delete metric.guess;
  }
  const edited = join(place, "mine.json");
  await Deno.writeTextFile(edited, JSON.stringify(mapping));
  const bench = join(place, "bench");
  const imported = await runTask("import", "--from", book, "--mapping", edited, "--out", bench);
  assert.equal(imported.code, 0, imported.stdout);
  assert.match(imported.stdout, /'Hard': 40 rows → 40 shoes/);
  assert.match(imported.stdout, /shoes\.csv: 120 rows added/);
  assert.match(imported.stdout, /trials\.csv: 720 rows added/);
  const inspected = await runTask("inspect", "--data", bench);
  assert.equal(inspected.code, 0, inspected.stdout);
  const answer = await runTask(
    "answer",
    "--data",
    bench,
    "--kind",
    "catalogue",
    "--metrics",
    "heel rebound",
  );
  assert.equal(answer.code, 0, answer.stderr);
  assert.match(answer.stdout, /noise is unknown/);
  assert.doesNotMatch(answer.stdout, /best of|NaN|null/);
  assert.match(
    answer.stderr.replace(/\s+/g, " "),
    /Three readings each of five shoes give you the noise/,
  );
  // What the bench can't answer yet stands where the answer goes, not on the terminal only.
  const name = join(answer.out, "answer-catalogue-heel-rebound");
  const { warnings } = JSON.parse(await Deno.readTextFile(`${name}.json`));
  for (const text of [warnings.join("\n"), await Deno.readTextFile(`${name}.md`)]) {
    assert.match(text, /Three readings each of five shoes give you the noise of a test/);
  }
  const planned = await runTask("retest", "--data", bench, "--minutes", "60", "--sheet");
  assert.match(
    planned.stdout.replace(/\s+/g, " "),
    /A pilot comes first: the noise of heel rebound is unknown/,
  );
  assert.match(await Deno.readTextFile(join(planned.out, "bench-sheet.csv")), /Heel rebound,cm/);
  await Deno.remove(place, { recursive: true });
});
