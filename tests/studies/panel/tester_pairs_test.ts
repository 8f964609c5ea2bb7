import assert from "node:assert/strict";
import { testerPairs } from "../../../lib/studies/panel/tester_pairs.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const bench = smallBench([], {
  ratings: [
    ["t1", "a", 7],
    ["t1", "b", 4],
    ["t2", "a", 9],
    ["t2", "b", 8],
    ["t3", "a", 6],
    ["t3", "a", 8],
    ["t3", "b", 5],
    // Rated one of the two only, or lost one of them: no word in it.
    ["t4", "a", 10],
    ["t5", "a", 10],
    ["t5", "b", null],
  ],
});

// By hand: differences of 3, 1 and 7 - 5 = 2 have a mean of 2 and a variance of 1, of which a third is that of the mean.
Deno.test("testers who differ by 3, 1 and 2 between two shoes differ by 2 with a standard error of the root of a third", () => {
  const found = testerPairs(bench, "feel", ["a", "b"]);
  assertClose(found.difference, 2, { within: 1e-12 });
  assertClose(found.standard_error, Math.sqrt(1 / 3), { within: 1e-12 });
  assert.deepEqual([found.testers, found.freedom, found.ratings], [3, 2, 7]);
});

// Each difference of two single ratings in steps of 1 holds the rounding of both, 1/12 each.
Deno.test("two testers who agree to the digit leave the error of rounding: the root of a sixth over two", () => {
  const agree = smallBench([], {
    ratings: [["t1", "a", 7], ["t1", "b", 5], ["t2", "a", 8], ["t2", "b", 6]],
  });
  const found = testerPairs(agree, "feel", ["a", "b"]);
  assertClose(found.difference, 2, { within: 1e-12 });
  assertClose(found.standard_error, Math.sqrt(1 / 6 / 2), { within: 1e-12 });
});

Deno.test("one tester of both shoes leaves a difference that can't be told, and how many there were", () => {
  const one = smallBench([], { ratings: [["t1", "a", 7], ["t1", "b", 5], ["t2", "b", 6]] });
  const { difference, reason } = testerPairs(one, "feel", ["a", "b"]);
  assert.deepEqual([difference, reason], [null, { code: "too-few-rated-both", found: 1 }]);
});
