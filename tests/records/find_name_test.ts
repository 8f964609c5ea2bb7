import assert from "node:assert/strict";
import { findMetric, findName, findShoe } from "../../lib/records/find_name.ts";
import { loadBench } from "../../lib/records/load_bench.ts";

const bench = await loadBench("data-demo");

Deno.test("a shoe is found by id, whole name, some of its words, without accents and with one slip", () => {
  for (
    const typed of [
      "pavrico-orbinel-3",
      "Pavrico Orbinel 3",
      "PAVRICO  orbinel-3",
      "Pávrico Orbinel 3",
      "orbinel 3",
      "Orbinell 3",
      "pavrico orbnel 3",
      "Orbinel3",
    ]
  ) assert.equal(findShoe(bench, typed).shoe_id, "pavrico-orbinel-3", typed);
});

Deno.test("a wrong edition is another shoe or none, never a slip", () => {
  const shoes = ["alder-2", "alder-3"].map((id) => ({ id, names: [] }));
  assert.deepEqual(findName("alder 4", shoes), { none: true });
  assert.deepEqual(findName("aldr 3", shoes), { id: "alder-3" });
});

Deno.test("what fits several is listed, what fits none offers the nearest", () => {
  assert.throws(() => findShoe(bench, "orbinel"), /fits \d shoes: pavrico-orbinel-1.*Write one/);
  assert.throws(
    () => findShoe(bench, "Pavricko Orbnell 3"),
    /no shoe.*Did you mean pavrico-orbinel/,
  );
});

Deno.test("a metric is found by its title and by a part of it", () => {
  const [metric] = bench.metrics;
  assert.equal(findMetric(bench, metric.title.toUpperCase()).id, metric.id);
  assert.equal(findMetric(bench, metric.id).id, metric.id);
});

Deno.test("two letters apart in a short word, and a word of two letters alone, find nothing", () => {
  const shoes = [{ id: "oak-1", names: [] }, { id: "ash-1", names: [] }];
  assert.deepEqual(findName("ask 1", shoes), { none: true });
  assert.deepEqual(findName("1", shoes), { none: true });
});
