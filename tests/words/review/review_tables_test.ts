import assert from "node:assert/strict";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { estimateInWords, reliabilityRows } from "../../../lib/words/review/review_tables.ts";
import { smallBench } from "../../studies/small_bench.ts";

const written = (estimate: number | null, lower: number | null, upper: number | null) =>
  estimateInWords({
    estimate,
    estimate_reason: estimate === null
      ? { code: "too-few", of: "subjects", needed: 2, found: 1 }
      : null,
    lower,
    upper,
  }, 2);

Deno.test("an estimate is written with its limits, a true minus, and no sign before a rounded zero", () => {
  assert.equal(written(0.944, 0.91, 0.96), "0.94 (0.91 to 0.96)");
  assert.equal(written(-0.5, -0.75, -0.004), "−0.50 (−0.75 to 0.00)");
  assert.equal(written(0.2, null, null), "0.20");
  assert.equal(written(null, null, null), "one shoe cannot show how shoes differ");
});

Deno.test("noise that one shoe holds is written without limits, and SEM and MDC say the same reason", () => {
  // Twelve shoes of three close trials, in two sessions; one of them has one wild reading.
  const visits = Array.from({ length: 12 }, (_, shoe) =>
    ["s1", "s2"].map((session, visit) => ({
      shoe: `shoe-${shoe}`,
      session,
      values: [0, 1, 2].map((trial) =>
        40 + shoe + 0.1 * ((shoe * 7 + visit * 3 + trial * 5) % 4) +
        (shoe === 4 && visit === 0 && trial === 1 ? 9 : 0)
      ),
    }))).flat();
  const [row] = reliabilityRows(trialReliability(smallBench(visits), { seed: 1, resamples: 100 }));
  for (const figure of ["SEM of the mean", "MDC of two means"]) {
    assert.match(
      String(row[figure]),
      /^[\d.]+ \(one shoe holds \d+% of the scatter of readings, so limits would be its own\)$/,
    );
  }
});
