import assert from "node:assert/strict";
import { jackknifeAcceleration } from "../../lib/statistics/bias_corrected.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("jackknifeAcceleration() by hand: 1, 2 and 6 lie 2, 1 and −3 from their mean, so −18 / (6·14^1.5)", () => {
  assertClose(jackknifeAcceleration([1, 2, 6]), -18 / (6 * 14 ** 1.5), { within: 1e-15 });
  assertClose(jackknifeAcceleration([1, NaN, 2, 6]), -18 / (6 * 14 ** 1.5), { within: 1e-15 });
});

Deno.test("jackknifeAcceleration() of values that only rounding tells apart is 0, not the ratio of its noise", () => {
  const sum = 0.1 + 0.2;
  assert.notEqual(sum, 0.3);
  assert.equal(jackknifeAcceleration([sum, 0.3, 0.3, 0.3, 0.3, 0.3]), 0);
  assert.equal(jackknifeAcceleration([5, 5, 5]), 0);
  assert.notEqual(jackknifeAcceleration([0.3 + 1e-9, 0.3, 0.3, 0.3]), 0);
});
