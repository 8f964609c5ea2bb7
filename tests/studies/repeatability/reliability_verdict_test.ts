import assert from "node:assert/strict";
import { reliabilityVerdict } from "../../../lib/studies/repeatability/reliability_verdict.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench } from "../small_bench.ts";

const of = (lower: number | null, upper: number | null = 0.97) =>
  reliabilityVerdict({ estimate: 0.95, estimate_reason: null, lower, upper }).verdict;

Deno.test("reliabilityVerdict() changes at lower limits of .90, .75 and .50, the limit belonging to the better", () => {
  assert.equal(of(0.9), "fit to rank single shoes");
  assert.equal(of(0.8999), "fit for tiers");
  assert.equal(of(0.75), "fit for tiers");
  assert.equal(of(0.7499), "fit for groups only");
  assert.equal(of(0.5), "fit for groups only");
  assert.equal(of(0.4999, 0.8999), "not fit to publish");
  assert.equal(of(0.4999, 0.9), "too few shoes to tell");
  assert.equal(of(null), "can't tell");
});

Deno.test("the risk of a false flag is shared out among all metrics of the bench", () => {
  const visits = Array.from({ length: 8 }, (_, i) => ({
    shoe: `shoe ${i}`,
    session: String(i),
    values: [50 + i, 50.4 + i, 49.7 + i, i === 3 ? 54 + i : 50.1 + i],
  }));
  const bench = smallBench(visits);
  const [metric] = bench.metrics;
  const methods = [1, 4].map((metrics) =>
    trialReliability(
      {
        ...bench,
        metrics: Array.from(
          { length: metrics },
          (_, i) => ({ ...metric, id: i === 0 ? metric.id : `other ${i}` }),
        ),
      },
      { seed: 1, resamples: 100, metrics: [metric.id] },
    ).metrics[0].outliers[0].method
  );
  assert.match(methods[0], /at 0\.05 for the whole metric/);
  assert.match(methods[1], /at 0\.013 for the whole metric/);
});
