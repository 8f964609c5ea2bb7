import assert from "node:assert/strict";
import { kendallTauB } from "../../lib/statistics/kendall_tau_b.ts";
import { pearson } from "../../lib/statistics/pearson.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { doubledCentredRanks, ranks } from "../../lib/statistics/ranks.ts";
import { spearman } from "../../lib/statistics/spearman.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";
import { publishedCheck } from "./published.ts";
import { sayReason } from "../../lib/words/reasons.ts";

const tuna = publishedCheck("rank-correlation", "tuna-colour");
const grades = publishedCheck("rank-correlation", "gmat-grades-ties");
const small = publishedCheck("rank-correlation", "small-permutation-p");
const critical = publishedCheck("rank-correlation", "spearman-critical-values");

Deno.test("ranks() shares the mean place among ties, and doubled ranks are whole and sum to 0", () => {
  assert.deepEqual(ranks([3, 1, 3, 3, 2]), [4, 1, 4, 4, 2]);
  const doubled = doubledCentredRanks([3, 1, 3, 3, 2]);
  assert.deepEqual([...doubled], [2, -4, 2, 2, -2]);
  assert.equal(doubled.reduce((a, b) => a + b), 0);
  assert.deepEqual(ranks([]), []);
  assert.throws(() => ranks([1, NaN]), RangeError);
});

Deno.test("spearman() gives 0.6 for Hollander and Wolfe's tuna lots", () => {
  const { estimate, p } = spearman(tuna.data.x, tuna.data.y, { interval: "none" });
  assertClose(estimate, tuna.computed.spearman, { relative: 1e-14 });
  // 10,000 permutations: standard error 0.003.
  assertClose(p, tuna.computed.spearman_p_two_sided_exact, { within: 0.012 });
});

Deno.test("spearman() and its t approximation agree with scipy on Conover's grades, ties in both", () => {
  const { estimate, p, method } = spearman(grades.data.x, grades.data.y, {
    interval: "none",
    permutations: 0,
  });
  assertClose(estimate, grades.computed.spearman, { relative: 1e-13 });
  assertClose(p, grades.computed.spearman_p_t_approximation, { relative: 1e-11 });
  assert.match(method, /t approximation/);
});

for (const wanted of small.computed.cases) {
  Deno.test(`spearman() and kendallTauB() count all orders exactly for ${wanted.name}`, () => {
    const rho = spearman(wanted.x, wanted.y, { interval: "none" });
    assertClose(rho.estimate, wanted.spearman, { relative: 1e-14 });
    assertClose(rho.p, wanted.spearman_p_exact_permutation, { relative: 1e-14 });
    const tau = kendallTauB(wanted.x, wanted.y, { interval: "none" });
    assertClose(tau.estimate, wanted.kendall.tau_b, { relative: 1e-14 });
    assert.equal(tau.concordant, wanted.kendall.concordant);
    assert.equal(tau.discordant, wanted.kendall.discordant);
    assert.equal(tau.tied_x, wanted.kendall.tied_x);
    assert.equal(tau.tied_y, wanted.kendall.tied_y);
    if (wanted.kendall_p_exact_permutation !== null) {
      assertClose(tau.p, wanted.kendall_p_exact_permutation, { relative: 1e-13 });
    }
  });
}

Deno.test("spearman() reaches Zar's exact tail probabilities for n = 5 to 8 without ties", () => {
  for (const n of [5, 6, 7, 8]) {
    const x = Array.from({ length: n }, (_, i) => i);
    const tail = critical.computed.upper_tail_by_sum_of_squared_differences[String(n)];
    // Swapping two neighbours at the end gives a sum of squared differences of 2.
    const y = [...x.slice(0, n - 2), n - 1, n - 2];
    assertClose(spearman(x, y, { interval: "none" }).p, 2 * tail["2"], { relative: 1e-12 });
  }
});

