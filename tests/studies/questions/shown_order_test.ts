import assert from "node:assert/strict";
import {
  boundedOn,
  shoesOn,
  shownDifferences,
} from "../../../lib/studies/questions/shown_order.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench } from "../small_bench.ts";

const bench = smallBench([
  { shoe: "ref", session: "one", date: "2026-01-05", values: [50, 50.4] },
  { shoe: "a", session: "one", date: "2026-01-05", values: [40, 40.6, 40.2] },
  { shoe: "b", session: "two", date: "2026-02-05", values: [45, 45.4] },
  { shoe: "ref", session: "three", date: "2026-03-05", values: [50.2, 50.6] },
], {
  references: ["ref"],
  ratings: [["t1", "a", 7], ["t1", "b", 5], ["t2", "b", 6], ["t1", "ref", 9]],
});
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
const fit = {
  metrics: reliability.metrics.map((row) => ({ ...row, verdict: "fit for tiers" as const })),
};

Deno.test("trials and the last day of a metric are those of the shoes that are ordered, not of the reference", () => {
  const { shoes, trials, last_trial } = shoesOn(bench, { metric: "height" }, {
    reliability: fit,
    confidence: 0.95,
  });
  assert.deepEqual(shoes.map(({ shoe_id, readings }) => [shoe_id, readings]), [["a", 3], ["b", 2]]);
  assert.equal(trials, 5);
  assert.equal(last_trial, "2026-02-05");
});

Deno.test("ratings of an impression are counted over the shoes that are ordered, and no trial among them", () => {
  const found = shoesOn(bench, { attribute: "feel" }, { reliability: fit, confidence: 0.95 });
  assert.deepEqual([found.ratings, found.trials, found.last_trial], [3, 0, null]);
  assert.deepEqual(found.shoes.map(({ shoe_id }) => shoe_id), ["a", "b"]);
});

Deno.test("a shoe that ran off the scale has a bound and no value, and is held against one inside it by that test alone", () => {
  const off = {
    ...bench,
    trials: bench.trials.map((row) =>
      row.shoe_id === "b" ? { ...row, value: null, bound: { above: 60 } } : row
    ),
  };
  const found = shoesOn(off, { metric: "height" }, { reliability: fit, confidence: 0.95 });
  assert.deepEqual(found.shoes.map(({ shoe_id }) => shoe_id), ["a"]);
  assert.deepEqual(boundedOn(found).map(({ shoe_id, title }) => [shoe_id, title]), [[
    "b",
    "Height",
  ]]);
  assert.deepEqual(found.against("a", ["b"]), []);
  const [test, ...others] = found.boundsAgainst("a", ["b"]);
  assert.deepEqual(others, []);
  assert.ok(test.b === "b" && test.p < 0.05, `${test.p}`);
});

// Holm 1979 by hand: 0.01 × 3, then 0.02 × 2, then the largest so far.
Deno.test("of differences with p of 0.01, 0.04 and 0.02 all are shown at 95%, of 0.02, 0.04 and 0.03 none", () => {
  const rows = (...p: readonly number[]) => p.map((one, index) => ({ p: one, index }));
  const shown = (...p: readonly number[]) =>
    shownDifferences(rows(...p), 0.95).map(({ index }) => index);
  assert.deepEqual(shown(0.01, 0.04, 0.02), [0, 1, 2]);
  assert.deepEqual(shown(0.02, 0.04, 0.03), []);
  assert.deepEqual(shown(0.01, 0.06, 0.04), [0]);
  assert.deepEqual(shown(), []);
});
