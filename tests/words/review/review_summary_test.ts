import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchCoverage } from "../../../lib/studies/coverage/bench_coverage.ts";
import { courtPrediction } from "../../../lib/studies/prediction/court_prediction.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { referenceDrift } from "../../../lib/studies/drift/reference_drift.ts";
import { reviewSummary } from "../../../lib/words/review/review_summary.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";

const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const reliability = trialReliability(bench, { seed: 1, resamples: 200 });
const parts = {
  coverage: benchCoverage(bench, { quarter: "2026Q3" }),
  reliability,
  drift: referenceDrift(bench),
  prediction: courtPrediction(bench, { reliability, seed: 1, resamples: 500, permutations: 2000 }),
  scores: indexScores(bench, { reliability, seed: 1 }),
};

Deno.test("the demo's summary knows its planted predictors and its unfit metric", () => {
  const { know } = reviewSummary(parts);
  assert.equal(know.length, 3);
  assert.match(know[0], /upper temperature under the lamp should not be published/);
  assert.match(know[1], /grip by tilt at slip/);
  assert.match(know[1], /No metric is shown to predict comfort/);
  assert.match(know[1], /^Over 48 shoes, 34 lines and 7 makers the bench predicts/);
});

Deno.test("the demo's planted drift comes first among the things to do, its odd readings second", () => {
  const { act } = reviewSummary(parts);
  assert.equal(act.length, 3);
  assert.match(act[0], /Heel rebound on bench-b falls .* Check the rig/);
  assert.match(act[1], /readings that stand out \(lines \d+/);
  // what to do, how long it takes, what it tells
  assert.match(act[0], /see by the 2 reference shoes \(20 minutes\) whether/);
  assert.match(act[0], /put "heel-rebound" into corrected_metrics of bench\.json \(MDC/);
  assert.match(act[1], /of trials\.csv; \d+ minutes\): mend .* excluded/);
  assert.match(act[2], /deno task decide -- --metric upper-lamp-temperature --because/);
});

Deno.test("a metric that its tester has withdrawn is no advice any more, and is said to be out", () => {
  const withdrawn = {
    ...parts,
    reliability: {
      ...reliability,
      metrics: reliability.metrics.map((metric) => ({
        ...metric,
        withdrawn: metric.metric === "upper-lamp-temperature" ? "repeats too badly" : null,
      })),
    },
  };
  const { know, act } = reviewSummary(withdrawn);
  assert.match(know[0], /upper temperature under the lamp is published no longer/);
  assert.doesNotMatch(know[0], /should not be published/);
  assert.doesNotMatch(act.join(" "), /Stop publishing/);
});

Deno.test("a reading is counted once, however many metrics flag it, and no other warning is a reading", () => {
  const [first] = reliability.metrics.filter(({ outliers }) => outliers.length > 0);
  const { line } = first.outliers[0];
  const twice = reliability.metrics.map((metric) => ({
    ...metric,
    outliers: first.outliers.slice(0, 1),
  }));
  const warned = [
    { file: "trials.csv", line, column: "value" },
    { file: "trials.csv", line: 7, column: "value" },
    { file: "rules/a.json", line: 1, column: "terms" },
  ];
  const { act } = reviewSummary({
    ...parts,
    reliability: { ...reliability, metrics: twice },
    warnings: warned,
  });
  assert.ok(
    act.some((text) => text.startsWith("Look up 2 readings that stand out (lines")),
    act.join(" | "),
  );
});

Deno.test("a gap in the catalogue is told with the command that prints its bench sheet and the time it takes", () => {
  const [metric] = parts.coverage.metrics;
  const { act } = reviewSummary({
    ...parts,
    reliability: { ...reliability, metrics: [] },
    drift: { ...parts.drift, rigs: [] },
    coverage: {
      ...parts.coverage,
      metrics: [{ ...metric, shoes_missing: 3, shoes_before_metric: 0 }],
    },
  });
  assert.match(act[0], /the 3 shoes that missed it \(30 minutes\)/);
  assert.ok(
    act[0].includes(`deno task retest -- --metrics ${metric.metric} --slots 3 --sheet`),
    act[0],
  );
});

Deno.test("with nothing wrong the summary says that nothing is pressing", () => {
  const { act } = reviewSummary({
    coverage: { ...parts.coverage, metrics: [] },
    reliability: { ...reliability, metrics: [] },
    drift: { ...parts.drift, rigs: [] },
    prediction: { ...parts.prediction, pairs: [], unsettled: [] },
    scores: parts.scores,
  });
  assert.deepEqual(act, ["Nothing is pressing: go on benching as planned."]);
});

Deno.test("a metric named like Markdown stays text in the summary", () => {
  const [first, ...rest] = reliability.metrics;
  const named = { ...first, title: "[x](javascript:alert(1)) <b>", verdict: "not fit to publish" };
  const { markdown } = reviewSummary({
    ...parts,
    reliability: { ...reliability, metrics: [named as typeof first, ...rest] },
  });
  assert.ok(markdown.includes("\\[x\\](javascript:alert(1)) &lt;b\\>"), markdown);
});
