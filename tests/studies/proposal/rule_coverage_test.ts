import assert from "node:assert/strict";
import type { IndexScores } from "../../../lib/studies/index/index_scores.ts";
import type { Bench, IndexRule } from "../../../lib/records/types.ts";
import { ruleCoverage } from "../../../lib/studies/proposal/rule_coverage.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

// The metric "depth" came in on 1 March, when a, b and the reference had been benched for the last time.
const visits = [
  { shoe: "a", session: "early", date: "2026-01-10", values: [50] },
  { shoe: "b", session: "early", date: "2026-01-10", values: [50] },
  { shoe: "ref", session: "early", date: "2026-01-10", values: [50] },
  { shoe: "c", session: "late", date: "2026-03-01", values: [50] },
  { shoe: "d", session: "later", date: "2026-04-01", values: [50] },
  { shoe: "e", session: "later", date: "2026-04-01", values: [50] },
];
const plain = smallBench(visits, { references: ["ref"] });
const bench: Bench = {
  ...plain,
  metrics: [
    ...plain.metrics,
    { ...plain.metrics[0], id: "depth", title: "Depth", introduced: "2026-03-01" },
  ],
};

type Row = readonly [
  shoe: string,
  score: number | null,
  height: number | null,
  depth: number | null,
];
const table = (rows: readonly Row[]): Pick<IndexScores, "shoes"> => ({
  shoes: rows.map(([shoe_id, score, height, depth]) => ({
    shoe_id,
    score,
    terms: [{ metric: "height", value: height }, { metric: "depth", value: depth }],
    missing_terms: [
      ...(height === null ? ["height"] : []),
      ...(depth === null ? ["depth"] : []),
    ],
  })) as unknown as IndexScores["shoes"],
});
const rule = { terms: [{ metric: "height" }, { metric: "depth" }] } as unknown as IndexRule;
const old = table([["a", 60, 50, null], ["b", 50, 50, null], ["c", 40, 50, null], [
  "ref",
  9,
  5,
  5,
]]);
const updated = table([
  ["a", null, 50, null],
  ["b", 45, 50, null],
  ["c", null, 50, null],
  ["d", 40, 50, 5],
  ["e", null, null, null],
  ["ref", 9, 5, 5],
]);
const { coverage, rebench } = ruleCoverage(bench, {
  old,
  updated,
  rule,
  rated: new Set(["c", "e"]),
});

Deno.test("of five products three had a score, two have one, one of them whole, and two lost theirs; the reference is none of them", () => {
  assert.deepEqual(
    [coverage.shoes, coverage.scorable_old, coverage.scorable_new, coverage.whole_new],
    [5, 3, 2, 1],
  );
  assertClose(coverage.share_old, 0.6, { within: 1e-12 });
  assertClose(coverage.share_new, 0.4, { within: 1e-12 });
  assert.deepEqual(coverage.lost.map(({ shoe_id }) => shoe_id), ["a", "c"]);
});

Deno.test("four shoes lack the new metric, two of them because they were last benched before it came; one lacks the other", () => {
  assert.deepEqual(
    coverage.terms.map(({ metric, shoes_missing, before_metric }) => [
      metric,
      shoes_missing,
      before_metric,
    ]),
    [["height", 1, 0], ["depth", 4, 2]],
  );
});

Deno.test("rated shoes go back on the bench first, then those that lack least, each with the reason and its last day", () => {
  assert.deepEqual(
    rebench.map(({ shoe_id, metrics, reason, rated, last_benched }) => [
      shoe_id,
      metrics.length,
      reason.code,
      rated,
      last_benched,
    ]),
    [
      ["c", 1, "never-read", true, "2026-03-01"],
      ["e", 2, "never-read", true, "2026-04-01"],
      ["a", 1, "benched-before-metrics", false, "2026-01-10"],
      ["b", 1, "benched-before-metrics", false, "2026-01-10"],
    ],
  );
  assert.deepEqual(rebench[2].reason, { code: "benched-before-metrics", part: "all" });
});

Deno.test("a shoe that lacks two metrics of which one came later was benched before some, and a bench without products has no share", () => {
  const { rebench: [one] } = ruleCoverage(bench, {
    old: table([]),
    updated: table([["a", null, null, null]]),
    rule,
    rated: new Set(),
  });
  assert.deepEqual(one.reason, { code: "benched-before-metrics", part: "some" });
  const none = ruleCoverage({ ...bench, shoes: [] }, { old, updated, rule, rated: new Set() });
  assert.deepEqual([none.coverage.share_old, none.coverage.share_new], [null, null]);
  assert.deepEqual(none.coverage.share_reason, { code: "none-on-bench", what: "shoe" });
});
