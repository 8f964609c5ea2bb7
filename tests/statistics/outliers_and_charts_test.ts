import assert from "node:assert/strict";
import { ewma } from "../../lib/statistics/ewma.ts";
import { generalizedEsd } from "../../lib/statistics/generalized_esd.ts";
import { grubbs, grubbsCritical } from "../../lib/statistics/grubbs.ts";
import { individualsChart } from "../../lib/statistics/individuals_chart.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { published } from "./outside_reference.ts";

const close = { relative: 1e-10 };

Deno.test("grubbsCritical() gives the tables of ASTM E178 and ISO 5725-2", () => {
  const { computed, published: printed } = published("outliers", "grubbs-critical-values");
  computed.n.forEach((n: number, i: number) => {
    assertClose(grubbsCritical(n, 0.1, 1), computed.one_sided_10[i], close);
    assertClose(grubbsCritical(n, 0.05, 1), computed.one_sided_5[i], close);
    assertClose(grubbsCritical(n, 0.01, 1), computed.one_sided_1[i], close);
    assertClose(grubbsCritical(n, 0.05, 2), computed.two_sided_5[i], close);
    assertClose(grubbsCritical(n, 0.01, 2), computed.two_sided_1[i], close);
  });
  for (const [n, value] of Object.entries(printed.two_sided_1_percent)) {
    assertClose(grubbsCritical(Number(n), 0.01, 2), value as number, { within: 0.0011 });
  }
});

Deno.test("grubbs() finds the uranium reading and the borderline residual of Venus", () => {
  const uranium = published("outliers", "grubbs-uranium");
  const high = grubbs(uranium.data, { alpha: 0.05, sides: "high" });
  assertClose(high.statistic, uranium.computed.g, close);
  assertClose(high.critical, uranium.computed.critical_one_sided_5, close);
  assertClose(high.p, uranium.computed.p_upper, { relative: 1e-6 });
  assert.deepEqual([high.index, high.outlier], [7, true]);
  assertClose(grubbs(uranium.data).p, uranium.computed.p_two_sided, { relative: 1e-6 });

  const venus = published("outliers", "grubbs-venus");
  const both = grubbs(venus.data, { alpha: 0.05 });
  assertClose(both.statistic, venus.computed.g_low, close);
  assertClose(both.critical, venus.computed.critical_two_sided_5, close);
  assertClose(both.p, venus.computed.p_two_sided, { relative: 1e-9 });
  assert.deepEqual([both.index, both.outlier], [0, true]);
  assertClose(grubbs(venus.data, { sides: "high" }).statistic, venus.computed.g_high, close);
  assert.equal(grubbs(venus.data, { sides: "high" }).outlier, false);
});

Deno.test("generalizedEsd() finds Rosner's three outliers though the first two steps fail", () => {
  const { data, computed } = published("outliers", "esd-rosner");
  const found = generalizedEsd(data, { most: 10, alpha: 0.05 });
  assert.equal(found.outliers.length, 3);
  assert.deepEqual(found.outliers.map((i) => data[i]), [6.01, 5.42, 5.34]);
  found.steps.forEach((step, i) => {
    assertClose(step.statistic, computed.statistic[i], close);
    assertClose(step.critical, computed.critical[i], close);
    assert.equal(step.value, computed.removed[i]);
  });
});

Deno.test("outlier tests raise a false alarm in about 5% of 4,000 clean samples (within 4 standard errors)", () => {
  const random = randomStream(17);
  let [single, several] = [0, 0];
  for (let sample = 0; sample < 4000; sample++) {
    const values = Array.from({ length: 30 }, random.normal);
    if (grubbs(values).outlier) single++;
    if (generalizedEsd(values, { most: 3 }).outliers.length > 0) several++;
  }
  const room = 4 * Math.sqrt(0.05 * 0.95 / 4000);
  assert.ok(Math.abs(single / 4000 - 0.05) < room, `grubbs ${single}`);
  assert.ok(Math.abs(several / 4000 - 0.05) < room, `generalized ESD ${several}`);
});

Deno.test("outlier tests pass over missing readings and keep positions of the list given", () => {
  assert.equal(grubbs([1, null, 2, 1.5, 90, 1.2, 1.1]).index, 4);
  assert.deepEqual(generalizedEsd([1, null, 2, 1.5, 90, 1.2, 1.1], { most: 1 }).outliers, [4]);
});

