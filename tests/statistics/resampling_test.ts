import assert from "node:assert/strict";
import { jackknifeAcceleration } from "../../lib/statistics/bias_corrected.ts";
import { bootstrapInterval } from "../../lib/statistics/bootstrap_interval.ts";
import { orderStatistics } from "../../lib/statistics/order_statistics.ts";
import { productMoment } from "../../lib/statistics/pearson.ts";
import { permutationTest } from "../../lib/statistics/permutation_test.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { publishedCheck } from "./published.ts";
import { sayReason } from "../../lib/words/reasons.ts";

const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;

Deno.test("bootstrapInterval() gives the BCa limits of Efron and Tibshirani's law schools as R's boot does", () => {
  const { data, computed } = publishedCheck("resampling", "law-school-correlation");
  const schools = data.lsat.map((lsat: number, i: number) => [lsat, data.gpa[i]]);
  const r = (rows: readonly number[][]) =>
    productMoment(rows.map((s) => s[0]), rows.map((s) => s[1]));
  for (const [confidence, wanted] of [[0.95, "interval_95"], [0.9, "interval_90"]] as const) {
    const bca = bootstrapInterval<number[]>(schools, r, { method: "bca", confidence });
    assertClose(bca.lower, computed[wanted].bca[0], { within: 0.012 });
    assertClose(bca.upper, computed[wanted].bca[1], { within: 0.006 });
    assertClose(bca.acceleration, computed.jackknife.acceleration, { relative: 1e-9 });
    assertClose(bca.bias_correction, computed[wanted].z0, { within: 0.04 });
    assertClose(bca.standard_error, computed[wanted].bootstrap_se, { relative: 0.03 });
    const plain = bootstrapInterval<number[]>(schools, r, { method: "percentile", confidence });
    assertClose(plain.lower, computed[wanted].percentile[0], { within: 0.02 });
    assertClose(plain.upper, computed[wanted].percentile[1], { within: 0.006 });
  }
});

Deno.test("bootstrapInterval() gives the limits of Efron's spatial variance within Monte Carlo error", () => {
  const { data, computed } = publishedCheck("resampling", "spatial-variance");
  const variance = (values: readonly number[]) => {
    const centre = mean(values);
    return mean(values.map((value) => (value - centre) ** 2));
  };
  const found = bootstrapInterval(data as number[], variance, {
    method: "bca",
    confidence: 0.9,
    resamples: 20000,
  });
  assertClose(found.estimate, computed.variance, { relative: 1e-12 });
  assertClose(found.acceleration, computed.jackknife.acceleration, { relative: 1e-9 });
  assertClose(found.lower, computed.interval_90.bca[0], { within: 2 });
  assertClose(found.upper, computed.interval_90.bca[1], { within: 4 });
});

Deno.test("bootstrapInterval() approaches the enumeration of all 3125 resamples of five readings", () => {
  const { data, computed } = publishedCheck("resampling", "all-3125-resamples");
  const found = bootstrapInterval(data as number[], mean, { method: "bca", resamples: 40000 });
  assertClose(found.standard_error, computed.bootstrap_se_sd_with_n, { relative: 0.012 });
  assertClose(found.acceleration, computed.acceleration, { relative: 1e-9 });
  // Ties with the estimate count half.
  assertClose(found.bias_correction, computed.z0_half_ties, { within: 0.02 });
  const plain = bootstrapInterval(data as number[], mean, {
    method: "percentile",
    resamples: 40000,
  });
  assertClose(plain.lower, computed.quantiles_type_7["2.5%"], { within: 0.06 });
  assertClose(plain.upper, computed.quantiles_type_7["97.5%"], { within: 0.08 });
});