Deno.test("kendallTauB() gives scipy's exact p for the tuna lots and its normal p for the grades", () => {
  const exact = kendallTauB(tuna.data.x, tuna.data.y);
  assertClose(exact.estimate, tuna.computed.kendall_tau, { relative: 1e-14 });
  assertClose(exact.p, tuna.computed.kendall_p_exact, { relative: 1e-13 });
  assert.equal(exact.concordant, tuna.computed.kendall_T);
  const normal = kendallTauB(grades.data.x, grades.data.y, { permutations: 0 });
  assertClose(normal.estimate, grades.computed.kendall.tau_b, { relative: 1e-14 });
  assertClose(normal.p, grades.computed.kendall_p_asymptotic, { relative: 1e-11 });
  const permuted = kendallTauB(grades.data.x, grades.data.y);
  assertClose(permuted.p, normal.p!, { within: 0.015 });
});

Deno.test("pearson() gives numpy's correlation of Conover's grades", () => {
  assertClose(pearson(grades.data.x, grades.data.y).estimate, grades.computed.pearson, {
    relative: 1e-13,
  });
});

Deno.test("pearson() gives Efron and Tibshirani's law school correlation, Fisher and BCa intervals", () => {
  const law = publishedCheck("resampling", "law-school-correlation");
  const fisher = pearson(law.data.lsat, law.data.gpa);
  assertClose(fisher.estimate, law.computed.correlation, { relative: 1e-13 });
  assertClose(fisher.lower, law.computed.fisher_95[0], { relative: 1e-10 });
  assertClose(fisher.upper, law.computed.fisher_95[1], { relative: 1e-10 });
  const bca = pearson(law.data.lsat, law.data.gpa, { interval: "bca" });
  assertClose(bca.lower, law.computed.interval_95.bca[0], { within: 0.015 });
  assertClose(bca.upper, law.computed.interval_95.bca[1], { within: 0.01 });
});

Deno.test("correlations do not change when rows are reordered or cm become mm", () => {
  const x = [4.1, 2.2, 3.3, 3.3, 5.8, 1.9, 4.4, 4.0, 2.7, 3.1];
  const y = [7, 5, 6, 5, 8, 6, 8, 7, 5, 7];
  const turned = x.map((_, i) => (i * 7 + 3) % 10);
  for (const correlate of [spearman, kendallTauB, pearson]) {
    const { estimate } = correlate(x, y, { interval: "none" });
    const other = correlate(turned.map((i) => x[i] * 10), turned.map((i) => y[i]), {
      interval: "none",
    });
    assertClose(other.estimate, estimate!, { relative: 1e-14 });
    const swapped = correlate(y, x, { interval: "none" });
    assertClose(swapped.estimate, estimate!, { relative: 1e-14 });
  }
});

Deno.test("correlations are null with a reason for constant, tied, short and missing columns", () => {
  for (const correlate of [spearman, kendallTauB, pearson]) {
    for (
      const [x, y, reason] of [
        [[1, 1, 1, 1], [1, 2, 3, 4], /first column has one value/],
        [[1, 2, 3, 4], [5, 5, 5, 5], /second column has one value/],
        [[2, 2, 2], [5, 5, 5], /both columns have one value/],
        [[1, 2], [2, 1], /only 2 shoes have both/],
        [[], [], /no shoes have both/],
        [[1, null, 3, null], [1, 2, null, 4], /only 1 shoe has both/],
      ] as [(number | null)[], (number | null)[], RegExp][]
    ) {
      const found = correlate(x, y);
      assert.equal(found.estimate, null);
      assert.match(sayReason(found.estimate_reason!), reason);
      assert.equal(found.p, null);
      assert.equal(found.lower, null);
    }
    assert.throws(() => correlate([1, 2, 3], [1, 2]), RangeError);
    assert.throws(() => correlate([1, 2, NaN], [1, 2, 3]), RangeError);
    assert.throws(() => correlate([1, 2, Infinity], [1, 2, 3]), RangeError);
  }
});

