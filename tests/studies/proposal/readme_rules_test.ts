import assert from "node:assert/strict";
import { join } from "node:path";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { ruleProposal } from "../../../lib/studies/proposal/rule_proposal.ts";
import { copyBench, kit } from "../../tasks/run_task.ts";
import { demoWithPlantedNoise } from "../rule_data.ts";

const readme = await Deno.readTextFile(join(kit, "README.md"));
const examples = [...readme.matchAll(/\*\*([^*]+)\*\*[^*]*?```json rule([a-z -]*)\n([\s\S]*?)```/g)]
  .map(([, title, kind, text]) => ({ title, kind: kind.trim(), parts: JSON.parse(text) }));

Deno.test("every rule that the README shows loads as it stands there, and is judged on the demo", async () => {
  assert.ok(examples.length >= 10, `only ${examples.length} examples were found`);
  const dir = await copyBench(join(kit, "data-demo"));
  try {
    const read = async (file: string) => JSON.parse(await Deno.readTextFile(join(dir, file)));
    const write = (file: string, value: unknown) =>
      Deno.writeTextFile(join(dir, file), JSON.stringify(value, null, 2));
    const base = await read("rules/speed-index-2.json");
    const proposal = await read("proposals/weigh-what-players-feel.json");
    const metrics = await read("metrics.json");
    const rebound = metrics.find(({ id }: { id: string }) => id === "heel-rebound");
    const derive = /`"derive": (\{[^`]*\})`/.exec(readme.replaceAll("\n", " "))![1];
    await write("metrics.json", [...metrics, {
      ...rebound,
      id: "rebound-per-gram",
      title: "Rebound per gram",
      unit: "1",
      smallest_difference: null,
      plausible: { low: 0, high: 10 },
      derive: JSON.parse(derive),
    }]);
    const settings = await read("bench.json");
    await write("bench.json", { ...settings, main_index: "speed-index" });
    // What a second index stands against is a first version of its own.
    const sideways = examples.find(({ kind }) => kind === "another-index")!;
    await write("rules/sideways-index-1.json", { ...base, ...sideways.parts, version: "1" });
    for (const [i, { parts, kind }] of examples.entries()) {
      const rule = { ...base, ...parts, version: `example-${i}`, effective: "2027-01-01" };
      const against = kind === "another-index" ? "1" : "2";
      const title = `example ${i}`;
      await write(`proposals/example-${i}.json`, { ...proposal, id: title, title, against, rule });
    }
    const bench = await loadBench(dir);
    assert.deepEqual(bench.warnings.filter(({ file }) => file.startsWith("proposals/")), []);
    const { reliability } = await demoWithPlantedNoise();
    for (const [i, { title }] of examples.entries()) {
      const one = bench.proposals.find(({ id }) => id === `example ${i}`)!;
      const { criteria, coverage } = ruleProposal(bench, one, { seed: 1, reliability });
      assert.ok(coverage.scorable_new > 5, `${title}: ${coverage.scorable_new} shoes have a score`);
      assert.notEqual(criteria[0].found, null, title);
    }
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
});
