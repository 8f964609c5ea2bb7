import assert from "node:assert/strict";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

Deno.test("shoeValues() weighs visits alike and divides each part of the noise by what lessens it", () => {
  const bench = smallBench([
    { shoe: "a", session: "1", values: [50, 52], operator: "one" },
    { shoe: "a", session: "2", values: [54], operator: "two" },
    { shoe: "a", session: "3", values: [48, 48, 50, 50], operator: "two" },
  ]);
  const [found] = shoeValues(bench, "height", { trial: 8, visit: 5, pair: 2, operator: 6 });
  assertClose(found.value, (51 + 54 + 49) / 3, { within: 1e-12 });
  // By hand: visits of 2, 1 and 4 trials, one pair, two operators.
  const squared = (3 * 5 + 8 / 2 + 8 / 1 + 8 / 4) / 9 + 2 / 1 + 6 / 2;
  assertClose(found.standard_error, Math.sqrt(squared), { within: 1e-12 });
  assert.deepEqual([found.trials, found.visits], [7, 3]);
  assert.equal(shoeValues(bench, "height", null)[0].standard_error, null);
});
