import assert from "node:assert/strict";
import {
  detectableEffect,
  rankCorrelationPower,
  rowsToDetect,
} from "../../lib/statistics/detectable_effect.ts";
import { disattenuate } from "../../lib/statistics/disattenuate.ts";
import { equivalence } from "../../lib/statistics/equivalence.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { spearman } from "../../lib/statistics/spearman.ts";
import { assertClose } from "../assert_close.ts";
import { inR, testInR } from "./in_r.ts";
import { sayReason } from "../../lib/words/reasons.ts";

Deno.test("disattenuate() divides by the ceiling and marks what exceeds 1", () => {
  const found = disattenuate({ raw: 0.5, reliabilityX: 0.8, reliabilityY: 0.6 });
  assertClose(found.estimate, 0.5 / Math.sqrt(0.48), { relative: 1e-14 });
  assertClose(found.ceiling, Math.sqrt(0.48), { relative: 1e-14 });
  assert.equal(found.raw, 0.5);
  const over = disattenuate({ raw: 0.9, reliabilityX: 0.6, reliabilityY: 0.6 });
  assertClose(over.estimate, 1.5, { relative: 1e-14 });
  assert.match(over.warnings.map((one) => sayReason(one)).join(), /above 1/);
  assert.deepEqual(disattenuate({ raw: 0.5, reliabilityX: 0, reliabilityY: 0.6 }).estimate_reason, {
    code: "not-positive",
    which: "reliability",
  });
  assert.deepEqual(
    disattenuate({ raw: 0.5, reliabilityX: null, reliabilityY: 1 }).estimate_reason,
    { code: "unknown", which: "reliability" },
  );
  assert.deepEqual(disattenuate({ raw: null, reliabilityX: 1, reliabilityY: 1 }).estimate_reason, {
    code: "unknown",
    which: "correlation",
  });
  assert.throws(() => disattenuate({ raw: 2, reliabilityX: 1, reliabilityY: 1 }), RangeError);
});

Deno.test("disattenuate() takes its limits from draws of all three together", () => {
  const raw = Float64Array.from({ length: 1001 }, (_, b) => b / 2000);
  const half = new Float64Array(1001).fill(0.5);
  const found = disattenuate(
    {
      raw: 0.25,
      reliabilityX: 0.5,
      reliabilityY: 0.5,
      draws: { raw, reliabilityX: half, reliabilityY: half },
    },
    { confidence: 0.9 },
  );
  assertClose(found.lower, 0.05, { relative: 1e-12 });
  assertClose(found.upper, 0.95, { relative: 1e-12 });
});

Deno.test("rankCorrelationPower() is what simulated normal samples show, within three points", () => {
  const n = 40;
  const r = 2 * Math.sin(Math.PI * 0.4 / 6); // Pearson's r whose rank correlation is 0.4
  const stream = randomStream(31);
  let found = 0;
  for (let run = 0; run < 1500; run++) {
    const x = Array.from({ length: n }, () => stream.normal());
    const y = x.map((value) => r * value + Math.sqrt(1 - r * r) * stream.normal());
    if (spearman(x, y, { interval: "none", permutations: 0 }).p! < 0.05) found++;
  }
  assertClose(rankCorrelationPower(0.4, n), found / 1500, { within: 0.03 });
});

Deno.test("detectableEffect() and rowsToDetect() are each other's inverse", () => {
  for (const n of [12, 30, 48, 100]) {
    const rho = detectableEffect(n)!;
    assertClose(rankCorrelationPower(rho, n), 0.8, { within: 1e-9 });
    assert.equal(rowsToDetect(rho + 1e-9), n);
  }
  assert.equal(detectableEffect(3), null);
  assert.equal(rowsToDetect(0), null);
  assert.equal(rankCorrelationPower(0, 30)?.toFixed(3), "0.050");
  assert.throws(() => rankCorrelationPower(1.5, 30), RangeError);
});

Deno.test("equivalence() needs the interval inside the margin, not merely no difference", () => {
  const narrow = equivalence({ estimate: 0.1, standardError: 0.1, freedom: 20 }, { margin: 0.5 });
  assert.equal(narrow.equivalent, true);
  const wide = equivalence({ estimate: 0, standardError: 0.6, freedom: 20 }, { margin: 0.5 });
  assert.equal(wide.equivalent, false);
  assert.equal(wide.beyond, false);
  assert.equal(equivalence({ estimate: 3, standardError: 0.6 }, { margin: 0.5 }).beyond, true);
  assert.equal(equivalence({ estimate: 0, standardError: 0 }, { margin: 0.5 }).equivalent, true);
  assert.throws(() => equivalence({ estimate: 0, standardError: 1 }, { margin: -1 }), RangeError);
  assert.throws(() => equivalence({ estimate: NaN, standardError: 1 }, { margin: 1 }), RangeError);
});

Deno.test("equivalence() rejects exactly when its interval lies inside", () => {
  const stream = randomStream(17);
  for (let run = 0; run < 500; run++) {
    const found = equivalence(
      { estimate: stream.normal(), standardError: 0.2 + stream.uniform(), freedom: 5 },
      { margin: [-1.5, 2] },
    );
    assert.equal(found.equivalent, found.p! < 0.05);
  }
});

testInR("equivalence() agrees with two one-sided t tests in R", () => {
  const [[p, lower, upper]] = inR(`
    x <- c(5.1, 4.8, 5.6, 5.0, 5.3, 4.9); y <- c(5.0, 5.2, 4.7, 5.1, 5.4, 4.6)
    a <- t.test(x, y, mu = -.5, alternative = "greater", var.equal = TRUE)
    b <- t.test(x, y, mu = .5, alternative = "less", var.equal = TRUE)
    out(c(max(a$p.value, b$p.value), t.test(x, y, var.equal = TRUE, conf.level = .9)$conf.int))`);
  const x = [5.1, 4.8, 5.6, 5.0, 5.3, 4.9];
  const y = [5.0, 5.2, 4.7, 5.1, 5.4, 4.6];
  const mean = (v: number[]) => v.reduce((a, b) => a + b) / v.length;
  const squares = (v: number[]) => v.reduce((sum, value) => sum + (value - mean(v)) ** 2, 0);
  const standardError = Math.sqrt((squares(x) + squares(y)) / 10 / 3);
  const found = equivalence(
    { estimate: mean(x) - mean(y), standardError, freedom: 10 },
    { margin: 0.5 },
  );
  assertClose(found.p, p, { relative: 1e-9 });
  assertClose(found.lower, lower, { relative: 1e-9 });
  assertClose(found.upper, upper, { relative: 1e-9 });
});

Deno.test("equivalence() takes a confidence between a half and 1, and neither of the two", () => {
  const found = { estimate: 0.2, standardError: 0.1 };
  for (const confidence of [0.5, 1, 0.2]) {
    assert.throws(() => equivalence(found, { margin: 0.5, confidence }), RangeError);
  }
  assert.equal(equivalence(found, { margin: 0.5, confidence: 0.51 }).equivalent, true);
});