Deno.test("bootstrapInterval() gives reasons for one unit, a constant sample and a statistic that fails", () => {
  assert.deepEqual(bootstrapInterval([1], mean).estimate_reason, {
    code: "too-few",
    of: "rows",
    needed: 2,
    found: 1,
  });
  const constant = bootstrapInterval([2, 2, 2, 2], mean);
  assert.equal(constant.estimate, 2);
  assert.equal(constant.lower, null);
  assert.match(
    constant.warnings.map((one) => sayReason(one)).join(),
    /every resample gave the estimate itself/,
  );
  assert.deepEqual(bootstrapInterval([1, 2, 3], () => null).estimate_reason, {
    code: "not-computable",
  });
  const often = bootstrapInterval([1, 2, 3], (s) => new Set(s).size < 3 ? null : mean(s));
  assert.match(often.warnings.map((one) => sayReason(one)).join(), /too few are left/);
  assert.throws(() => bootstrapInterval([1, 2], mean, { resamples: 0 }), RangeError);
});

Deno.test("jackknifeAcceleration() of a constant is 0, not 0 over 0", () => {
  assert.equal(jackknifeAcceleration([1, 1, 1]), 0);
  assert.equal(jackknifeAcceleration([]), 0);
});

Deno.test("orderStatistics() gives the quantiles and counts of a full sort", () => {
  const stream = randomStream(3);
  for (
    const make of [
      () => stream.normal(),
      () => Math.round(stream.normal() * 3),
      () => 1e300 * stream.normal(),
    ]
  ) {
    for (const n of [1, 2, 63, 64, 1000]) {
      const values = Float64Array.from({ length: n }, make);
      const sorted = values.slice().sort();
      const found = orderStatistics(values);
      for (const share of [0, 0.025, 0.3, 0.5, 0.975, 1]) {
        const place = (n - 1) * share;
        const low = sorted[Math.floor(place)];
        const high = sorted[Math.ceil(place)];
        const wanted = low === high ? low : low + (place - Math.floor(place)) * (high - low);
        assert.equal(found.quantile(share), wanted);
      }
      for (const limit of [sorted[0], sorted[n >> 1], sorted[n - 1], 0.5, -1e308, 1e308]) {
        assert.equal(found.below(limit), sorted.filter((value) => value < limit).length);
      }
    }
  }
});

Deno.test("permutationTest() tries all 11440 splits of Efron and Tibshirani's mice", () => {
  const { data, computed } = publishedCheck("resampling", "mouse-permutation");
  const one = permutationTest(data.treated, data.control, {
    design: "two groups",
    alternative: "greater",
  });
  assertClose(one.statistic, computed.difference, { relative: 1e-13 });
  assert.equal(one.tried, computed.splits);
  assertClose(one.p, computed.p_one_sided_exact, { relative: 1e-13 });
  const two = permutationTest(data.treated, data.control, { design: "two groups" });
  assertClose(two.p, computed.p_two_sided_exact, { relative: 1e-13 });
});

Deno.test("permutationTest() tries all 1024 sign changes of Box, Hunter and Hunter's soles", () => {
  const { data, computed } = publishedCheck("resampling", "paired-sole-wear");
  const one = permutationTest(data.b, data.a, { design: "paired", alternative: "greater" });
  assertClose(one.statistic, computed.mean_difference, { relative: 1e-12 });
  assert.equal(one.reached, computed.greater + computed.equal);
  assert.equal(one.tried, 1024);
  assertClose(permutationTest(data.a, data.b, { design: "paired" }).p, computed.p_two_sided_exact, {
    relative: 1e-13,
  });
});

Deno.test("permutationTest() samples what it cannot enumerate, and p is never 0", () => {
  const stream = randomStream(8);
  const a = Array.from({ length: 30 }, () => stream.normal() + 4);
  const b = Array.from({ length: 30 }, () => stream.normal());
  for (const design of ["two groups", "paired"] as const) {
    const found = permutationTest(a, b, { design, permutations: 999 });
    assert.equal(found.p, 0.001);
    assert.deepEqual(permutationTest(a, b, { design, permutations: 999 }), found);
  }
  assert.deepEqual(permutationTest([], [1], { design: "two groups" }).statistic_reason, {
    code: "too-few",
    of: "readings",
    needed: 1,
    found: 0,
  });
  assert.throws(() => permutationTest([1], [1, 2], { design: "paired" }), RangeError);
});
