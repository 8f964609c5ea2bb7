import assert from "node:assert/strict";
import { holmLevels } from "../../lib/statistics/holm_levels.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("holmLevels() steps down by hand: 0.01, 0.02, 0.03 and 0.04 at 5% stop at the second", () => {
  // 4·0.01, 3·0.02, 2·0.03 and 0.04, none below one before it; 0.02 > 0.05/3 fails, and all after it.
  const levels = holmLevels([0.03, 0.01, 0.04, 0.02], 0.05);
  [0.06, 0.04, 0.06, 0.06].forEach((p, i) =>
    assertClose(levels[i].p_adjusted, p, { within: 1e-15 })
  );
  [0.05 / 3, 0.05 / 4, 0.05 / 3, 0.05 / 3].forEach((alpha, i) =>
    assertClose(levels[i].alpha, alpha, { within: 1e-15 })
  );
});

Deno.test("a p that is its level exactly is still found, so the next is judged at a wider one", () => {
  const [first, second] = holmLevels([0.025, 0.5], 0.05);
  assert.equal(first.p_adjusted, 0.05);
  assert.deepEqual([first.alpha, second.alpha], [0.025, 0.05]);
});

Deno.test("no adjusted p exceeds 1, and equal ps keep their order", () => {
  assert.deepEqual(holmLevels([0.6, 0.6], 0.05).map(({ p_adjusted }) => p_adjusted), [1, 1]);
  assert.deepEqual(holmLevels([], 0.05), []);
});
