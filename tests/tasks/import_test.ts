import assert from "node:assert/strict";
import { join } from "node:path";
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
