import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { reliabilityWarnings } from "../../../lib/words/repeatability/reliability_result.ts";
import { reliabilitySentence } from "../../../lib/words/repeatability/reliability_sentence.ts";
import { trialSummary } from "../../../lib/words/repeatability/trial_summary.ts";
import { boundedShoes } from "../../../lib/studies/shoes/published_visits.ts";
import { assertClose } from "../../assert_close.ts";
import { boundedBench, boundedCoverage } from "../../benchmarks/bounded_values.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { lostValues, smallBench } from "../small_bench.ts";

/** Wear of 20 shoes read to the millimetre's bound: what lies below it is known as '<bound' only. */
function coarseBench(bound: number): Bench {
  const normal = ownNormals(3);
  const bench = smallBench(
    Array.from({ length: 20 }, (_, s) => ({
      shoe: `s${s}`,
      session: `d${s % 4}`,
      values: [0, 1, 2].map(() => 1 + 0.4 * Math.sin(5 * s) + 0.05 * normal()),
    })),
  );
  return {
    ...bench,
    trials: bench.trials.map((trial) =>
      trial.value! < bound ? { ...trial, value: null, bound: { below: bound } } : trial
    ),
  };
}

Deno.test("where most readings lie below the bound the test is too coarse: told with its share and what to do, never as 0 or the bound", () => {
  const study = trialReliability(coarseBench(1.2), { seed: 1, resamples: 100 });
  assert.deepEqual(lostValues(study), []);
  const [metric] = study.metrics;
  assert.equal(metric.verdict, "can't tell");
  assert.equal(metric.icc_mean.estimate, null);
  const share = Math.round(100 * metric.bounded!.readings / metric.bounded!.of);
  assert.ok(share > 50);
  const words = `the test is too coarse: ${share}% of readings, all those of ${
    metric.bounded!.shoes
  } of 20 shoes, lie below 1.2 cm, so make it harsher or longer, or read it finer, until most shoes show a number`;
  assert.ok(reliabilitySentence(metric).includes(words), reliabilitySentence(metric));
  assert.ok(trialSummary(metric).know[0].includes(words));
  const bench = coarseBench(1.2);
  const touched = new Set(bench.trials.filter(({ bound }) => bound !== null).map((t) => t.shoe_id));
  assert.ok(shoeValues(bench, "height", null).every(({ shoe_id }) => !touched.has(shoe_id)));
  assert.deepEqual(new Set(boundedShoes(bench, "height").map(({ shoe_id }) => shoe_id)), touched);
});

Deno.test("where fewer lie below it, visits with a bound are in no figure of noise, and a warning counts them", () => {
  const bench = coarseBench(0.8);
  const study = trialReliability(bench, { seed: 1, resamples: 100 });
  const [metric] = study.metrics;
  assert.ok(metric.bounded !== null && metric.bounded.readings < metric.bounded.of / 2);
  assert.ok(visitsOf(bench, "height").every(({ values }) => values.length === 3));
  assert.match(
    reliabilityWarnings(study).join(" "),
    /known by a bound only: their visits are in no figure of noise/,
  );
});

Deno.test("a shoe with at least half of its readings read has the mean that R's survreg gives it, one with fewer a bound", () => {
  const { bench } = boundedBench(4, { bound: 1.3 });
  const values = shoeValues(bench, "height", null);
  const bounds = boundedShoes(bench, "height");
  for (const { shoe_id } of bench.shoes) {
    const own = bench.trials.filter((trial) => trial.shoe_id === shoe_id);
    const read = own.filter(({ value }) => value !== null).length;
    const value = values.find((row) => row.shoe_id === shoe_id);
    assert.equal(value !== undefined, 2 * read >= own.length);
    assert.equal(bounds.some((row) => row.shoe_id === shoe_id), value === undefined);
    assert.equal(value?.bounded ?? own.length - read, own.length - read);
  }
  const whole = bounds.find(({ bounded, readings }) => bounded === readings)!;
  assert.deepEqual(whole.bound, { below: 1.3 });
  const part = bounds.find(({ bounded, readings }) => bounded < readings)!;
  assert.ok((part.bound as { readonly below: number }).below > 1.3);
});

testInR(
  "shoeValues() of partly bounded shoes are the censored means of R's survreg, a common scatter over shoes",
  () => {
    const { bench } = boundedBench(4, { bound: 1.3 });
    const read = new Set(
      bench.trials.filter(({ value }) => value !== null).map(({ shoe_id }) => shoe_id),
    );
    const trials = bench.trials.filter(({ shoe_id }) => read.has(shoe_id));
    const [levels] = inR(`library(survival)
    y <- ${rVector(trials.map(({ value }) => value ?? 1.3))}
    e <- ${rVector(trials.map(({ value }) => value === null ? 0 : 1))}
    s <- factor(c(${trials.map(({ shoe_id }) => `"${shoe_id}"`).join(",")}))
    fit <- survreg(Surv(y, e, type = "left") ~ s - 1, dist = "gaussian",
      control = list(rel.tolerance = 1e-13, maxiter = 200))
    out(coef(fit))`);
    const names = [...read].sort();
    const partly = shoeValues(bench, "height", null).filter(({ bounded }) => bounded > 0);
    assert.ok(partly.length > 3);
    for (const { shoe_id, value } of partly) {
      assertClose(value, levels[names.indexOf(shoe_id)], { within: 1e-5 });
    }
  },
  { needs: "survival" },
);

Deno.test("intervals of partly bounded shoes hold the truth on at least 93% of 60 benches; numbers alone are off by 0.1, half the bound by more", () => {
  const found = boundedCoverage(60, { bound: 1.3 });
  assert.ok(found.values > 200 && found.covered >= 0.93, JSON.stringify(found));
  assert.ok(Math.abs(found.bias) < 0.03);
  assert.ok(found.bias_read_only > 0.1 && found.bias_half_bound < -0.1);
});

Deno.test("values of bounded shoes move with readings and bound alike", () => {
  const { bench } = boundedBench(4, { bound: 1.3 });
  const [shoe] = shoeValues(bench, "height", null).filter(({ bounded }) => bounded > 0);
  const up = (trial: Bench["trials"][number]) =>
    trial.bound === null
      ? { ...trial, value: trial.value! + 2 }
      : { ...trial, bound: { below: (trial.bound as { readonly below: number }).below + 2 } };
  const moved = { ...bench, trials: bench.trials.map(up) };
  const same = shoeValues(moved, "height", null).find(({ shoe_id }) => shoe_id === shoe.shoe_id)!;
  assertClose(same.value, shoe.value + 2, { within: 1e-6 });
});
