import assert from "node:assert/strict";
import { join } from "node:path";
import { copyBench, runTask } from "./run_task.ts";

Deno.test("a planned session is written as a sheet, filled, shown, and entered whole", async () => {
  const bench = await copyBench("data-demo");
  const planned = await runTask(
    "retest",
    "--data",
    bench,
    "--sheet",
    "--shoes",
    "orbinel 3,talvec 3",
    "--metrics",
    "mass",
  );
  assert.equal(planned.code, 0, planned.stderr);
  const sheet = join(planned.out, "bench-sheet.csv");
  const [head, ...lines] = (await Deno.readTextFile(sheet)).trim().split("\r\n");
  const reading = head.split(",").indexOf("reading_1");
  const filled = lines.map((line) =>
    line.split(",").map((cell, c) => c === reading ? "340" : cell).join(",")
  );
  const odd = filled.map((line) => line.replace(",340,", ",3400,"));
  await Deno.writeTextFile(sheet, [head, ...odd].join("\n"));
  const call = [
    "enter",
    "--sheet",
    sheet,
    "--data",
    bench,
    "--date",
    "2026-11-20",
    "--operator",
    "mb",
  ];
  const refused = await runTask(...call, "--yes");
  assert.equal(refused.code, 1);
  assert.match(refused.stderr, /3400|Nothing was written/);
  await Deno.writeTextFile(sheet, [head, ...filled].join("\n"));
  const shown = await runTask(...call);
  assert.equal(shown.code, 0, shown.stderr);
  assert.match(
    shown.stdout,
    new RegExp(`Would add ${lines.length} readings in the session 2026-11-20-mb`),
  );
  assert.match(shown.stdout, /Nothing is written yet[^]*--operator mb --yes/);
  const entered = await runTask(...call, "--yes");
  assert.match(entered.stdout, /Wrote sessions\.csv, trials\.csv/, entered.stderr);
  assert.match((await runTask(...call, "--yes")).stdout, /Nothing to add/);
  const inspected = await runTask("inspect", "--data", bench);
  assert.equal(inspected.code, 0, inspected.stdout);
  for (const dir of [bench, planned.out]) await Deno.remove(dir, { recursive: true });
});

Deno.test("a pair that was played in is entered with its hours, and refused where these aren't a number", async () => {
  const bench = await copyBench("data-demo");
  const sheet = join(bench, "filled.csv");
  const head = "shoe,metric,reading_1,hours_played,pair,date,operator";
  const call = ["enter", "--sheet", sheet, "--data", bench];
  await Deno.writeTextFile(sheet, `${head}\norbinel 3,mass,340,a lot,2,2026-11-20,mb\n`);
  const refused = await runTask(...call, "--yes");
  assert.equal(refused.code, 1);
  assert.match(
    refused.stderr + refused.stdout,
    /"a lot", expected hours that the pair was played in/,
  );
  await Deno.writeTextFile(sheet, `${head}\norbinel 3,mass,340,22,2,2026-11-20,mb\n`);
  const entered = await runTask(...call, "--yes");
  assert.equal(entered.code, 0, entered.stderr);
  const trials = (await Deno.readTextFile(join(bench, "trials.csv"))).trim().split("\r\n");
  assert.match(trials.at(-1)!, /,mass,1,340,g,2,,22,/);
  for (const dir of [bench, refused.out, entered.out]) await Deno.remove(dir, { recursive: true });
});

Deno.test("enter without a bench or a sheet says which is missing, and touches no demo", async () => {
  assert.match(
    (await runTask("enter", "--sheet", "x.csv")).stderr,
    /Name the bench folder.*--data/,
  );
  assert.match((await runTask("enter", "--data", "data-demo")).stderr, /Name the filled sheet/);
});
