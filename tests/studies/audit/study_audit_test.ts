import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { repeatabilityAudit } from "../../../lib/studies/audit/repeatability_audit.ts";
import { simulatedBench } from "../../../lib/studies/audit/simulated_bench.ts";
import { studyAudit } from "../../../lib/studies/audit/study_audit.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { repeatabilityAuditSentence } from "../../../lib/words/audit/audit_words.ts";
import { assertClose } from "../../assert_close.ts";
import { lostValues, smallBench } from "../small_bench.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const shoes = Array.from({ length: 30 }, (_, s) => ({
  shoe: `s${s}`,
  session: "one",
  values: [0, 1, 2, 3, 4],
}));
const design = smallBench(shoes, { about: { decimals: 6 } });
const component = (source: string, variance: number) => ({
  source,
  variance,
  share: 0,
  boundary: false,
  lower: null,
  upper: null,
  levels: 1,
});
const parts = [component("shoe", 4), component("residual", 1)];

Deno.test("simulatedBench() draws each source with its variance, in the lab's design", () => {
  const study = { metric: "height", components: parts, spread: { sd: 1, low: 10, high: 30 } };
  const fits = Array.from({ length: 60 }, (_, i) => {
    const drawn = simulatedBench(design, [study])(randomStream(8, i));
    assert.equal(drawn.trials.length, 150);
    const [{ components }] = trialReliability(drawn, { seed: 1, resamples: 100 }).metrics;
    return components.map(({ variance }) => variance);
  });
  const mean = (at: number) => fits.reduce((sum, fit) => sum + fit[at], 0) / fits.length;
  // Four standard errors of these means: 4·√(2/29)·4.2/√60 and 4·√(2/120)/√60; readings are whole numbers here.
  assertClose(mean(0), 4, { within: 0.57 });
  assertClose(mean(1), 1 + 1 / 12, { within: 0.07 });
});

Deno.test("repeatabilityAudit() counts coverage near what is promised on 30 shoes of 5 trials", () => {
  const drawn = simulatedBench(
    {
      ...design,
      trials: design.trials.map((t) => ({
        ...t,
        value: t.value! + 0.5,
        given_value: t.value! + 0.5,
      })),
    },
    [{ metric: "height", components: parts, spread: { sd: 1, low: 10, high: 30 } }],
  )(randomStream(3));
  const audit = repeatabilityAudit(drawn, trialReliability(drawn, { seed: 1 }), {
    seed: 4,
    simulations: 60,
    intervalSimulations: 200,
  });
  for (
    const share of [audit.coverage.icc_single, audit.coverage.icc_mean, audit.coverage.mdc_mean]
  ) {
    assert.ok(share.lower! < 0.95 && 0.95 < share.upper!, `${share.estimate} of ${share.n}`);
  }
  assert.ok(audit.false_alarms.order_effect.lower! < 0.05);
  assert.ok(audit.false_alarms.outliers.lower! < 0.05);
  assert.equal(audit.false_alarms.drift.estimate, null);
  assert.match(sayReason(audit.false_alarms.drift.estimate_reason!), /no reference shoe/);
});

Deno.test("studyAudit() joins the parts asked for, repeats itself and loses nothing in JSON", async () => {
  const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const run = () =>
    studyAudit(bench, reliability, {
      seed: 2,
      repeatability: { simulations: 3, intervalSimulations: 1 },
      prediction: null,
    });
  const audit = run();
  assert.deepEqual(lostValues(audit), []);
  assert.deepEqual(run(), audit);
  assert.equal(audit.prediction, null);
  assert.equal(audit.repeatability!.metrics, 12);
  assert.equal(audit.repeatability!.coverage.icc_mean.n, 12);
});

Deno.test("a bench that can't be split is not simulated, and says so", () => {
  const bench = smallBench([{ shoe: "a", session: "s", values: [1] }]);
  const audit = repeatabilityAudit(bench, trialReliability(bench, { seed: 1 }), {
    seed: 1,
  });
  assert.match(repeatabilityAuditSentence(audit), /can't be tried out/);
  assert.equal(audit.coverage.icc_mean.estimate, null);
});

Deno.test("every interval asked for is counted once: one metric on seven simulated benches gives seven of each figure", () => {
  const drawn = simulatedBench(design, [
    { metric: "height", components: parts, spread: { sd: 1, low: 10, high: 30 } },
  ])(randomStream(3));
  const { coverage } = repeatabilityAudit(drawn, trialReliability(drawn, { seed: 1 }), {
    seed: 4,
    simulations: 1,
    intervalSimulations: 7,
  });
  for (const share of [coverage.icc_single, coverage.icc_mean, coverage.mdc_mean]) {
    assert.equal(share.n, 7);
  }
  // Each shoe was in one session only, so that no limits across sessions are given.
  assert.deepEqual([coverage.mdc_across_sessions.n, coverage.mdc_across_sessions.estimate], [
    0,
    null,
  ]);
});

Deno.test("limits of the change that can be told across sessions hold the truth on about 95% of benches of two sessions", () => {
  const twice = smallBench(
    ["one", "two"].flatMap((session) =>
      Array.from({ length: 20 }, (_, s) => ({ shoe: `s${s}`, session, values: [0, 1, 2] }))
    ),
    { about: { decimals: 6 } },
  );
  const sources = [component("shoe", 4), component("shoe:session", 0.5), component("residual", 1)];
  const drawn = simulatedBench(twice, [
    { metric: "height", components: sources, spread: { sd: 1, low: 10, high: 30 } },
  ])(randomStream(3));
  const { coverage } = repeatabilityAudit(drawn, trialReliability(drawn, { seed: 1 }), {
    seed: 4,
    simulations: 1,
    intervalSimulations: 40,
  });
  const { n, lower, upper, estimate } = coverage.mdc_across_sessions;
  assert.equal(n, 40);
  assert.ok(lower! < 0.95 && 0.95 < upper!, `${estimate} of 40`);
});
