import assert from "node:assert/strict";
import { leastSquares, polynomialLeastSquares } from "../../lib/statistics/least_squares.ts";
import { partialRankCorrelation } from "../../lib/statistics/partial_rank_correlation.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { ridge } from "../../lib/statistics/ridge.ts";
import { ridgeCrossValidation } from "../../lib/statistics/ridge_cross_validation.ts";
import { varianceInflation } from "../../lib/statistics/variance_inflation.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rMatrix, rVector, testInR } from "./in_r.ts";
import { publishedCheck, publishedMatrix, publishedTable } from "./published.ts";

/** Decimal digits two numbers share: the log relative error, at most 15. */
function digits(found: number, certified: number): number {
  if (found === certified) return 15;
  return Math.min(15, -Math.log10(Math.abs(found - certified) / Math.abs(certified || 1)));
}

/** NIST's regressions: degree of the polynomial (0: several columns), intercept, digits asked for. */
const strd: [name: string, degree: number, intercept: boolean, digits: number][] = [
  ["Norris", 1, true, 13.5],
  ["Pontius", 2, true, 13],
  ["NoInt1", 1, false, 14],
  ["NoInt2", 1, false, 14],
  ["Longley", 0, true, 14],
  ["Filip", 10, true, 13.5],
  ["Wampler1", 5, true, 14],
  ["Wampler2", 5, true, 13],
  ["Wampler3", 5, true, 14],
  ["Wampler4", 5, true, 14],
  ["Wampler5", 5, true, 14],
];

for (const [name, degree, intercept, wanted] of strd) {
  Deno.test(`least squares reaches ${wanted} certified digits on NIST's ${name}`, () => {
    const { published } = publishedCheck("strd", `strd-${name}`);
    const table = publishedTable(`strd/${name}.csv`);
    const y = table.y.map(Number);
    const fit = degree === 0
      ? leastSquares(publishedMatrix(`strd/${name}.csv`, ["x1", "x2", "x3", "x4", "x5", "x6"]), y)
      : polynomialLeastSquares(table.x.map(Number), y, degree, { intercept });
    published.coefficients.forEach((certified: number, j: number) => {
      const found = digits(fit.coefficients![j], certified);
      assert.ok(found >= wanted, `coefficient ${j}: ${found} digits`);
      // Wampler1 and 2 are exact: certified standard errors are 0.
      const error = published.se[j];
      if (error > 0) assert.ok(digits(fit.standard_errors![j], error) >= wanted);
      else assert.ok(fit.standard_errors![j] < 1e-9);
    });
    if (published.residual_sd > 0) {
      assert.ok(digits(fit.residual_sd!, published.residual_sd) >= wanted);
    }
    // Without an intercept NIST takes squares about 0, as here.
    assert.ok(digits(fit.r2!, published.r_squared) >= 13);
  });
}

const cement = publishedMatrix("cement.csv", ["x1", "x2", "x3", "x4"]);
const heat = publishedTable("cement.csv").y.map(Number);

Deno.test("leastSquares() and varianceInflation() give R's values on Hald's cement", () => {
  const { computed } = publishedCheck("regression", "cement-ols");
  const fit = leastSquares(cement, heat);
  computed.coefficients.forEach((value: number, j: number) => {
    assertClose(fit.coefficients![j], value, { relative: 1e-10 });
    assertClose(fit.standard_errors![j], computed.se[j], { relative: 1e-11 });
  });
  assertClose(fit.residual_sd, computed.residual_sd, { relative: 1e-12 });
  assertClose(fit.r2, computed.r_squared, { relative: 1e-13 });
  const press = fit.residuals.reduce((sum, e, i) => sum + (e / (1 - fit.leverages[i])) ** 2, 0);
  assertClose(press, computed.leave_one_out_press, { relative: 1e-11 });
  varianceInflation(cement).forEach(({ factor }, j) =>
    assertClose(factor, computed.vif[j], { relative: 1e-10 })
  );
});

Deno.test("leastSquares() names the column that depends on others, and says when rows are too few", () => {
  const twice = [[1, 2], [2, 4], [3, 6], [4, 8]];
  assert.deepEqual(leastSquares(twice, [1, 2, 3, 5]).reason, { code: "dependent", column: 2 });
  assert.deepEqual(
    leastSquares([[1, 0.1 + 0.2], [2, 0.3], [3, 0.3], [4, 0.3]], [1, 2, 3, 5]).reason,
    { code: "dependent", column: 2 },
  );
  assert.deepEqual(leastSquares([[1, 2, 3]], [1]).reason, {
    code: "too-few",
    of: "rows",
    needed: 4,
    found: 1,
  });
  assert.deepEqual(varianceInflation(twice)[0].reason, { code: "dependent", column: 1 });
  assert.deepEqual(varianceInflation([[1, 2], [1, 3], [1, 4]])[0].reason, {
    code: "constant",
    which: "column",
    column: 1,
  });
  assert.throws(() => leastSquares([[1], [2]], [1]), RangeError);
  assert.throws(() => leastSquares([[1], [2, 3]], [1, 2]), RangeError);
  assert.throws(() => leastSquares([[1], [NaN]], [1, 2]), RangeError);
});

