import assert from "node:assert/strict";
import { resampledLimits } from "../../lib/statistics/resampled_limits.ts";
import { assertClose } from "../assert_close.ts";

const about = { estimate: 50, jackknife: [], method: "percentile", confidence: 0.9 } as const;
const counted = (n: number) => Float64Array.from({ length: n }, (_, i) => i);

// Of 0 to 100 the share s lies at 100 s, and their standard deviation is √(101 × 102 / 12).
Deno.test("percentile limits of the numbers 0 to 100 at 90% are 5 and 95, their standard error the numbers' SD", () => {
  // Wherever the estimate itself lies.
  for (const estimate of [50, 40]) {
    const { lower, upper, standardError, warnings } = resampledLimits(counted(101), {
      ...about,
      estimate,
    });
    assertClose(lower, 5, { within: 1e-12 });
    assertClose(upper, 95, { within: 1e-12 });
    assertClose(standardError, Math.sqrt(101 * 102 / 12), { relative: 1e-12 });
    assert.deepEqual(warnings, []);
  }
});

Deno.test("resamples that gave no number are left out and counted; with more than half of them lost there are no limits", () => {
  const some = Float64Array.from([...counted(101), NaN, NaN]);
  const found = resampledLimits(some, about);
  assertClose(found.upper, 95, { within: 1e-12 });
  assert.deepEqual(found.warnings, [
    { code: "resamples-lost", lost: 2, of: 103, because: "degenerate" },
  ]);
  const half = resampledLimits(Float64Array.of(1, 2, NaN, NaN), { ...about, estimate: 1.5 });
  assert.notEqual(half.lower, null);
  const most = resampledLimits(Float64Array.of(1, NaN, NaN), { ...about, estimate: 1 });
  assert.deepEqual([most.lower, most.upper, most.standardError], [null, null, null]);
  assert.deepEqual(most.warnings.map(({ code }) => code), ["too-few-resamples"]);
});

Deno.test("resamples that all equal the estimate but for rounding give no limits, a digit more does", () => {
  const near = (by: number) =>
    resampledLimits(Float64Array.from([0, 1, -1, 0], (way) => 50 + way * by), about);
  assert.deepEqual(near(1e-13).warnings, [{ code: "resamples-alike" }]);
  assert.equal(near(1e-13).lower, null);
  const { lower } = near(1e-9);
  assert.ok(lower !== null && lower < 50);
});

Deno.test("BCa limits of symmetric resamples without skew are the percentile ones, and say where a row's absence gave no number", () => {
  const jackknife = Float64Array.of(-1, 1, -2, 2, NaN);
  const bca = resampledLimits(counted(101), { ...about, jackknife, method: "bca" });
  assertClose(bca.bias, 0, { within: 1e-12 });
  assertClose(bca.acceleration, 0, { within: 1e-12 });
  assertClose(bca.lower, 5, { within: 1e-9 });
  assertClose(bca.upper, 95, { within: 1e-9 });
  assert.deepEqual(bca.warnings, [{ code: "degenerate-without", rows: 1 }]);
});

Deno.test("a BCa limit is said to be cut where it would lie beyond the outermost of n resamples, 1/(n + 1) in, on either side", () => {
  const isCut = (n: number, estimate: number, confidence: number) =>
    resampledLimits(counted(n), {
      estimate,
      jackknife: [-1, 1],
      method: "bca",
      confidence,
    }).warnings.some(({ code }) => code === "limit-cut");
  // Of 19 the outermost are 5% in: limits at 5.5% are not cut, those at 4.5% are.
  assert.deepEqual([isCut(19, 9, 0.89), isCut(19, 9, 0.91)], [false, true]);
  // 70% below the estimate moves limits at 5% and 95% to 28% and 99.7%, of which 101 resamples reach 99.0%.
  assert.deepEqual([isCut(101, 50, 0.9), isCut(101, 70, 0.9), isCut(101, 30, 0.9)], [
    false,
    true,
    true,
  ]);
});
