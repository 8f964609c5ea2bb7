import assert from "node:assert/strict";
import { coefficientOfVariation } from "../../lib/statistics/coefficient_of_variation.ts";
import { distinctCategories } from "../../lib/statistics/distinct_categories.ts";
import { interlaboratoryPrecision } from "../../lib/statistics/interlaboratory_precision.ts";
import { minimalDetectableChange } from "../../lib/statistics/minimal_detectable_change.ts";
import { repeatabilityLimit } from "../../lib/statistics/repeatability_limit.ts";
import { repeatabilitySd } from "../../lib/statistics/repeatability_sd.ts";
import { readingsNeeded, spearmanBrown } from "../../lib/statistics/spearman_brown.ts";
import { standardErrorOfMeasurement } from "../../lib/statistics/standard_error_of_measurement.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns, published } from "./outside_reference.ts";

const children = (() => {
  const { child, value } = csvColumns("data/peak-flow-children-1996.csv");
  return [...new Set(child)].map((id) => value.filter((_, i) => child[i] === id).map(Number));
})();
const { computed } = published("within-subject", "bland-altman-1996-measurement-error");
const close = { relative: 1e-10 };

Deno.test("repeatabilitySd() is Bland & Altman's within-subject SD of twenty children, with its interval", () => {
  const found = repeatabilitySd(children);
  assertClose(found.estimate, computed.within_subject_sd, close);
  assertClose(found.lower, computed.within_subject_sd_interval_95[0], close);
  assertClose(found.upper, computed.within_subject_sd_interval_95[1], close);
  assertClose(
    repeatabilityLimit(found).estimate,
    computed["repeatability_limit_1.96_root_2"],
    close,
  );
});

Deno.test("repeatabilitySd() pools unequal trial counts and passes over missing readings", () => {
  const found = repeatabilitySd([[48, null, 50, 52], [44, 44], [7], [null]]);
  assertClose(found.estimate, Math.sqrt(8 / 3), close); // 8 over 3 degrees of freedom, by hand
  assert.equal(found.n, 5);
});

Deno.test("repeatabilitySd() keeps its digits at an offset of a billion, and scales with the unit", () => {
  const far = repeatabilitySd(children.map((row) => row.map((x) => x + 1e9)));
  assertClose(far.estimate, computed.within_subject_sd, close);
  const mm = repeatabilitySd(children.map((row) => row.map((x) => 10 * x)));
  assertClose(mm.upper, 10 * computed.within_subject_sd_interval_95[1], close);
});

Deno.test("coefficientOfVariation() gives the root mean square and the log figure of the same children", () => {
  assertClose(coefficientOfVariation(children).estimate, computed.rms_cv, close);
  const log = coefficientOfVariation(children, { method: "log" });
  assertClose(log.estimate, computed.cv_from_logs_lognormal, close);
  assert.ok(log.lower! < log.estimate! && log.estimate! < log.upper!);
});

Deno.test("limits of a coefficient of variation are the root of its squares over chi-squared quantiles", () => {
  // (1² + 1²)/10² + (2² + 2²)/20² = 0.04 with 2 degrees of freedom, whose chi-squared is −2 ln(1 − p).
  const found = coefficientOfVariation([[9, 11], [18, 22]]);
  assertClose(found.estimate, Math.sqrt(0.02), { within: 1e-12 });
  assertClose(found.lower, Math.sqrt(0.04 / (-2 * Math.log(0.025))), { within: 1e-9 });
  assertClose(found.upper, Math.sqrt(0.04 / (-2 * Math.log(0.975))), { within: 1e-9 });
});

Deno.test("coefficientOfVariation() refuses readings around 0 with a reason instead of a number", () => {
  assert.deepEqual(coefficientOfVariation([[-1, 1], [2, 3]]).estimate_reason, {
    code: "not-positive",
    which: "mean",
  });
  assert.deepEqual(coefficientOfVariation([[0, 1]], { method: "log" }).estimate_reason, {
    code: "not-positive",
    which: "reading",
  });
  assert.deepEqual(coefficientOfVariation([[1], [2]]).estimate_reason, {
    code: "no-repeats",
    subjects: 2,
  });
  assert.deepEqual(coefficientOfVariation([[3, 3], [4, 4]]).estimate_reason, {
    code: "hidden-by-resolution",
  });
  assert.deepEqual(coefficientOfVariation([[3, 3]], { method: "log" }).estimate_reason, {
    code: "hidden-by-resolution",
  });
});

Deno.test("the small formulas give the published factors", () => {
  const { computed } = published("within-subject", "formulas");
  const one = { ...repeatabilitySd([[0, 2], [4, 6]]), estimate: 1 };
  assertClose(repeatabilityLimit(one).estimate, computed.factor, close);
  assertClose(repeatabilityLimit(one, { probability: 0.9 }).estimate, computed.factor_90, close);
  assertClose(minimalDetectableChange(one).estimate, computed.mdc95_of_sem_1, close);
  assertClose(
    minimalDetectableChange(one, { averaged: 3 }).estimate,
    computed.mdc95_of_mean_of_3_sem_1,
    close,
  );
  assertClose(standardErrorOfMeasurement(one, { averaged: 4 }).estimate, 0.5, close);
});

