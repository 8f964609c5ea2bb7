import assert from "node:assert/strict";
import { panelSplits } from "../../../lib/studies/panel/panel_splits.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const shoes = ["a", "b", "c", "d", "e", "f"];
const testers = ["one", "two", "three"];

/** Six shoes, three testers; the third likes what the metric has more of, the first what it has less of. */
function split(scale: number) {
  const height = [1, 4, 2, 6, 3, 5];
  const level = [5, 6, 4, 5, 6, 4];
  const jitter = [[0, 1, 0, 0, 1, 0], [1, 0, 0, 1, 0, 0], [0, 0, 1, 0, 0, 1]];
  const table = shoes.map((_, i) =>
    testers.map((_, j) => level[i] + (j - 1) * (height[i] - 3.5) / 2 + jitter[j][i] / 5)
  );
  const bench = smallBench([], {});
  return panelSplits(bench, {
    attribute: { id: "feel", title: "Feel", better: "higher" },
    table,
    shoes,
    testers,
    values: new Map([["height", new Map(shoes.map((shoe, i) => [shoe, scale * height[i]]))]]),
    confidence: 0.95,
  });
}

Deno.test("panelSplits() tells tastes apart alike whether a metric is spread over thousandths or thousands", () => {
  const found = [0.001, 1, 1000].map(split);
  for (const own of found) {
    assert.equal(own.length, 1);
    assert.equal(own[0].shoes, 6);
    assertClose(own[0].f, found[1][0].f, { relative: 1e-6 });
    const taste = new Map(own[0].tastes.map((one) => [one.tester, one.taste]));
    assert.ok(taste.get("one")! < -0.5 && taste.get("three")! > 0.5);
    assertClose(
      [...taste.values()].reduce((a, b) => a + b, 0),
      0,
      { within: 1e-9 },
    );
  }
});

Deno.test("panelSplits() has nothing to say of a metric that does not vary", () => {
  assert.deepEqual(split(0), []);
});
