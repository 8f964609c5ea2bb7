import assert from "node:assert/strict";
import type { Bench, IndexRule } from "../../../lib/records/types.ts";
import { checkRuleData } from "../../../lib/studies/index/check_rule_data.ts";
import { smallBench } from "../small_bench.ts";
import { bareRule } from "../../bare_bench.ts";

const term = (metric: string): IndexRule["terms"][number] => ({
  metric,
  weight: 0.5,
  scaling: { kind: "range", low: 0, high: 100 },
});

const rule: IndexRule = {
  id: "index",
  version: "1",
  title: "Index",
  effective: "2026-01-01",
  target_attribute: "feel",
  terms: [term("height"), term("depth")],
  ...bareRule,
};

/** A bench on which these shoes were read on each of two metrics, and one of them was rated. */
function benchOf(height: readonly string[], depth: readonly string[], rating: number | null = 7) {
  const bench = smallBench(
    [...new Set([...height, ...depth])].map((shoe) => ({ shoe, session: "one", values: [50] })),
    { ratings: [["t1", "a", rating]] },
  );
  const read = (metric_id: string, shoes: readonly string[]) =>
    bench.trials.filter(({ shoe_id }) => shoes.includes(shoe_id))
      .map((row) => ({ ...row, metric_id }));
  return {
    ...bench,
    metrics: [...bench.metrics, { ...bench.metrics[0], id: "depth", title: "Depth" }],
    trials: [...read("height", height), ...read("depth", depth)],
  } satisfies Bench;
}
const fixes = (bench: Bench) =>
  checkRuleData(bench, rule, "rules/index.json").map(({ column, fix }) => `${column}: ${fix}`);

Deno.test("a rule can be judged as soon as one shoe has every term and its attribute is rated, however many lack a term", () => {
  assert.deepEqual(fixes(benchOf(["a", "b", "c"], ["c"])), []);
});

Deno.test("a term that was never benched is named; of terms that no shoe has together, the one that fewest have is", () => {
  const [never] = fixes(benchOf(["a", "b"], []));
  assert.match(never, /^terms: No trial of depth counts yet: bench it, or take the term out/);
  const [apart] = fixes(benchOf(["a", "b"], ["c"]));
  assert.match(
    apart,
    /^terms: Fewest shoes have depth \(1\): bench it on shoes that have the rest/,
  );
});

Deno.test("an attribute that has no rating but lost ones is one that nobody has rated", () => {
  const [unrated, ...others] = fixes(benchOf(["a"], ["a"], null));
  assert.match(unrated, /^target_attribute: Rate feel on court/);
  assert.deepEqual(others, []);
});
