import assert from "node:assert/strict";
import { boundedRanks, surelyLarger } from "../../lib/statistics/bounded_ranks.ts";
import type { CensoredReading } from "../../lib/statistics/censored_normal.ts";
import { kendallTauB } from "../../lib/statistics/kendall_tau_b.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { ranks } from "../../lib/statistics/ranks.ts";
import { spearman } from "../../lib/statistics/spearman.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";

/** Two columns that hang together, the first cut at bounds of its own in every row. */
function columns(seed: number, n: number, cut: (i: number) => number) {
  const stream = randomStream(seed);
  const y = Array.from({ length: n }, () => Math.round(10 * stream.normal()) / 10);
  const truth = y.map((value) => Math.round(10 * (value + stream.normal())) / 10);
  const x = truth.map((value, i): CensoredReading => value > cut(i) ? { above: cut(i) } : value);
  return { x, y, truth };
}

testInR(
  "kendallTauB() of readings beyond bounds has the concordant and discordant pairs of R's survival",
  () => {
    // One bound, and bounds of many heights, of which some can't be ordered with numbers.
    for (const cut of [() => 0.4, (i: number) => Math.round(10 * Math.sin(i)) / 10]) {
      const { x, y } = columns(7, 40, cut);
      const time = x.map((one) => typeof one === "number" ? one : (one as { above: number }).above);
      const [counts] = inR(`library(survival)
      fit <- concordance(Surv(${rVector(time)}, ${
        rVector(x.map((one) => typeof one === "number" ? 1 : 0))
      }) ~ ${rVector(y)}, timewt = "n")
      out(fit$count[c("concordant", "discordant", "tied.x")])`);
      const tau = kendallTauB(x, y, { interval: "none", permutations: 200 });
      assert.deepEqual([tau.concordant, tau.discordant], counts.slice(0, 2));
      // Tied in y alone, in survival's terms tied in the predictor.
      const [alone] = [
        y.flatMap((a, i) =>
          y.slice(0, i).filter((b, j) => a === b && surelyLarger(x[i], x[j]) !== 0)
        ).length,
      ];
      assert.equal(alone, counts[2]);
      assert.equal(tau.tied_y, y.flatMap((a, i) => y.slice(0, i).filter((b) => a === b)).length);
    }
  },
  { needs: "survival" },
);

testInR("kendallTauB() without bounds keeps the tie-corrected normal p of R's cor.test", () => {
  const { truth, y } = columns(3, 30, () => Infinity);
  const [[tau, p]] = inR(
    `t <- suppressWarnings(cor.test(${rVector(truth)}, ${rVector(y)}, method = "kendall"))
     out(c(t$estimate, t$p.value))`,
  );
  const own = kendallTauB(truth, y, { interval: "none", permutations: 0 });
  assertClose(own.estimate, tau, { within: 1e-12 });
  assertClose(own.p, p, { within: 1e-10 });
});

testInR("spearman() of readings below one bound is R's, all of them tied at the bottom", () => {
  const { truth, y } = columns(11, 30, () => Infinity);
  const x = truth.map((value): CensoredReading => value < 0 ? { below: 0 } : value);
  const [[rho]] = inR(
    `x <- ${rVector(truth)}; x[x < 0] <- -99
     out(cor(rank(x), rank(${rVector(y)})))`,
  );
  assertClose(spearman(x, y, { interval: "none", permutations: 100 }).estimate, rho, {
    within: 1e-12,
  });
});

Deno.test("boundedRanks() are mid-ranks where nothing is bounded, and sum to n(n + 1)/2 however much is", () => {
  const values = [3, 1, 1, 7, 2];
  assert.deepEqual(boundedRanks(values), ranks(values));
  const mixed: CensoredReading[] = [3, { below: 2 }, 1, { above: 2 }, { below: 4 }, 4];
  assert.equal(boundedRanks(mixed).reduce((sum, rank) => sum + rank), 21);
});

Deno.test("two bounds on a side, and a number short of a bound, can't be ordered; a number at or beyond it can", () => {
  assert.equal(surelyLarger({ below: 1 }, { below: 2 }), 0);
  assert.equal(surelyLarger({ below: 2 }, 1.5), 0);
  assert.equal(surelyLarger({ below: 1 }, 1), -1);
  assert.equal(surelyLarger({ above: 60 }, 60), 1);
  assert.equal(surelyLarger({ above: 3 }, { below: 3 }), 1);
  assert.throws(() => boundedRanks([{ below: NaN }, 1]), /not finite/);
});

Deno.test("p of Kendall's tau at bounds is false on no more than about 5% of 1,000 pairs of columns without relation", () => {
  let [found, normal] = [0, 0];
  for (let b = 0; b < 1000; b++) {
    const { y } = columns(5000 + b, 25, () => Infinity);
    const { x } = columns(90000 + b, 25, (i) => i % 3 === 0 ? -0.5 : 0.3);
    if (kendallTauB(x, y, { interval: "none", permutations: 0 }).p! < 0.05) normal++;
    if (b < 300 && kendallTauB(x, y, { interval: "none", permutations: 199 }).p! < 0.05) found++;
  }
  assert.ok(normal >= 30 && normal <= 70, `${normal} of 1000`);
  assert.ok(found <= 27, `${found} of 300`);
});