Deno.test("ridge() gives MASS's coefficients on Longley's data, in the scaling it states", () => {
  const { computed } = publishedCheck("regression", "longley-ridge");
  const names = ["gnp", "unemployed", "armed_forces", "population", "year", "employed"];
  const X = publishedMatrix("longley-r.csv", names);
  const y = publishedTable("longley-r.csv").gnp_deflator.map(Number);
  for (const strength of [0, 0.0057, 0.05]) {
    const fit = ridge(X, y, { strength });
    const [intercept, ...slopes] = computed[`lambda_${strength}`];
    assertClose(fit.intercept, intercept, { relative: 1e-9 });
    slopes.forEach((slope: number, j: number) =>
      assertClose(fit.coefficients![j], slope, { relative: 1e-9 })
    );
  }
});

Deno.test("ridge() does not change its predictions with the unit of a column, and gives a constant column 0", () => {
  const X = [[1, 5, 2], [2, 5, 1], [3, 5, 5], [4, 5, 3], [6, 5, 4]];
  const y = [1, 3, 2, 5, 6];
  const fit = ridge(X, y, { strength: 2 });
  const inMillimetres = ridge(X.map(([a, b, c]) => [a * 10, b, c]), y, { strength: 2 });
  assert.equal(fit.coefficients![1], 0);
  fit.fitted.forEach((value, i) => assertClose(inMillimetres.fitted[i], value, { within: 1e-12 }));
  assert.deepEqual(ridge([[1]], [1], { strength: 1 }).reason, {
    code: "too-few",
    of: "rows",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(ridge([[1, 2], [2, 4], [3, 6]], [1, 2, 4], { strength: 0 }).reason, {
    code: "dependent",
    column: 2,
  });
  assert.equal(ridge([[1, 2], [2, 4], [3, 6]], [1, 2, 4], { strength: 1 }).reason, null);
  assert.throws(() => ridge(X, y, { strength: -1 }), RangeError);
});

Deno.test("ridgeCrossValidation() agrees with refitting by ridge() for every row and strength", () => {
  const stream = randomStream(3);
  const X = Array.from(
    { length: 14 },
    () => [stream.normal(), stream.normal() * 9, stream.normal()],
  );
  const y = X.map(([a, b]) => a + b / 9 + stream.normal());
  const strengths = [0.1, 1, 10, 100];
  const found = ridgeCrossValidation(X, y, { strengths });
  const without = <T>(list: readonly T[], row: number) => list.filter((_, i) => i !== row);
  const predict = (fit: ReturnType<typeof ridge>, row: readonly number[]) =>
    row.reduce((sum, value, j) => sum + value * fit.coefficients![j], fit.intercept!);
  // With the columns already on the scaling of all rows, leaving one out refits plain penalised squares.
  const nested = X.map((row, i) => {
    const restX = without(X, i);
    const restY = without(y, i);
    const inner = ridgeCrossValidation(restX, restY, { strengths });
    return predict(ridge(restX, restY, { strength: inner.strength! }), row);
  });
  nested.forEach((value, i) => assertClose(found.predicted[i], value, { relative: 1e-9 }));
  const best = found.errors.reduce((a, b) => a.squares <= b.squares ? a : b);
  assert.equal(found.strength, best.strength);
  assert.deepEqual(ridgeCrossValidation(X, y.map(() => 1)).reason, {
    code: "constant",
    which: "y",
  });
  assert.deepEqual(ridgeCrossValidation(X.slice(0, 3), y.slice(0, 3)).reason, {
    code: "too-few",
    of: "rows",
    needed: 4,
    found: 3,
  });
  assert.throws(() => ridgeCrossValidation(X, y, { strengths: [0] }), RangeError);
});

Deno.test("a hat-matrix leave-one-out error is that of a penalised fit made without the row", () => {
  const X = [[1, 4], [2, 2], [3, 7], [4, 1], [5, 5], [7, 3]];
  const y = [1, 3, 2, 5, 4, 8];
  const strength = 1.7;
  const n = y.length;
  const means = [0, 1].map((j) => X.reduce((sum, row) => sum + row[j], 0) / n);
  const spreads = [0, 1].map((j) =>
    Math.sqrt(X.reduce((sum, row) => sum + (row[j] - means[j]) ** 2, 0) / n)
  );
  const Z = X.map((row) => row.map((value, j) => (value - means[j]) / spreads[j]));
  let squares = 0;
  for (let left = 0; left < n; left++) {
    const rows = Z.flatMap((row, i) => i === left ? [] : [[1, ...row]]);
    const root = Math.sqrt(strength);
    const fit = leastSquares([...rows, [0, root, 0], [0, 0, root]], [
      ...y.filter((_, i) => i !== left),
      0,
      0,
    ], { intercept: false });
    const [a, b, c] = fit.coefficients!;
    squares += (y[left] - a - b * Z[left][0] - c * Z[left][1]) ** 2;
  }
  const { errors } = ridgeCrossValidation(X, y, { strengths: [strength] });
  assertClose(errors[0].squares, squares, { relative: 1e-11 });
});

Deno.test("partialRankCorrelation() is the correlation of rank residuals, and has reasons where there is none", () => {
  const stream = randomStream(9);
  const z = Array.from({ length: 25 }, () => Math.round(stream.normal() * 3));
  const x = z.map((value) => value + Math.round(stream.normal() * 3));
  const y = z.map((value) => value + Math.round(stream.normal() * 3));
  const one = partialRankCorrelation(x, y, [z], { interval: "none" });
  // A second control that says nothing new but a little noise takes the other way through the code.
  const two = partialRankCorrelation(x, y, [z, z.map((_, i) => i % 7)], { interval: "none" });
  assert.ok(Math.abs(one.estimate! - two.estimate!) < 0.2);
  assert.deepEqual(partialRankCorrelation(x, x, [x], { interval: "none" }).estimate_reason, {
    code: "dependent",
  });
  assert.deepEqual(partialRankCorrelation([1, 2, 3], [1, 3, 2], [[1, 2, 3]]).estimate_reason, {
    code: "too-few",
    of: "complete rows",
    needed: 4,
    found: 3,
  });
  assert.deepEqual(
    partialRankCorrelation(x, y, [z.map(() => 1)], { interval: "none" }).estimate_reason,
    { code: "constant", which: "column", column: 3 },
  );
  assert.throws(() => partialRankCorrelation([1, 2], [1, 2], [[1]]), RangeError);
});

testInR(
  "partialRankCorrelation() agrees with R's correlation of rank residuals, two controls",
  () => {
    const stream = randomStream(19);
    const make = () => Array.from({ length: 30 }, () => Math.round(stream.normal() * 3));
    const [x, y, z, w] = [make(), make(), make(), make()];
    const [[two, one, p]] = inR(`
    x <- rank(${rVector(x)}); y <- rank(${rVector(y)}); z <- rank(${rVector(z)}); w <- rank(${
      rVector(w)
    })
    two <- cor(resid(lm(x ~ z + w)), resid(lm(y ~ z + w))); one <- cor(resid(lm(x ~ z)), resid(lm(y ~ z)))
    t <- two * sqrt(26 / (1 - two^2)); out(c(two, one, 2 * pt(-abs(t), 26)))`);
    const found = partialRankCorrelation(x, y, [z, w], { interval: "none" });
    assertClose(found.estimate, two, { within: 1e-12 });
    assertClose(found.p, p, { relative: 1e-9 });
    assertClose(partialRankCorrelation(x, y, [z], { interval: "none" }).estimate, one, {
      within: 1e-12,
    });
  },
);

testInR("leastSquares() and ridge() agree with R's lm and MASS on random columns", () => {
  const stream = randomStream(29);
  const X = Array.from(
    { length: 20 },
    () => [stream.normal(), stream.uniform(), stream.integer(4)],
  );
  const y = X.map(([a, b, c]) => a - b + c / 3 + stream.normal());
  const [coefficients, errors, shrunk] = inR(`
    X <- ${rMatrix(X)}; y <- ${rVector(y)}; f <- lm(y ~ X)
    out(coef(f)); out(sqrt(diag(vcov(f)))); out(coef(MASS::lm.ridge(y ~ X, lambda = 3)))`);
  const fit = leastSquares(X, y);
  fit.coefficients!.forEach((value, j) => assertClose(value, coefficients[j], { relative: 1e-9 }));
  fit.standard_errors!.forEach((value, j) => assertClose(value, errors[j], { relative: 1e-9 }));
  const { intercept, coefficients: slopes } = ridge(X, y, { strength: 3 });
  [intercept, ...slopes!].forEach((value, j) => assertClose(value, shrunk[j], { relative: 1e-9 }));
});
