import assert from "node:assert/strict";
import { gaussHermite } from "../../lib/statistics/gauss_hermite.ts";
import { proportionalOdds } from "../../lib/statistics/proportional_odds.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rMatrix, rVector, testInR } from "./in_r.ts";
import { publishedCheck, publishedTable } from "./published.ts";
import { sayReason } from "../../lib/words/reasons.ts";

Deno.test("proportionalOdds() gives polr's coefficients on the housing survey of Venables and Ripley", () => {
  const { computed } = publishedCheck("regression", "housing-proportional-odds");
  const table = publishedTable("housing.csv");
  const names = Object.keys(computed.coefficients);
  const X = table.Sat.map((_, i) =>
    names.map((name) =>
      [`Infl${table.Infl[i]}`, `Type${table.Type[i]}`, `Cont${table.Cont[i]}`].includes(name)
        ? 1
        : 0
    )
  );
  const ratings = table.Sat.map((word) => ["Low", "Medium", "High"].indexOf(word));
  const found = proportionalOdds(X, ratings, { counts: table.Freq.map(Number) });
  assert.equal(found.converged, true);
  assert.equal(found.n, 1681);
  names.forEach((name, j) => {
    assertClose(found.coefficients[j], computed.coefficients[name], { relative: 1e-8 });
    assertClose(found.standard_errors[j], computed.se[j], { relative: 1e-4 });
  });
  found.cutpoints.forEach((cut, k) => assertClose(cut, computed.cut_points[k], { relative: 1e-8 }));
  assertClose(-2 * found.logLikelihood!, computed.residual_deviance, { relative: 1e-12 });
});

Deno.test("gaussHermite() integrates even powers against exp(-x²) as the gamma function does", () => {
  for (const count of [1, 2, 3, 10, 21, 40]) {
    const { points, weights } = gaussHermite(count);
    let wanted = Math.sqrt(Math.PI);
    for (let power = 0; power <= Math.min(2 * count - 1, 20); power += 2) {
      const sum = points.reduce((total, x, k) => total + weights[k] * x ** power, 0);
      assertClose(sum, wanted, { relative: 1e-12 });
      wanted *= (power + 1) / 2;
    }
    assert.equal(points.length, count);
  }
});

/** Invented ratings on 1 to 5 by lenient and strict raters. */
function inventedRatings(seed: number, raters: number, each: number, leniency: number) {
  const stream = randomStream(seed);
  const X: number[][] = [];
  const ratings: number[] = [];
  const rater: string[] = [];
  for (let r = 0; r < raters; r++) {
    const own = leniency * stream.normal();
    for (let k = 0; k < each; k++) {
      const row = [stream.normal(), stream.normal() * 10];
      const u = stream.uniform();
      const eta = 0.8 * row[0] - 0.05 * row[1] + own + Math.log(u / (1 - u));
      X.push(row);
      ratings.push([-2, -0.5, 0.5, 2].filter((cut) => eta > cut).length + 1);
      rater.push(`rater ${r}`);
    }
  }
  return { X, ratings, rater };
}

testInR(
  "proportionalOdds() with raters agrees with R's ordinal::clmm on the same quadrature",
  () => {
    const { X, ratings, rater } = inventedRatings(7, 12, 15, 1);
    const [coefficients, errors, fit] = inR(`
    suppressPackageStartupMessages(library(ordinal)); X <- ${rMatrix(X)}
    d <- data.frame(y = factor(${rVector(ratings)}, ordered = TRUE), a = X[, 1], b = X[, 2],
      r = factor(${rVector(rater.map((id) => Number(id.slice(6))))}))
    f <- clmm(y ~ a + b + (1 | r), data = d, nAGQ = 21, control = clmm.control(gradTol = 1e-8))
    s <- sqrt(diag(vcov(f)))
    out(coef(f)); out(s[1:6]); out(c(as.numeric(logLik(f)), as.numeric(f$ST$r)))`);
    const found = proportionalOdds(X, ratings, { rater });
    assert.equal(found.converged, true);
    assertClose(found.logLikelihood, fit[0], { within: 1e-6 });
    assertClose(found.rater_sd, fit[1], { relative: 1e-4 });
    [...found.cutpoints, ...found.coefficients].forEach((value, j) =>
      assertClose(value, coefficients[j], { within: 2e-4 })
    );
    [...found.cutpoint_errors, ...found.standard_errors].forEach((value, j) =>
      assertClose(value, errors[j], { relative: 2e-3 })
    );
  },
);

