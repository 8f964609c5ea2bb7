import assert from "node:assert/strict";
import { countDrawsInto } from "../../lib/statistics/count_draws.ts";

Deno.test("countDrawsInto() counts every draw, the first and the last too, and forgets what stood there", () => {
  const counts = Int32Array.from([9, 9, 9, 9]);
  assert.deepEqual([...countDrawsInto([3, 0, 3, 1], counts)], [1, 1, 0, 2]);
  assert.deepEqual([...countDrawsInto([], counts)], [0, 0, 0, 0]);
});