Deno.test("minimalDetectableChange() adds the session's variance, and its limits hold the single ones as a special case", () => {
  const sd = repeatabilitySd(children);
  const plain = minimalDetectableChange(sd);
  assertClose(plain.upper, 2.77180764869936 * sd.upper!, close);
  assertClose(plain.lower, 2.77180764869936 * sd.lower!, close);
  const session = { ...sd, estimate: 3, lower: 1, upper: 9 };
  const both = minimalDetectableChange(sd, { averaged: 4, session });
  assertClose(both.estimate, 2.77180764869936 * Math.hypot(sd.estimate! / 2, 3), close);
  assert.ok(both.lower! < both.estimate! && both.estimate! < both.upper!);
  const hidden = minimalDetectableChange(repeatabilitySd([[1], [2]]));
  assert.equal(hidden.estimate, null);
  assert.deepEqual(hidden.estimate_reason, { code: "no-repeats", subjects: 2 });
});

Deno.test("interlaboratoryPrecision() gives every figure of the E691 glucose example", () => {
  const { computed, published: printed } = published("within-subject", "astm-e691-glucose");
  const table = csvColumns("data/glucose-e691.csv");
  computed.material.forEach((material: string, m: number) => {
    const labs = [...new Set(table.lab)].map((lab) =>
      table.value.filter((_, i) => table.lab[i] === lab && table.material[i] === material).map(
        Number,
      )
    );
    const found = interlaboratoryPrecision(labs);
    assertClose(found.mean, computed.mean[m], close);
    assertClose(found.repeatabilitySd.estimate, computed.repeatability_sd[m], close);
    assertClose(found.reproducibilitySd.estimate, computed.reproducibility_sd[m], close);
    assertClose(found.betweenVariance, computed.between_lab_variance[m], { within: 1e-10 });
    // The standard rounds 1.96·√2 to 2.8.
    const rounded = 2.8 / 2.77180764869936;
    assertClose(
      rounded * found.repeatabilityLimit.estimate!,
      computed.repeatability_limit[m],
      close,
    );
    assertClose(
      rounded * found.reproducibilityLimit.estimate!,
      computed.reproducibility_limit[m],
      close,
    );
    assert.equal(
      found.reproducibilitySd.estimate!.toFixed(4),
      printed.reproducibility_sd[m].toFixed(4),
    );
    assert.equal(found.boundary, material === "A");
    const { lower, upper, estimate } = found.reproducibilitySd;
    assert.ok(lower! <= estimate! && estimate! <= upper!);
  });
});

Deno.test("interlaboratoryPrecision() gives reasons for one operator and for operators who read once", () => {
  assert.deepEqual(interlaboratoryPrecision([[1, 2, 3]]).reproducibilitySd.estimate_reason, {
    code: "too-few",
    of: "groups",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(interlaboratoryPrecision([[1], [2]]).reproducibilitySd.estimate_reason, {
    code: "no-repeats",
    subjects: 2,
  });
});

Deno.test("distinctCategories() counts 4 in the 10 by 3 by 3 gauge study", () => {
  const { computed } = published("gauge", "gauge-10x3x3");
  const found = distinctCategories(computed.sd.part, computed.sd.gauge);
  assertClose(found.beforeCut, computed.distinct_categories_before_floor, close);
  assert.equal(found.categories, 4);
  assert.deepEqual(distinctCategories(1, 0).categories_reason, { code: "no-noise", of: "bench" });
  assert.throws(() => distinctCategories(-1, 1), { name: "RangeError", message: /-1/ });
});

Deno.test("spearmanBrown() and readingsNeeded() give the published steps", () => {
  const { computed } = published("charts-and-reliability", "spearman-brown");
  for (const { r, k, reliability } of computed.stepped_up) {
    assertClose(spearmanBrown(r, k), reliability, close);
  }
  for (const { r, wanted, k, trials } of computed.k_needed) {
    const found = readingsNeeded(r, wanted);
    assertClose(found.beforeRounding, k, close);
    assert.equal(found.readings, trials);
  }
  assert.deepEqual(readingsNeeded(-0.1, 0.9).readings_reason, {
    code: "not-positive",
    which: "reliability",
  });
  assert.equal(spearmanBrown(-0.5, 4), null);
  assert.throws(() => readingsNeeded(0.5, 1), RangeError);
});

Deno.test("wrong calls throw and show what was given", () => {
  assert.throws(() => repeatabilitySd([[1, Infinity]]), {
    name: "RangeError",
    message: /Infinity/,
  });
  assert.throws(() => repeatabilitySd([[1, 2]], { confidence: 95 }), {
    name: "RangeError",
    message: /95/,
  });
  assert.throws(
    () => standardErrorOfMeasurement(repeatabilitySd([[1, 2]]), { averaged: 0 }),
    RangeError,
  );
});
