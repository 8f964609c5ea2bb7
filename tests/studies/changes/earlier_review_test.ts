import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchUntil, quarterEnd } from "../../../lib/records/quarters.ts";
import { earlierReview, reviewState } from "../../../lib/studies/changes/mod.ts";
import { reviewAdvice } from "../../../lib/studies/changes/review_advice.ts";
import { benchCoverage } from "../../../lib/studies/coverage/bench_coverage.ts";
import { referenceDrift } from "../../../lib/studies/drift/reference_drift.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { courtPrediction } from "../../../lib/studies/prediction/court_prediction.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";

const seed = 4;
const everything = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const quarter = "2026Q2";
const found = earlierReview(everything, { quarter, until: quarterEnd("2026Q3"), seed });

Deno.test("an earlier review worked out for the next one says what that quarter's own studies say in full", () => {
  const bench = benchUntil(everything, quarterEnd(quarter));
  const reliability = trialReliability(bench, { seed });
  const prediction = courtPrediction(bench, { models: false, seed });
  const whole = reviewState({
    coverage: benchCoverage(bench, { quarter }),
    reliability,
    drift: referenceDrift(bench),
    prediction,
    scores: indexScores(bench, { reliability, seed }),
  });
  const { state } = found;
  assert.deepEqual(
    state.prediction,
    prediction.pairs.map(({ metric, attribute, claim, spearman, n }) => ({
      metric,
      attribute,
      claim,
      spearman: { estimate: spearman.estimate },
      n,
    })),
  );
  assert.ok(new Set(state.prediction.map(({ claim }) => claim)).size > 1);
  assert.deepEqual(state.index, whole.index);
  assert.deepEqual(reviewAdvice(state), reviewAdvice(whole));
  assert.deepEqual(
    state.reliability.map(({ metric, verdict }) => [metric, verdict]),
    whole.reliability.map(({ metric, verdict }) => [metric, verdict]),
  );
});

Deno.test("a review answers the same whether or not its earlier quarters were worked out before", () => {
  const bench = benchUntil(everything, quarterEnd("2026Q3"));
  const given = found.looked.map(({ quarter }) => quarter);
  assert.equal(given.at(-1), quarter);
  const alone = courtPrediction(bench, { models: false, seed });
  const told = courtPrediction(bench, { models: false, looked: found.looked, seed });
  assert.equal(JSON.stringify(told), JSON.stringify(alone));
});

Deno.test("a quarter worked out with another seed or over other columns is worked out anew", () => {
  const bench = benchUntil(everything, quarterEnd("2026Q3"));
  // Were it believed, nothing would have been claimed before.
  const emptied = found.looked.map((look) => ({ ...look, made: [] }));
  const firsts = (options: Parameters<typeof courtPrediction>[1]) =>
    courtPrediction(bench, { models: false, ...options }).lives.claims.map(({ first }) => first);
  assert.notDeepEqual(firsts({ looked: emptied, seed }), firsts({ seed }));
  assert.deepEqual(firsts({ looked: emptied, seed: 5 }), firsts({ seed: 5 }));
  const metrics = bench.metrics.slice(1).map(({ id }) => id);
  assert.deepEqual(firsts({ looked: emptied, metrics, seed }), firsts({ metrics, seed }));
});