Deno.test("outlier tests give a reason for few, equal or one-valued readings and refuse wrong calls", () => {
  assert.deepEqual(grubbs([1, 2]).statistic_reason, {
    code: "too-few",
    of: "readings",
    needed: 3,
    found: 2,
  });
  assert.deepEqual(grubbs([1e9, 1e9, 1e9, 1e9]).statistic_reason, {
    code: "constant",
    which: "readings",
  });
  assert.equal(grubbs([5, 5, 5, 9]).p, 0);
  assert.deepEqual(generalizedEsd([3, 3, 3], { most: 1 }).reason, {
    code: "constant",
    which: "readings",
  });
  assert.deepEqual(generalizedEsd([5, 5, 5, 5, 5, 9], { most: 3 }).outliers, [5]);
  assert.throws(() => grubbs([1, 2, 3], { alpha: 5 }), {
    name: "RangeError",
    message: /alpha is 5/,
  });
  assert.throws(() => generalizedEsd([1, 2, 3], { most: 0 }), RangeError);
});

Deno.test("individualsChart() gives the handbook's flow rates with 2.66 and with 3/1.128", () => {
  const { data, computed } = published("charts-and-reliability", "individuals-flow-rate");
  const rounded = individualsChart(data);
  assertClose(rounded.centre, computed.mean, close);
  assertClose(rounded.meanMovingRange, computed.mean_moving_range, close);
  assertClose(rounded.lower, computed.with_2_66[0], close);
  assertClose(rounded.upper, computed.with_2_66[1], close);
  assertClose(rounded.movingRangeUpper, computed["moving_range_upper_3_267"], { relative: 1e-4 });
  const handbook = individualsChart(data, { factor: 3 / 1.128 });
  assertClose(handbook.lower, computed.with_3_over_1_128[0], close);
  assertClose(handbook.upper, computed.with_3_over_1_128[1], close);
  assert.deepEqual(rounded.signals, []);
});

Deno.test("individualsChart() signals a jump, a run of eight and a wide step, at positions of the list given", () => {
  const calm = [10, 11, 9, 10.5, 9.5, 10, 11, 9];
  assert.deepEqual(
    individualsChart([...calm, null, 30]).signals.filter(({ index }) => index > 7)
      .map(({ index, rule }) => [index, rule]),
    [[9, "beyond the limits"], [9, "moving range"]],
  );
  const shifted = [
    ...Array.from({ length: 10 }, (_, i) => 10 + i % 2),
    ...Array.from({ length: 9 }, (_, i) => 11.2 + i % 2 / 2),
  ];
  assert.ok(
    individualsChart(shifted).signals.some(({ index, rule }) =>
      index === 16 && rule === "eight in a row on one side"
    ),
  );
});

Deno.test("ewma() gives every average and both kinds of limits of the handbook's example", () => {
  const { data, computed } = published("charts-and-reliability", "ewma-handbook");
  const found = ewma(data, { lambda: 0.3, target: 50, sd: 2.0539 });
  computed.ewma.forEach((value: number, i: number) => {
    assertClose(found.averages[i], value, close);
    assertClose(found.upper[i] - 50, computed.exact_limits_half_width[i], close);
  });
  assertClose(found.steadyLower, computed.asymptotic_limits[0], close);
  assertClose(found.steadyUpper, computed.asymptotic_limits[1], close);
  assert.deepEqual(found.signals, []);
});

Deno.test("ewma() sees a slow drift that no single value betrays", () => {
  const random = randomStream(6);
  const drift = Array.from({ length: 40 }, (_, i) => 10 + random.normal() + (i > 19 ? 1.2 : 0));
  const known = { target: 10, sd: 1 };
  assert.ok(ewma(drift, { lambda: 0.2, ...known }).signals.some((i) => i > 19));
  assert.deepEqual(ewma(drift.slice(0, 20), { lambda: 0.2, ...known }).signals, []);
});

Deno.test("charts give a reason for nothing, one value and equal values, and refuse wrong calls", () => {
  assert.deepEqual(individualsChart([]).reason, {
    code: "too-few",
    of: "values",
    needed: 2,
    found: 0,
  });
  assert.deepEqual(individualsChart([5]).reason, {
    code: "too-few",
    of: "values",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(individualsChart([5, 5, null, 5]).reason, { code: "constant", which: "values" });
  assert.deepEqual(ewma([]).reason, { code: "too-few", of: "values", needed: 2, found: 0 });
  assert.deepEqual(ewma([5, 5, 5]).reason, { code: "constant", which: "values" });
  assert.throws(() => ewma([1, 2], { lambda: 0 }), { name: "RangeError", message: /given 0/ });
  assert.throws(() => individualsChart([1, Infinity]), RangeError);
});
