import assert from "node:assert/strict";
import { combinedP } from "../../lib/statistics/combined_p.ts";
import { tUpper } from "../../lib/statistics/distributions.ts";
import {
  noncentralChiSquaredCdf,
  noncentralityLimit,
} from "../../lib/statistics/noncentral_chi_squared.ts";
import { assertClose } from "../assert_close.ts";
import { Chance } from "../benchmarks/chance.ts";
import { inR, rVector, testInR } from "./in_r.ts";

testInR(
  "p-values of t tests of 2 to 30 degrees of freedom combine as Fisher's do in R, into the far tail",
  () => {
    const lists = [[0.9], [0.5, 0.5], [0.06, 0.07, 0.1], [1, 1e-12, 0.3, 1], [1e-60, 1e-80, 0.02]];
    const expected = inR(
      lists.map((p) =>
        `p <- ${rVector(p)}; out(pchisq(-2 * sum(log(p)), 2 * length(p), lower.tail = FALSE))`
      ).join("\n"),
    );
    lists.forEach((p, i) => assertClose(combinedP(p), expected[i][0], { relative: 1e-11 }));
    const [t, freedom] = [[2.1, -1.7, 0.4, 3], [2, 5, 10, 30]];
    const [[joint]] = inR(
      `p <- 2 * pt(-abs(${rVector(t)}), ${
        rVector(freedom)
      }); out(pchisq(-2 * sum(log(p)), 8, lower.tail = FALSE))`,
    );
    assertClose(combinedP(t.map((one, i) => 2 * tUpper(Math.abs(one), freedom[i]))), joint, {
      relative: 1e-11,
    });
  },
);

testInR(
  "R finds the same share of a noncentral chi-squared below a value, and a 95% limit leaves 5% there",
  () => {
    const cases = [[3, 1, 0.5], [10, 4, 20], [35, 11, 60], [0.2, 2, 1], [400, 12, 300]];
    const expected = inR(
      cases.map(([x, freedom, ncp]) => `out(pchisq(${x}, ${freedom}, ncp = ${ncp}))`).join("\n"),
    );
    cases.forEach(([x, freedom, ncp], i) =>
      assertClose(noncentralChiSquaredCdf(x, freedom, ncp), expected[i][0], { relative: 1e-9 })
    );
    for (const [squares, terms] of [[1, 1], [12, 11], [35, 11], [200, 3]]) {
      const limit = noncentralityLimit(squares, terms);
      const [[below]] = inR(`out(pchisq(${squares}, ${terms}, ncp = ${limit}))`);
      assertClose(below, 0.05, { relative: 1e-7 });
    }
  },
);

Deno.test("equal values on 1 to 12 metrics of 2 to 30 degrees of freedom have a joint p of 5% or less in 3 to 6 of 100 draws", () => {
  const chance = new Chance(11);
  const draws = 4000;
  for (const metrics of [1, 2, 5, 12]) {
    for (const freedom of [[2], [5], [30], [2, 30, 5, 10]]) {
      let small = 0;
      for (let draw = 0; draw < draws; draw++) {
        const p = Array.from({ length: metrics }, (_, i) => {
          const own = freedom[i % freedom.length];
          let squares = 0;
          for (let one = 0; one < own; one++) squares += chance.normal() ** 2;
          return Math.min(1, 2 * tUpper(Math.abs(chance.normal() / Math.sqrt(squares / own)), own));
        });
        if (combinedP(p) <= 0.05) small++;
      }
      const share = small / draws;
      assert.ok(share > 0.03 && share < 0.06, `${metrics} of ${freedom}: ${share}`);
    }
  }
});

Deno.test("many differences too small to show by themselves show together", () => {
  assert.ok(combinedP(Array.from({ length: 11 }, () => 0.1)) < 0.005);
  assert.ok(combinedP(Array.from({ length: 11 }, () => 0.5)) > 0.5);
});

Deno.test("a sum of squares that even no difference would exceed leaves a limit of 0", () => {
  assert.equal(noncentralityLimit(0.001, 11), 0);
  assert.throws(() => noncentralityLimit(-1, 3), RangeError);
  assert.throws(() => noncentralChiSquaredCdf(1, 2, NaN), RangeError);
  assert.throws(() => combinedP([]), RangeError);
  assert.throws(() => combinedP([0.5, 1.1]), RangeError);
});

Deno.test("a p-value that is 0, as of a t beyond all doubles, leaves 0 of all together", () => {
  assert.equal(combinedP([0, 0.5]), 0);
  assert.equal(combinedP([0]), 0);
  assert.ok(combinedP([1e-300, 1e-300]) < 1e-300);
  assert.equal(combinedP([1, 1]), 1);
});
