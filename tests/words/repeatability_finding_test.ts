import assert from "node:assert/strict";
import { loadBench, studies, words } from "bench-to-court";

const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);

Deno.test("the finding on repeatability counts every metric once, by its verdict", () => {
  const { metrics } = studies.trialReliability(demo, { seed: 1, resamples: 200 });
  const said = words.repeatability.finding(metrics);
  const [, all, counts] = /^Of (\d+) metrics ([^.]*)\./.exec(said)!;
  assert.equal(Number(all), metrics.length);
  const numbers = [...counts.matchAll(/\d+(?= (?:is|are) )/g)].map(([text]) => Number(text));
  assert.equal(numbers.reduce((sum, n) => sum + n, 0), metrics.length);
});

Deno.test("a metric whose noise is mostly a drift is told to be corrected, with what that gives", () => {
  const { metrics } = studies.trialReliability(demo, { seed: 1, resamples: 200 });
  const heel = metrics.find(({ metric }) => metric === "heel-rebound")!;
  assert.equal(heel.drift_noise.largest, "drift");
  const { as_read, corrected } = heel.drift_noise;
  const said = words.repeatability.finding(metrics);
  assert.ok(said.includes("heel rebound is a drift of rigs and days"), said);
  assert.ok(said.includes("correct it to the reference shoes"), said);
  assert.ok(
    said.includes(
      `MDC ${as_read.mdc.estimate!.toPrecision(2)} → ${corrected!.mdc.estimate!.toPrecision(2)} cm`,
    ),
    said,
  );
  const published = metrics.filter(({ drift_noise }) => drift_noise.largest !== "drift");
  assert.ok(!words.repeatability.finding(published).includes("correct it"));
});