Deno.test("missing values leave out their row and nothing else", () => {
  const x = [4, 2, null, 3, 5, 1, 6, 9, 8];
  const y = [7, null, 6, 5, 8, 6, 8, 9, 4];
  const kept = [0, 3, 4, 5, 6, 7, 8];
  const whole = spearman(kept.map((i) => x[i]!), kept.map((i) => y[i]!));
  assert.deepEqual(spearman(x, y), whole);
  assert.equal(whole.n, 7);
});

Deno.test("a perfect correlation has no resampled interval and says why", () => {
  const found = spearman([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5, 6]);
  assert.equal(found.estimate, 1);
  assert.equal(found.lower, null);
  assert.match(
    found.warnings.map((one) => sayReason(one)).join(),
    /every resample gave the estimate itself/,
  );
  assertClose(found.p, 2 / 720, { relative: 1e-12 });
});

Deno.test("the same seed gives the same interval and p, another seed another", () => {
  const stream = randomStream(4);
  const x = Array.from({ length: 20 }, () => stream.normal());
  const y = x.map((value) => value + stream.normal());
  const first = spearman(x, y, { seed: 1, resamples: 500, permutations: 500 });
  assert.deepEqual(spearman(x, y, { seed: 1, resamples: 500, permutations: 500 }), first);
  const other = spearman(x, y, { seed: 2, resamples: 500, permutations: 500 });
  assert.notEqual(other.lower, first.lower);
  assert.equal(other.estimate, first.estimate);
});

testInR(
  "spearman(), pearson() and kendallTauB() agree with R's cor on random columns with ties",
  () => {
    const stream = randomStream(11);
    for (let round = 0; round < 5; round++) {
      const n = 5 + stream.integer(60);
      const x = Array.from({ length: n }, () => Math.round(stream.normal() * 4) / 4);
      const y = x.map((value) => Math.round(value + 2 * stream.normal()));
      const [[rho, tau, r], [pRho, pR]] = inR(`
      x <- ${rVector(x)}; y <- ${rVector(y)}
      out(c(cor(x, y, method = "spearman"), cor(x, y, method = "kendall"), cor(x, y)))
      out(c(cor.test(rank(x), rank(y))$p.value, cor.test(x, y)$p.value))`);
      const found = spearman(x, y, { interval: "none", permutations: n > 8 ? 0 : 1 });
      assertClose(found.estimate, rho, { within: 1e-12 });
      if (n > 8) assertClose(found.p, pRho, { relative: 1e-9 });
      assertClose(kendallTauB(x, y, { interval: "none" }).estimate, tau, { within: 1e-12 });
      assertClose(pearson(x, y).estimate, r, { within: 1e-12 });
      assertClose(pearson(x, y).p, pR, { relative: 1e-8 });
    }
  },
);

testInR(
  "kendallTauB() has the percentile and BCa limits of R's boot, up to their own chance",
  () => {
    const random = randomStream(12);
    const x = Array.from({ length: 24 }, () => random.integer(9));
    const y = x.map((value) => Math.round((value + 3 * random.normal()) / 2));
    const [percentile, bca] = inR(`suppressMessages(library(boot)); set.seed(3)
d <- data.frame(x = ${rVector(x)}, y = ${rVector(y)})
b <- boot(d, function(d, i) cor(d$x[i], d$y[i], method = "kendall"), R = 6000)
ci <- boot.ci(b, type = c("perc", "bca")); out(ci$percent[4:5]); out(ci$bca[4:5])`);
    for (const [interval, [lower, upper]] of [["percentile", percentile], ["bca", bca]] as const) {
      const own = kendallTauB(x, y, { interval, resamples: 6000 });
      // A limit of 6,000 draws has a standard error of about 0.006.
      assertClose(own.lower, lower, { within: 0.025 });
      assertClose(own.upper, upper, { within: 0.025 });
    }
  },
);
