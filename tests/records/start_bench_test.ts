import assert from "node:assert/strict";
import { columnAbout } from "../../lib/records/cells.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { copyBench } from "../tasks/run_task.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { tableSchemas } from "../../lib/records/schemas.ts";
import { dataDictionary, startBench } from "../../lib/records/start_bench.ts";

Deno.test("startBench() makes a bench that loads, and names the example rows that are left", async () => {
  const dir = await Deno.makeTempDir();
  const written = await startBench(`${dir}/new`);
  const bench = await loadBench(`${dir}/new`);
  assert.deepEqual(bench.warnings.map(({ file, found }) => `${file}: ${found}`), [
    'shoes.csv: the example row "example-shoe"',
    'sessions.csv: the example row "example-session"',
  ]);
  assert.deepEqual([bench.trials.length, bench.impressions.length, bench.rules.length], [1, 1, 1]);
  for (const file of written) assert.ok((await Deno.stat(`${dir}/new/${file}`)).size > 0);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("a new folder whose example rows are deleted as told has no error, and its proposal has none", async () => {
  const dir = await Deno.makeTempDir();
  await startBench(dir);
  for await (const { name } of Deno.readDir(dir)) {
    if (!name.endsWith(".csv")) continue;
    const [header] = (await Deno.readTextFile(`${dir}/${name}`)).split("\r\n");
    await Deno.writeTextFile(`${dir}/${name}`, header + "\r\n");
  }
  const template = `${dir}/proposals/my-proposal.json.template`;
  await Deno.copyFile(template, template.replace(".template", ""));
  const { problems, counts } = await inspectBench(dir);
  assert.deepEqual(problems.filter(({ severity }) => severity === "error"), []);
  assert.equal(counts["proposals"].kept, 1);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("testers.csv and features.csv with a header only are empty tables, not errors for every row", async () => {
  const dir = await copyBench("data-demo");
  for (const name of ["testers.csv", "features.csv"]) {
    const [header] = (await Deno.readTextFile(`${dir}/${name}`)).split(/\r?\n/);
    await Deno.writeTextFile(`${dir}/${name}`, header + "\r\n");
  }
  const { problems } = await inspectBench(dir);
  assert.deepEqual(problems.filter(({ severity }) => severity === "error"), []);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("startBench() overwrites nothing, and then writes nothing", async () => {
  const dir = await Deno.makeTempDir();
  await Deno.writeTextFile(`${dir}/trials.csv`, "mine");
  await assert.rejects(startBench(dir), /trials\.csv is there already, and nothing is overwritten/);
  assert.deepEqual([...Deno.readDirSync(dir)].map(({ name }) => name), ["trials.csv"]);
  assert.equal(await Deno.readTextFile(`${dir}/trials.csv`), "mine");
  await Deno.remove(dir, { recursive: true });
});

Deno.test("dataDictionary() explains every column of every table", () => {
  const text = dataDictionary();
  for (const [file, schema] of Object.entries(tableSchemas)) {
    const part = text.split(`## ${file}\n`)[1].split("\n## ")[0];
    for (const [name, cell] of Object.entries(schema.shape)) {
      const { says, required } = columnAbout(cell);
      assert.ok(
        part.includes(`| ${name} | ${required ? "yes" : "no"} | ${says} |`),
        `${file} ${name}`,
      );
    }
  }
});
