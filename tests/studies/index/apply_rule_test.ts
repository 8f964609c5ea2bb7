import assert from "node:assert/strict";
import { sayReason } from "../../../lib/words/reasons.ts";
import type { Bench, IndexRule, Metric, Shoe } from "../../../lib/records/types.ts";
import { applyRule } from "../../../lib/studies/index/apply_rule.ts";
import { assertClose } from "../../assert_close.ts";
import { bareRule, bareShoe } from "../../bare_bench.ts";

const shoe = (shoe_id: string): Shoe => ({
  ...bareShoe,
  shoe_id,
  maker: "Tolmeck",
  model: shoe_id,
});

const metric = (id: string, better: Metric["better"], target: Metric["target"] = null): Metric => ({
  id,
  title: id,
  unit: "cm",
  scale: "ratio",
  better,
  target,
  plausible: { low: 0, high: 1000 },
  smallest_difference: null,
  decimals: 1,
  group: "propulsion",
  method: "",
  method_version: "1",
  introduced: "2025-01-01",
  retired: null,
  resolution: null,
  reference_uncertainty: null,
  size_free: false,
  derive: null,
});

const bench: Pick<Bench, "shoes" | "features" | "metrics"> = {
  shoes: ["a", "b", "c"].map(shoe),
  features: ["heel-clip", "toe-guard"].map((feature_id) => ({
    shoe_id: "a",
    feature_id,
    present: "yes",
    checked_on: null,
    note: null,
  })),
  metrics: [
    metric("rebound", "higher"),
    metric("mass", "lower"),
    metric("drop", "target", { low: 4, high: 6 }),
  ],
};

const rule = (parts: Partial<IndexRule>): IndexRule => ({
  id: "speed",
  version: "1",
  title: "Speed",
  effective: "2025-01-01",
  target_attribute: "speed",
  terms: [],
  ...bareRule,
  ...parts,
});

const range = (low: number, high: number) => ({ kind: "range" as const, low, high });

Deno.test("a base of 1.84 with two features at 0.1 each scores 2.04", () => {
  // Common practice, no source.
  const [scored] = applyRule(
    bench,
    rule({
      terms: [{ metric: "rebound", weight: 1.84, scaling: range(0, 30) }],
      bonuses: [{ feature: "heel-clip", points: 0.1 }, { feature: "toe-guard", points: 0.1 }],
    }),
    new Map([["rebound", new Map([["a", 30]])]]),
  );
  assertClose(scored.score, 2.04, { within: 1e-12 });
});

Deno.test("a range with low above high rewards less, and is clamped at both ends", () => {
  const scored = applyRule(
    bench,
    rule({ terms: [{ metric: "mass", weight: 1, scaling: range(400, 300) }] }),
    new Map([["mass", new Map([["a", 450], ["b", 325], ["c", 280]])]]),
  );
  assert.deepEqual(scored.map((row) => row.score), [0, 0.75, 1]);
});

Deno.test("the standard scaling is a z-score turned so that less mass scores more", () => {
  const [a, b, c] = applyRule(
    bench,
    rule({ terms: [{ metric: "mass", weight: 2, scaling: { kind: "standard" } }], offset: 1 }),
    new Map([["mass", new Map([["a", 300], ["b", 350], ["c", 400]])]]),
  );
  assert.deepEqual([a.score, b.score, c.score], [3, 1, -1]);
});

Deno.test("the standard scaling of a target metric counts the distance outside its range", () => {
  const [a, b, c] = applyRule(
    bench,
    rule({ terms: [{ metric: "drop", weight: 1, scaling: { kind: "standard" } }] }),
    new Map([["drop", new Map([["a", 5], ["b", 4.5], ["c", 9]])]]),
  );
  assert.equal(a.score, b.score);
  assert.ok(c.score! < a.score!);
});

Deno.test("a missing term withholds the score or raises the other weights, as the rule says", () => {
  const terms = [
    { metric: "rebound", weight: 3, scaling: range(0, 10) },
    { metric: "mass", weight: 1, scaling: range(400, 300) },
  ];
  const table = new Map([["rebound", new Map([["a", 5]])], ["mass", new Map([["b", 300]])]]);
  const [withheld] = applyRule(bench, rule({ terms }), table);
  assert.equal(withheld.score, null);
  assert.deepEqual(withheld.score_reason, { code: "score-withheld", metrics: ["mass"] });

  const [a, b, c] = applyRule(bench, rule({ terms, missing: "reweight" }), table);
  assert.deepEqual([a.score, b.score], [2, 4]);
  assert.deepEqual([a.reweighted, a.missing_terms], [true, ["mass"]]);
  assert.deepEqual([c.score, c.score_reason], [null, { code: "no-term-has-a-value" }]);
});

Deno.test("a feature that nobody has checked earns nothing and is named", () => {
  const [, b] = applyRule(
    bench,
    rule({
      terms: [{ metric: "rebound", weight: 1, scaling: range(0, 10) }],
      bonuses: [{ feature: "heel-clip", points: 0.1 }],
    }),
    new Map([["rebound", new Map([["b", 10]])]]),
  );
  assert.equal(b.score, 1);
  assert.deepEqual(b.unchecked_features, ["heel-clip"]);
});

Deno.test("a term without spread in the catalogue is missing, not infinite", () => {
  const [a] = applyRule(
    bench,
    rule({ terms: [{ metric: "mass", weight: 1, scaling: { kind: "standard" } }] }),
    new Map([["mass", new Map([["a", 300], ["b", 300]])]]),
  );
  assert.equal(a.score, null);
  assert.deepEqual(a.terms[0].value_reason, { code: "no-spread-to-scale-by" });
});

Deno.test("steps give the score of the last one reached, upward or downward, and 0 before the first", () => {
  const values = [29, 30, 33.9, 34, 50];
  const shoes = values.map((_, i) => shoe(`s${i}`));
  const table = new Map([[
    "rebound",
    new Map(values.map((value, i) => [`s${i}`, value])),
  ]]);
  const scores = (at: readonly (readonly [number, number])[]) =>
    applyRule(
      { ...bench, shoes },
      rule({
        terms: [{
          metric: "rebound",
          weight: 1,
          scaling: { kind: "steps", at },
        }],
        bonuses: [],
        multiplier: 1,
        offset: 0,
      }),
      table,
    ).map(({ score }) => score);
  assert.deepEqual(scores([[30, 0.2], [34, 1]]), [0, 0.2, 0.2, 1, 1]);
  assert.deepEqual(scores([[34, 0.2], [30, 1]]), [1, 1, 0.2, 0.2, 0]);
  assert.deepEqual(scores([[34, 1]]), [0, 0, 0, 1, 1]);
});

Deno.test("a rule for clay scores clay shoes alone, and says of the others why they have none", () => {
  const shoes = [
    { ...shoe("a"), surface: "clay" as const },
    { ...shoe("b"), surface: "hard" as const },
    shoe("c"),
  ];
  const table = new Map([[
    "rebound",
    new Map(["a", "b", "c"].map((id) => [id, 40])),
  ]]);
  const scored = applyRule(
    { ...bench, shoes },
    rule({
      terms: [{
        metric: "rebound",
        weight: 1,
        scaling: { kind: "range", low: 0, high: 80 },
      }],
      bonuses: [],
      where: { surface: ["clay"] },
    }),
    table,
  );
  assert.deepEqual(scored.map(({ score }) => score === null), [
    false,
    true,
    true,
  ]);
  assert.match(sayReason(scored[1].score_reason!), /for clay shoes; this one is for hard/);
  assert.match(sayReason(scored[2].score_reason!), /that shoes\.csv doesn't say/);
});
