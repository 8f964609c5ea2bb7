import assert from "node:assert/strict";
import { metricTrials } from "../../../lib/studies/repeatability/metric_trials.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench } from "../small_bench.ts";

Deno.test("shoes are drawn from the highest down, those that read the same by their names, and the third of six is the middle", () => {
  const means = { e: 50, a: 47, d: 52, c: 47, b: 49, f: 41 };
  const bench = smallBench(
    Object.entries(means).flatMap(([shoe, mean]) =>
      ["one", "two"].map((session) => ({ shoe, session, values: [mean - 0.5, mean, mean + 0.5] }))
    ),
  );
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const { shoes, middle } = metricTrials(bench, reliability, "height");
  assert.deepEqual(shoes.map(({ shoe_id, value }) => [shoe_id, value]), [
    ["d", 52],
    ["e", 50],
    ["b", 49],
    ["a", 47],
    ["c", 47],
    ["f", 41],
  ]);
  assert.equal(middle?.shoe_id, "b");
});
