import assert from "node:assert/strict";
import { median, robustSpread } from "../../lib/statistics/robust_scale.ts";

Deno.test("the median of an even number of values is midway between the two in the middle", () => {
  assert.equal(median([9, 1, 4, 2]), 3);
  assert.equal(median(Float64Array.of(5, 1, 3)), 3);
  assert.equal(median([]), NaN);
});

Deno.test("a robust spread is 1.4826 times the median distance from the median, whatever one value does", () => {
  assert.equal(robustSpread([1, 1, 2, 2, 4, 6, 9]), 1.4826);
  assert.equal(robustSpread([1, 1, 2, 2, 4, 6, 9e9]), 1.4826);
  assert.equal(robustSpread([]), NaN);
});