testInR("proportionalOdds() without raters agrees with R's MASS::polr on random ratings", () => {
  const { X, ratings } = inventedRatings(8, 1, 80, 0);
  const [coefficients, cuts] = inR(`
    X <- ${rMatrix(X)}; y <- factor(${rVector(ratings)}, ordered = TRUE)
    f <- MASS::polr(y ~ X, control = list(reltol = 1e-14)); out(coef(f)); out(f$zeta)`);
  const found = proportionalOdds(X, ratings);
  found.coefficients.forEach((value, j) => assertClose(value, coefficients[j], { within: 1e-5 }));
  found.cutpoints.forEach((value, j) => assertClose(value, cuts[j], { within: 1e-5 }));
});

Deno.test("proportionalOdds() with raters recovers planted effects that ignoring raters shrinks", () => {
  const { X, ratings, rater } = inventedRatings(9, 30, 20, 2);
  const mixed = proportionalOdds(X, ratings, { rater });
  const plain = proportionalOdds(X, ratings);
  assertClose(mixed.coefficients[0], 0.8, { within: 0.25 });
  assertClose(mixed.rater_sd, 2, { within: 0.7 });
  assert.ok(Math.abs(plain.coefficients[0]!) < Math.abs(mixed.coefficients[0]!));
  assert.ok(mixed.logLikelihood! > plain.logLikelihood!);
});

Deno.test("proportionalOdds() counts only the order of ratings, and units only rescale a coefficient", () => {
  const { X, ratings } = inventedRatings(10, 1, 60, 0);
  const found = proportionalOdds(X, ratings);
  const stretched = proportionalOdds(X, ratings.map((rating) => rating ** 3));
  assert.deepEqual(stretched.coefficients, found.coefficients);
  const scaled = proportionalOdds(X.map(([a, b]) => [a * 1000, b + 7]), ratings);
  assertClose(scaled.coefficients[0]! * 1000, found.coefficients[0]!, { relative: 1e-7 });
  assertClose(scaled.coefficients[1], found.coefficients[1]!, { relative: 1e-7 });
});

Deno.test("proportionalOdds() says when ratings are separated, equal, or a column tells nothing", () => {
  const x = [[1], [2], [3], [4], [5], [6], [7], [8]];
  const separated = proportionalOdds(x, [1, 1, 1, 1, 2, 2, 2, 2]);
  assert.deepEqual(separated.coefficients, [null]);
  assert.match(sayReason(separated.reason!), /separate the ratings/);
  assert.deepEqual(proportionalOdds(x, [1, 2, 3, 4, 5, 6, 7, 8]).reason, { code: "separated" });
  assert.deepEqual(proportionalOdds(x, x.map(() => 3)).reason, {
    code: "constant",
    which: "ratings",
  });
  assert.deepEqual(proportionalOdds(x.map(() => [2]), [1, 2, 1, 2, 1, 2, 1, 2]).reason, {
    code: "constant",
    which: "column",
    column: 1,
  });
  const twins = proportionalOdds(x.map(([v]) => [v, 2 * v]), [1, 2, 1, 2, 1, 2, 2, 2]);
  assert.deepEqual(twins.reason, { code: "dependent" });
  assert.throws(() => proportionalOdds(x, [1, 2]), RangeError);
  assert.throws(() => proportionalOdds([[1], [2]], [1, 2], { rater: ["a"] }), RangeError);
});

Deno.test("proportionalOdds() puts the leniency of alike raters at its boundary and says so", () => {
  const { X, ratings, rater } = inventedRatings(11, 6, 12, 0);
  const alternated = rater.map((_, i) => `r${i % 6}`);
  const found = proportionalOdds(X, ratings, { rater: alternated });
  if (found.rater_sd === 0) {
    assert.match(found.warnings.map((one) => sayReason(one)).join(), /boundary/);
  } else assert.ok(found.rater_sd! < 1);
  const one = proportionalOdds(X, ratings, { rater: rater.map(() => "only") });
  assert.match(one.warnings.map((one) => sayReason(one)).join(), /only one rater/);
});
