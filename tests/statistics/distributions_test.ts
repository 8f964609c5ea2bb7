import assert from "node:assert/strict";
import * as distributions from "../../lib/statistics/distributions.ts";
import { assertClose } from "../assert_close.ts";
import table from "../references/distributions.json" with { type: "json" };

const {
  betaCdf,
  betaQuantile,
  chiSquaredCdf,
  chiSquaredQuantile,
  chiSquaredUpper,
  chiSquaredUpperQuantile,
  fCdf,
  fQuantile,
  fUpper,
  fUpperQuantile,
  logGamma,
  normalQuantile,
  normalUpper,
  tCdf,
  tQuantile,
  tUpper,
} = distributions;

const functions = distributions as unknown as Record<string, (...args: number[]) => number>;

for (const name of new Set(table.rows.map((row) => row.name))) {
  const rows = table.rows.filter((row) => row.name === name);
  Deno.test(`${name}() agrees with R to 1e-12 relative at ${rows.length} points, far tails included`, () => {
    for (const { args, value } of rows) {
      const found = functions[name](...args);
      assert.ok(
        Math.abs(found - value) <= 1e-12 * Math.abs(value),
        `${name}(${args}) is ${found}, R says ${value}`,
      );
    }
  });
}

Deno.test("logGamma() keeps its digits beside the zeros at 1 and 2", () => {
  // ln Γ(1 + e) = −γe + π²e²/12 − ζ(3)e³/3 + …; ln Γ(2 + e) = ln Γ(1 + e) + ln(1 + e)
  for (const e of [2 ** -20, -(2 ** -20), 2 ** -30]) {
    const near = -0.5772156649015329 * e + Math.PI ** 2 / 12 * e * e -
      1.2020569031595942 / 3 * e ** 3;
    assertClose(logGamma(1 + e), near, { relative: 1e-14 });
    assertClose(logGamma(2 + e), near + Math.log1p(e), { relative: 1e-14 });
  }
});

Deno.test("quantiles give back their share, in the far tails and at large and fractional freedom", () => {
  for (const p of [1e-200, 1e-50, 1e-10, 1e-4, 0.025, 0.2, 0.4999, 0.5, 0.7, 0.975, 0.999]) {
    for (const a of [2, 7.3, 59, 1e3, 1e5]) {
      // Rounding the quantile itself moves the share by up to a part in 1e10 at freedom 1e5.
      const close = { relative: 2e-10 };
      assertClose(chiSquaredCdf(chiSquaredQuantile(p, a), a), p, close);
      assertClose(chiSquaredUpper(chiSquaredUpperQuantile(p, a), a), p, close);
      assertClose(tCdf(tQuantile(p, a), a), p, close);
      for (const b of [3, 10.5, 240, 1e4]) {
        assertClose(fCdf(fQuantile(p, a, b), a, b), p, close);
        assertClose(fUpper(fUpperQuantile(p, a, b), a, b), p, close);
        if (p < 0.9 && a < 1e4) {
          assertClose(betaCdf(betaQuantile(p, a, b), a, b), p, { relative: 1e-8 });
        }
      }
    }
  }
});

Deno.test("quantiles agree with R's printed ones", () => {
  // R 4.2.2: qnorm(.975), qt(.975, 4), qt(.6, 2.5), qchisq(c(.025, .975), 7), qf(.95, 3, 16), qbeta(.1, 2, 5)
  assertClose(normalQuantile(0.975), 1.95996398454005, { relative: 1e-14 });
  assertClose(tQuantile(0.975, 4), 2.77644510519779, { relative: 1e-14 });
  assertClose(chiSquaredQuantile(0.025, 7), 1.689869180677354, { relative: 1e-13 });
  assertClose(chiSquaredQuantile(0.975, 7), 16.01276427462932, { relative: 1e-13 });
  assertClose(fQuantile(0.95, 3, 16), 3.238871517453584, { relative: 1e-13 });
  assertClose(betaQuantile(0.1, 2, 5), 0.09259525891312875, { relative: 1e-13 });
});

Deno.test("infinite freedom gives the limiting distribution and huge freedom comes close to it", () => {
  assert.equal(tUpper(2, Infinity), normalUpper(2));
  assertClose(tUpper(2, 1e13), normalUpper(2), { relative: 1e-11 });
  assertClose(fUpper(2, 5, Infinity), chiSquaredUpper(10, 5), { relative: 1e-14 });
  assertClose(fUpper(2, 5, 1e13), chiSquaredUpper(10, 5), { relative: 1e-11 });
  assertClose(fQuantile(0.3, Infinity, 8), 8 / chiSquaredQuantile(0.7, 8), { relative: 1e-13 });
});

Deno.test("wrong calls throw a RangeError that shows the number", () => {
  assert.throws(() => fUpper(1, 0, 5), { name: "RangeError", message: /given 0/ });
  assert.throws(() => tQuantile(1.2, 5), { name: "RangeError", message: /given 1\.2/ });
  assert.throws(() => chiSquaredCdf(NaN, 5), RangeError);
  assert.throws(() => logGamma(-1), RangeError);
});
