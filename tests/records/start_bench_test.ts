import assert from "node:assert/strict";
import { columnAbout } from "../../lib/records/cells.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { tableSchemas } from "../../lib/records/schemas.ts";
import { dataDictionary, startBench } from "../../lib/records/start_bench.ts";

Deno.test("startBench() makes a bench that loads without a problem", async () => {
  const dir = await Deno.makeTempDir();
  const written = await startBench(`${dir}/new`);
  const bench = await loadBench(`${dir}/new`);
  assert.deepEqual(bench.warnings, []);
  assert.deepEqual([bench.trials.length, bench.impressions.length, bench.rules.length], [1, 1, 1]);
  for (const file of written) assert.ok((await Deno.stat(`${dir}/new/${file}`)).size > 0);
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
