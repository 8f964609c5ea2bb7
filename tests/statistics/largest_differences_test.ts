import assert from "node:assert/strict";
import { largestDifferences } from "../../lib/statistics/largest_differences.ts";
import { assertClose } from "../assert_close.ts";

// A linear congruential generator (Numerical Recipes' constants, from memory): the same numbers in every run.
function numbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

Deno.test("the largest scaled difference of every draw is that of all ordered pairs looked at one by one", () => {
  const next = numbers(7);
  for (const p of [2, 3, 5, 9, 17]) {
    const count = 6;
    const draws = Float64Array.from({ length: count * p }, () => 4 * next() - 2);
    const scale = Float64Array.from(
      { length: p * p },
      (_, k) => k % (p + 1) === 0 || next() < 0.2 ? NaN : 0.1 + 3 * next() ** 4,
    );
    const found = largestDifferences(draws, scale, { p, count });
    assert.equal(found.length, count);
    for (let b = 0; b < count; b++) {
      let largest = -Infinity;
      for (let i = 0; i < p; i++) {
        for (let j = 0; j < p; j++) {
          const own = (draws[b * p + i] - draws[b * p + j]) * scale[i * p + j];
          if (own > largest) largest = own;
        }
      }
      if (largest === -Infinity) assert.equal(found[b], largest);
      else assertClose(found[b], largest, { within: 1e-12 });
    }
  }
});

Deno.test("a draw of which every pair is left out has no largest difference", () => {
  assert.deepEqual(
    [...largestDifferences(Float64Array.of(1, 2), new Float64Array(4).fill(NaN), {
      p: 2,
      count: 1,
    })],
    [-Infinity],
  );
});
