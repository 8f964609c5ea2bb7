import assert from "node:assert/strict";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { trialsCurve } from "../../../lib/studies/repeatability/trials_curve.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const study = trialReliability(
  smallBench([
    { shoe: "a", session: "s1", values: [1, 2] },
    { shoe: "b", session: "s1", values: [3, 4] },
  ]),
  { seed: 1, resamples: 100 },
);

/** Shoe variance 100, between visits 4, trials 8. */
const known = {
  ...study,
  confidence: 0.95,
  metrics: [{
    ...study.metrics[0],
    trials_per_visit: 2,
    components: [["shoe", 100], ["session", 3], ["shoe:session", 1], ["residual", 8]].map((
      [source, variance],
    ) => ({
      source: source as string,
      variance: variance as number,
      share: 0,
      boundary: false,
      lower: null,
      upper: null,
      levels: 3,
    })),
    icc_mean: { ...study.metrics[0].icc_mean, estimate: 100 / 108, lower: 0.5, upper: 0.99 },
  }],
};

Deno.test("trialsCurve() by hand: ICC 100/112, 100/108, … up to 100/104, and differences of 2.77 SDs of a mean", () => {
  const { points, limit, taken } = trialsCurve(known, "height", { most: 4 });
  assert.deepEqual(points.map(({ trials }) => trials), [1, 2, 3, 4]);
  assert.equal(taken, 2);
  points.forEach(({ icc, mdc, icc_sure }, i) => {
    const noise = 4 + 8 / (i + 1);
    assertClose(icc, 100 / (100 + noise), { within: 1e-12 });
    assertClose(mdc, 2.771807648699 * Math.sqrt(noise), { within: 1e-9 });
    // Noise 12.5 times as large has the mean of two at its limit of 0.5.
    assertClose(icc_sure!, 100 / (100 + 12.5 * noise), { within: 1e-12 });
  });
  assertClose(points[1].icc_sure!, 0.5, { within: 1e-12 });
  assertClose(limit!.icc, 100 / 104, { within: 1e-12 });
  assertClose(limit!.mdc, 2.771807648699 * 2, { within: 1e-9 });
});

Deno.test("trialsCurve() reaches as far as a visit does, fifteen trials unless said, and refuses a misspelt option", () => {
  assert.equal(trialsCurve(known, "height").points.length, 15);
  assert.equal(trialsCurve(known, "height", { most: 1 }).points.length, 2);
  assert.throws(() => trialsCurve(known, "height", { mots: 3 } as never), RangeError);
  assert.throws(() => trialsCurve(known, "height", { most: 0 }), RangeError);
  assert.throws(() => trialsCurve(known, "heigth"), Error);
});

Deno.test("what is sure of an MDC is as much larger at every number of trials as its limit is today, and unknown where that has none", () => {
  const curve = (upper: number | null) => {
    const [metric] = known.metrics;
    const mean_across_sessions = { ...metric.mdc.mean_across_sessions, estimate: 8, upper };
    const metrics = [{ ...metric, mdc: { ...metric.mdc, mean_across_sessions } }];
    return trialsCurve({ ...known, metrics }, "height", { most: 3 }).points;
  };
  for (const { mdc, mdc_sure } of curve(12)) assertClose(mdc_sure, 1.5 * mdc, { relative: 1e-12 });
  assert.deepEqual(curve(null).map(({ mdc_sure }) => mdc_sure), [null, null, null]);
});
