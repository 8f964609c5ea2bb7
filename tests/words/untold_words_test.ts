import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { driftRatesChart } from "../../lib/charts/drift_rates_chart.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { predictionAudit } from "../../lib/studies/audit/prediction_audit.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { retestPlan } from "../../lib/studies/retest/retest_plan.ts";
import { predictionAuditSentence } from "../../lib/words/audit/audit_words.ts";
import { driftSentence, noStepsSentence } from "../../lib/words/drift/drift_sentences.ts";
import { agreementSentence } from "../../lib/words/panel/panel_words.ts";
import { panelFinding } from "../../lib/words/panel/panel_finding.ts";
import { predictionFinding } from "../../lib/words/prediction/prediction_finding.ts";
import { reliabilityFinding } from "../../lib/words/repeatability/reliability_sentence.ts";
import { planSentence, retestRows } from "../../lib/words/retest/retest_words.ts";
import { unfitAdvice } from "../../lib/words/review/advice_words.ts";
import { smallBench } from "../studies/small_bench.ts";

const folder = (path: string) => loadBench(new URL(`../../${path}`, import.meta.url).pathname);
const cheese = await folder("tests/references/bench-cheese");
const gauge = await folder("tests/references/bench-gauge");
const once = trialReliability(cheese, { seed: 1, resamples: 100 });

Deno.test("a bench of single readings falls short of nothing: nothing can be judged, and the cause is named", () => {
  assert.equal(
    reliabilityFinding(once.metrics),
    "None of 3 metrics can be judged yet: no shoe was read twice.",
  );
  const plan = retestPlan(cheese, { reliability: once, slots: 3 });
  assert.match(
    planSentence(plan),
    /^No visit can be planned: the noise of acetic acid .* is unknown/,
  );
});

Deno.test("one metric is spoken of in the singular, and a plan without an index weighs on none", () => {
  const { metrics } = trialReliability(gauge, { seed: 1, resamples: 100 });
  assert.match(reliabilityFinding(metrics), /^The one metric is /);
  const plan = retestPlan(gauge, { reliability: { metrics }, slots: 3, rule: null });
  assert.ok(plan.visits.length > 0);
  for (const { why } of retestRows(plan)) assert.doesNotMatch(String(why), /index/);
});

Deno.test("one tester is named as the cause, in the panel's sentence and the audit's", () => {
  assert.equal(
    panelFinding(panelAgreement(cheese, { seed: 1, resamples: 100 })),
    "How far testers agree can't be told: one tester cannot show how testers agree.",
  );
  const audit = predictionAudit(cheese, { seed: 1, simulations: 2, powerSimulations: 2 });
  assert.match(predictionAuditSentence(audit), /can't be audited: one tester cannot show/);
});

Deno.test("the panel's value is said to have leniency taken out, since its share differs from the ICC of the mean", async () => {
  const { attributes } = panelAgreement(await folder("data-demo"), { seed: 1, resamples: 100 });
  for (const one of attributes) {
    assert.match(
      agreementSentence(one),
      /the panel value of \d+ testers, leniency taken out, \d+%/,
    );
    assert.notEqual(one.value_reliability.estimate, one.icc_mean.estimate);
  }
});

Deno.test("the grid's picture counts as many predictions as the text, and those that go with a stronger one apart", () => {
  const prediction = courtPrediction(cheese, { seed: 1, resamples: 200, permutations: 500 });
  const indirect = prediction.pairs.filter(({ goes_with }) => goes_with !== null).length;
  assert.ok(indirect > 0);
  const alt = chartAlt(predictionGridChart(prediction.pairs));
  const [, inText] = /(\d+) holds? up/.exec(predictionFinding(prediction))!;
  assert.match(alt, new RegExp(`impression, ${inText} predicts?:`));
  assert.match(alt, new RegExp(`${indirect} goe?s? with a stronger one`));
  const drawn = (derived_from: string | null) =>
    predictionGridChart(
      prediction.pairs.map((pair, i) => i === 0 ? { ...pair, derived_from } : pair),
    )
      .outerHTML;
  const note = `${
    prediction.pairs[0].metric_title
  } is computed from another metric: drawn, but counted nowhere.`;
  assert.ok(drawn("another").includes(note));
  assert.ok(!drawn(null).includes("counted nowhere"));
});

Deno.test("where no metric can be judged for drift, none is said not to drift, in the text or the picture", () => {
  const bench = smallBench(
    ["s1", "s2"].flatMap((session) =>
      ["a", "b"].map((shoe, i) => ({ shoe, session, values: [40 + i, 41 + i] }))
    ),
    { references: ["a"] },
  );
  const drift = referenceDrift(bench);
  assert.ok(drift.rigs.length > 0 && drift.rigs.every(({ verdict }) => verdict === "can't tell"));
  for (const text of [driftSentence(drift), chartAlt(driftRatesChart(drift))]) {
    assert.match(text, /^Whether the bench drifts can't be told yet/);
    assert.doesNotMatch(text, /No metric is seen to drift/);
  }
  assert.match(noStepsSentence({ steps: [] }), /^Whether readings jump can't be told/);
});

Deno.test("several unfit metrics are spoken of in the plural, and more visits are named where they might help", () => {
  const { metrics: [one] } = trialReliability(gauge, { seed: 1, resamples: 100 });
  const unfit = (upper: number) => ({ ...one, icc_mean: { ...one.icc_mean, lower: 0.1, upper } });
  assert.match(unfitAdvice([unfit(0.3)]), /as it is measured now.*\(a minute\)\.$/);
  assert.match(
    unfitAdvice([unfit(0.3), unfit(0.7)]),
    /as they are measured now.*More visits of more shoes may change that\.$/,
  );
});
