import assert from "node:assert/strict";
import { comparedMetric } from "../../../lib/studies/comparison/compared_on.ts";
import type { ComparedSide, RawPair } from "../../../lib/studies/comparison/compared_side.ts";
import { settlePairs } from "../../../lib/studies/comparison/settle_pairs.ts";
import { twoSidedP } from "../../../lib/statistics/single_step_level.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

/** What is settled of two shoes that lie so far apart, with a standard error of 1 known for sure. */
function settled(difference: number, better: "higher" | "lower" | "none") {
  const [metric] = smallBench([], { about: { better, smallest_difference: null } }).metrics;
  const pair: RawPair = {
    a: "first",
    b: "second",
    difference,
    reason: null,
    standard_error: 1,
    freedom: Infinity,
    p: twoSidedP(difference, Infinity),
    n: 10,
    method: "made up",
  };
  const side: ComparedSide = {
    on: comparedMetric(metric),
    one_pair: false,
    values: [],
    bounded: [],
    pairs: [pair],
    covariance: [[1]],
    visits: [],
    warnings: [],
  };
  return settlePairs([side], { confidence: 0.95 }).comparisons[0];
}

Deno.test("the shoe ahead is the one that reads more where more is better, less where less is, and none where more is neither", () => {
  for (
    const [better, difference, ahead] of [
      ["higher", 4, "first"],
      ["higher", -4, "second"],
      ["lower", 4, "second"],
      ["lower", -4, "first"],
      ["none", 4, null],
      ["higher", 1.9, null],
      ["lower", 1.9, null],
    ] as const
  ) {
    assert.equal(settled(difference, better).ahead, ahead, `${better}, ${difference}`);
  }
});

// 1.959964 is the normal quantile of 0.975, in any handbook of tables.
Deno.test("two shoes alone differ from 1.96 standard errors on, which is how far noise reaches", () => {
  assert.equal(settled(1.97, "higher").word, "differ");
  assert.equal(settled(1.95, "higher").word, "can't tell");
  assertClose(settled(4, "higher").reach, 1.959964, { within: 1e-5 });
});
