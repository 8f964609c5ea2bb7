import assert from "node:assert/strict";
import { visitsOf } from "../../../lib/records/selection.ts";
import { sessionLevels } from "../../../lib/studies/drift/session_levels.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

// One shoe reads 10 and then 12, the other joins at 25 and then reads 24 alone: the bench rose by 2, then fell by 1.
Deno.test("a reference shoe that joins late passes for no change of the bench, and one read alone carries its level on", () => {
  const bench = smallBench([
    { shoe: "ref-1", session: "one", values: [10, 10] },
    { shoe: "ref-1", session: "two", values: [11, 13] },
    { shoe: "ref-2", session: "two", values: [25, 25] },
    { shoe: "ref-2", session: "three", values: [24, 24] },
  ]);
  const levels = sessionLevels(visitsOf(bench, "height"));
  assert.deepEqual(levels.map(({ references }) => references), [1, 2, 1]);
  assertClose(levels[1].value - levels[0].value, 2, { within: 1e-9 });
  assertClose(levels[2].value - levels[1].value, -1, { within: 1e-9 });
});
