import assert from "node:assert/strict";
import { Ajv2020 } from "ajv/dist/2020.js";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchUntil, quarterEnd } from "../../../lib/records/quarters.ts";
import { reviewChanges, reviewState } from "../../../lib/studies/changes/mod.ts";
import { benchCoverage } from "../../../lib/studies/coverage/bench_coverage.ts";
import { courtPrediction } from "../../../lib/studies/prediction/court_prediction.ts";
import { indexRecalibration } from "../../../lib/studies/index/index_recalibration.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { panelAgreement } from "../../../lib/studies/panel/panel_agreement.ts";
import { referenceDrift } from "../../../lib/studies/drift/reference_drift.ts";
import { retestPlan } from "../../../lib/studies/retest/retest_plan.ts";
import { reviewResult } from "../../../lib/words/review/review_result.ts";
import { reliabilityResult } from "../../../lib/words/repeatability/reliability_result.ts";
import { driftResult } from "../../../lib/words/drift/drift_result.ts";
import { resultJson } from "../../../lib/words/result_json.ts";
import { reviewJsonSchema, reviewSchema } from "../../../lib/studies/review/review_schema.ts";
import { auditResult } from "../../../lib/words/audit/audit_words.ts";
import { toldPlan } from "../../../lib/words/retest/retest_words.ts";
import { reviewSummary } from "../../../lib/words/review/review_summary.ts";
import { studyAudit } from "../../../lib/studies/audit/study_audit.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { panelResult } from "../../../lib/words/panel/panel_words.ts";
import { predictionResult } from "../../../lib/words/prediction/prediction_result.ts";

async function review(folder: string, quarter: string): Promise<unknown> {
  const dir = new URL(`../../../${folder}`, import.meta.url).pathname;
  const bench = benchUntil(await loadBench(dir), quarterEnd(quarter));
  const seed = 1;
  const coverage = benchCoverage(bench, { quarter });
  const reliability = trialReliability(bench, { seed, resamples: 100 });
  const drift = referenceDrift(bench);
  const agreement = panelAgreement(bench, { seed, resamples: 100 });
  const panel = panelResult(agreement);
  const prediction = courtPrediction(bench, {
    reliability,
    panel: agreement,
    seed,
    resamples: 200,
    permutations: 200,
  });
  const scores = indexScores(bench, { reliability, seed, draws: 1000 });
  const recalibration = indexRecalibration(bench, { reliability, seed });
  const retest = toldPlan(retestPlan(bench, { reliability, slots: 10 }));
  const audit = auditResult(
    studyAudit(bench, reliability, { seed, repeatability: null, prediction: null }),
  );
  const summary = reviewSummary({ coverage, reliability, drift, prediction, scores });
  const state = reviewState({ coverage, reliability, drift, prediction, scores });
  const parts = {
    seed,
    coverage,
    reliability: reliabilityResult(reliability),
    drift: driftResult(drift),
    panel,
    prediction: predictionResult(prediction),
    scores,
    recalibration,
    retest,
    audit,
    summary,
    changes: reviewChanges(state, state, { steps: null, earlier: "worked out" }),
  };
  return JSON.parse(JSON.stringify(resultJson(reviewResult(bench, parts))));
}

const validate = new Ajv2020({ strict: false }).compile(reviewJsonSchema());
const results = {
  demo: await review("data-demo", "2026Q3"),
  "the demo's first quarter": await review("data-demo", "2025Q3"),
  "a gauge study without impressions": await review("tests/references/bench-gauge", "2026Q4"),
  "a tasting panel without repeats": await review("tests/references/bench-cheese", "2026Q4"),
};

for (const [name, result] of Object.entries(results)) {
  Deno.test(`the review of ${name} fits its zod schema and its JSON Schema`, () => {
    const { error } = reviewSchema.safeParse(result);
    assert.equal(error, undefined, error?.message);
    assert.ok(validate(result), JSON.stringify(validate.errors?.slice(0, 3)));
  });
}

Deno.test("the schemas refuse a review whose claim is unknown or whose interval is text", () => {
  const spoil = (change: (copy: Record<string, never>) => void) => {
    const copy = structuredClone(results.demo) as Record<string, never>;
    change(copy);
    return copy;
  };
  for (
    const spoilt of [
      // deno-lint-ignore no-explicit-any -- spoiling parsed JSON
      spoil((copy: any) => copy.prediction[0].claim = "proves"),
      // deno-lint-ignore no-explicit-any
      spoil((copy: any) => copy.index[0].lower = "1.2"),
      // deno-lint-ignore no-explicit-any
      spoil((copy: any) => delete copy.reliability[0].icc_mean),
    ]
  ) {
    assert.equal(reviewSchema.safeParse(spoilt).success, false);
    assert.equal(validate(spoilt), false);
  }
});

Deno.test("an estimate without a value needs its reason", () => {
  // deno-lint-ignore no-explicit-any
  const copy = structuredClone(results.demo) as any;
  Object.assign(copy.reliability[0].cv, { estimate: null, estimate_reason: null });
  assert.match(reviewSchema.safeParse(copy).error!.message, /missing estimate has a reason/);
});
