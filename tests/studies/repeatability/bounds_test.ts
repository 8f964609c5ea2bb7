import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { reliabilityWarnings } from "../../../lib/words/repeatability/reliability_result.ts";
import { reliabilitySentence } from "../../../lib/words/repeatability/reliability_sentence.ts";
import { trialSummary } from "../../../lib/words/repeatability/trial_summary.ts";
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
  const words =
    `the test is too coarse: ${share}% of readings lie below 1.2, so make it harsher or read it finer`;
  assert.ok(reliabilitySentence(metric).includes(words));
  assert.ok(trialSummary(metric).know[0].includes(words));
});

Deno.test("where fewer lie below it, visits with a bound have no mean and are left out whole, and a warning counts them", () => {
  const bench = coarseBench(0.8);
  const study = trialReliability(bench, { seed: 1, resamples: 100 });
  const [metric] = study.metrics;
  assert.ok(metric.bounded !== null && metric.bounded.readings < metric.bounded.of / 2);
  assert.ok(visitsOf(bench, "height").every(({ values }) => values.length === 3));
  assert.match(
    reliabilityWarnings(study).join(" "),
    /known by a bound only; their visits are in no figure/,
  );
  const named = new Set(shoeValues(bench, "height", null).map(({ shoe_id }) => shoe_id));
  const bounded = new Set(bench.trials.filter(({ bound }) => bound !== null).map((t) => t.shoe_id));
  assert.ok([...bounded].every((shoe) => !named.has(shoe)));
});
