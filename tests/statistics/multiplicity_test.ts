import assert from "node:assert/strict";
import { adjustP } from "../../lib/statistics/adjust_p.ts";
import { maxStatisticAdjust } from "../../lib/statistics/max_statistic_adjust.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";
import { publishedCheck } from "./published.ts";

Deno.test("adjustP() gives R's Holm and Benjamini-Hochberg values, on the 1995 paper's p-values too", () => {
  for (const id of ["benjamini-hochberg-1995", "holm-unsorted-ties"]) {
    const { data, computed } = publishedCheck("multiplicity", id);
    adjustP(data, "holm").forEach((p, i) => assertClose(p, computed.holm[i], { relative: 1e-13 }));
    adjustP(data, "benjamini-hochberg").forEach((q, i) =>
      assertClose(q, computed.benjamini_hochberg[i], { relative: 1e-13 })
    );
  }
  const { data } = publishedCheck("multiplicity", "benjamini-hochberg-1995");
  assert.equal(adjustP(data, "benjamini-hochberg").filter((q) => q <= 0.05).length, 4);
  assert.equal(adjustP(data, "holm").filter((p) => p <= 0.05).length, 3);
});

Deno.test("adjustP() handles one value, equal values, a zero and an empty list", () => {
  const { data, computed } = publishedCheck("multiplicity", "edge-cases");
  assert.deepEqual(adjustP([data.single], "holm"), [computed.single.holm]);
  for (const name of ["equal", "zero"]) {
    assert.deepEqual(adjustP(data[name], "holm"), computed[name].holm);
    assert.deepEqual(adjustP(data[name], "benjamini-hochberg"), computed[name].benjamini_hochberg);
  }
  assert.deepEqual(adjustP([], "holm"), []);
  assert.throws(() => adjustP([0.5, 1.2], "holm"), RangeError);
  assert.throws(() => adjustP([NaN], "holm"), RangeError);
});

Deno.test("maxStatisticAdjust() step-down never falls below plain p nor above single step", () => {
  const stream = randomStream(2);
  const observed = Array.from({ length: 6 }, () => Math.abs(stream.normal()) * 1.5);
  const rows = Array.from({ length: 500 }, () => observed.map(() => Math.abs(stream.normal())));
  const { p, p_single_step, p_step_down } = maxStatisticAdjust(observed, rows);
  observed.forEach((_, j) => {
    assert.ok(p[j] <= p_step_down[j] && p_step_down[j] <= p_single_step[j]);
  });
  const strongest = observed.indexOf(Math.max(...observed));
  assert.equal(p_step_down[strongest], p_single_step[strongest]);
  assert.throws(() => maxStatisticAdjust([1, 2], [[1]]), RangeError);
  assert.throws(() => maxStatisticAdjust([1, NaN], [[1, 2]]), RangeError);
});

testInR("adjustP() agrees with R's p.adjust on random lists with ties", () => {
  const stream = randomStream(5);
  const p = Array.from({ length: 40 }, () => Math.round(stream.uniform() ** 3 * 1000) / 1000);
  const [holm, bh] = inR(
    `p <- ${rVector(p)}; out(p.adjust(p, "holm")); out(p.adjust(p, "BH"))`,
  );
  adjustP(p, "holm").forEach((value, i) => assertClose(value, holm[i], { within: 1e-14 }));
  adjustP(p, "benjamini-hochberg").forEach((value, i) =>
    assertClose(value, bh[i], { within: 1e-14 })
  );
});
