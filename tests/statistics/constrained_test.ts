import assert from "node:assert/strict";
import { nonNegativeCrossValidation } from "../../lib/statistics/non_negative_cross_validation.ts";
import { nonNegativeLeastSquares } from "../../lib/statistics/non_negative_least_squares.ts";
import { orderStatistics } from "../../lib/statistics/order_statistics.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { simplexLeastSquares } from "../../lib/statistics/simplex_least_squares.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rMatrix, rVector, testInR } from "./in_r.ts";
import { publishedCheck, publishedMatrix, publishedTable } from "./published.ts";

/** Invented predictors that share a common part, and an outcome of some of them. */
function invented(seed: number, n: number, p: number): { X: number[][]; y: number[] } {
  const stream = randomStream(seed);
  const X = Array.from({ length: n }, () => {
    const common = stream.normal();
    return Array.from({ length: p }, () => 0.6 * common + stream.normal());
  });
  const y = X.map((row) => 0.8 * row[0] + 0.3 * row[p - 1] - 0.2 * row[1] + stream.normal());
  return { X, y };
}

/** The slow way: best of all sets of positive weights, by Gaussian elimination on cross-products. */
function everySet(X: readonly number[][], y: readonly number[]): number[] {
  const p = X[0].length;
  let best = new Array<number>(p).fill(0);
  let least = y.reduce((sum, value) => sum + value * value, 0);
  for (let mask = 1; mask < 2 ** p; mask++) {
    const ids = Array.from({ length: p }, (_, j) => j).filter((j) => mask >> j & 1);
    const system = ids.map((i) => [
      ...ids.map((j) => X.reduce((sum, row) => sum + row[i] * row[j], 0)),
      X.reduce((sum, row, r) => sum + row[i] * y[r], 0),
    ]);
    for (let c = 0; c < ids.length; c++) {
      for (let r = 0; r < ids.length; r++) {
        if (r === c) continue;
        const factor = system[r][c] / system[c][c];
        for (let m = c; m <= ids.length; m++) system[r][m] -= factor * system[c][m];
      }
    }
    const weights = ids.map((_, c) => system[c][ids.length] / system[c][c]);
    if (weights.some((weight) => !(weight >= 0))) continue;
    const squares = X.reduce(
      (sum, row, r) => sum + (y[r] - ids.reduce((s, j, c) => s + weights[c] * row[j], 0)) ** 2,
      0,
    );
    if (squares < least) {
      least = squares;
      best = new Array<number>(p).fill(0);
      ids.forEach((j, c) => best[j] = weights[c]);
    }
  }
  return best;
}

Deno.test("nonNegativeLeastSquares() gives R's nnls weights on Hald's cement, gradient 0 where positive", () => {
  const { computed } = publishedCheck("regression", "cement-nnls");
  const X = publishedMatrix("cement.csv", ["x1", "x2", "x3", "x4"]);
  const y = publishedTable("cement.csv").y.map(Number);
  const { weights, residualNorm } = nonNegativeLeastSquares(X, y);
  weights.forEach((weight, j) => assertClose(weight, computed.weights[j], { relative: 1e-10 }));
  assertClose(residualNorm, computed.residual_norm, { relative: 1e-12 });
});

Deno.test("nonNegativeLeastSquares() pins a weight at exactly 0, and all of them if every column opposes y", () => {
  const small = publishedCheck("regression", "small-constrained");
  const found = nonNegativeLeastSquares(small.data.X, small.data.y);
  small.computed.nnls.weights.forEach((weight: number, j: number) =>
    assertClose(found.weights[j], weight, { within: 1e-12 })
  );
  assert.equal(found.weights[2], 0);
  assertClose(found.residualNorm, small.computed.nnls.residual_norm, { relative: 1e-12 });
  const zero = publishedCheck("regression", "nnls-all-zero");
  const none = nonNegativeLeastSquares(zero.data.X, zero.data.y);
  assert.deepEqual(none.weights, [0, 0]);
  assertClose(none.residualNorm, zero.computed.residual_norm, { relative: 1e-13 });
});

Deno.test("nonNegativeLeastSquares() finds the best of all sets on random data, twins and zeros included", () => {
  for (let seed = 0; seed < 60; seed++) {
    const { X, y } = invented(seed, 9, 6);
    const wanted = everySet(X, y);
    nonNegativeLeastSquares(X, y).weights.forEach((weight, j) =>
      assertClose(weight, wanted[j], { within: 1e-9 })
    );
  }
  const { X, y } = invented(77, 12, 3);
  const alone = nonNegativeLeastSquares(X, y);
  const twins = nonNegativeLeastSquares(X.map((row) => [...row, row[0], 0]), y);
  assertClose(twins.residualNorm, alone.residualNorm, { relative: 1e-10 });
  assert.equal(twins.weights[4], 0);
  assert.deepEqual(nonNegativeLeastSquares([], []).weights, []);
  assert.throws(() => nonNegativeLeastSquares([[1], [2]], [1]), RangeError);
});

Deno.test("nonNegativeLeastSquares() does not change its fit with units or the order of columns", () => {
  const { X, y } = invented(5, 15, 5);
  const found = nonNegativeLeastSquares(X, y);
  const scaled = nonNegativeLeastSquares(
    X.map((row) => row.map((v, j) => v * 10 ** (3 * j - 6))),
    y,
  );
  found.weights.forEach((weight, j) =>
    assertClose(scaled.weights[j] * 10 ** (3 * j - 6), weight, { within: 1e-10 })
  );
  const turned = nonNegativeLeastSquares(X.map((row) => row.slice().reverse()), y);
  assert.ok(Math.abs(turned.residualNorm - found.residualNorm) < 1e-10);
});

Deno.test("simplexLeastSquares() gives quadprog's weights at totals of 1 and 3 and with a pull", () => {
  const { data, computed } = publishedCheck("regression", "small-constrained");
  const cases = [
    [{ total: 1 }, "simplex_total_1"],
    [{ total: 3 }, "simplex_total_3"],
    [
      { total: 1, toward: [0.2, 0.3, 0.5], strength: 10 },
      "simplex_total_1_toward_.2_.3_.5_strength_10",
    ],
  ] as const;
  for (const [options, name] of cases) {
    const { weights, unique, converged } = simplexLeastSquares(data.X, data.y, options);
    weights.forEach((weight, j) => assertClose(weight, computed[name][j], { within: 1e-11 }));
    assertClose(weights.reduce((a, b) => a + b), options.total, { relative: 1e-13 });
    assert.equal(unique && converged, true);
  }
});

Deno.test("simplexLeastSquares() meets the conditions of a minimum on random data, more columns than rows too", () => {
  for (let seed = 0; seed < 80; seed++) {
    const stream = randomStream(seed, 1);
    const n = 2 + stream.integer(12);
    const p = 1 + stream.integer(8);
    const { X, y } = invented(seed, n, Math.max(2, p));
    const strength = seed % 3 === 0 ? 0 : stream.uniform() * 5;
    const total = 0.5 + 3 * stream.uniform();
    const toward = X[0].map(() => stream.uniform());
    const { weights, converged, residualNorm, objective } = simplexLeastSquares(X, y, {
      total,
      toward,
      strength,
    });
    assert.equal(converged, true);
    assertClose(weights.reduce((a, b) => a + b), total, { relative: 1e-11 });
    assert.ok(weights.every((weight) => weight >= 0));
    const residuals = y.map((value, i) => value - X[i].reduce((s, v, j) => s + v * weights[j], 0));
    assertClose(residualNorm, Math.hypot(...residuals), { within: 1e-12 });
    const slopes = weights.map((weight, j) =>
      strength * (weight - toward[j]) - X.reduce((s, row, i) => s + row[j] * residuals[i], 0)
    );
    const inUse = slopes.filter((_, j) => weights[j] > 1e-9);
    const price = inUse.reduce((a, b) => a + b) / inUse.length;
    slopes.forEach((slope, j) => {
      if (weights[j] > 1e-9) assertClose(slope, price, { within: 1e-7 });
      else assert.ok(slope > price - 1e-7);
    });
    assert.ok(objective >= residualNorm ** 2 - 1e-12);
  }
});

Deno.test("simplexLeastSquares() stays put under an endless pull and says when weights are not unique", () => {
  const { X, y } = invented(3, 10, 3);
  const toward = [0.2, 0.5, 0.3];
  simplexLeastSquares(X, y, { toward, strength: 1e9 }).weights.forEach((weight, j) =>
    assertClose(weight, toward[j], { within: 1e-6 })
  );
  assert.deepEqual(simplexLeastSquares([[2]], [5]).weights, [1]);
  assert.throws(() => simplexLeastSquares(X, y, { total: 0 }), RangeError);
  assert.throws(() => simplexLeastSquares(X, y, { strength: -1 }), RangeError);
  assert.throws(() => simplexLeastSquares(X, y, { toward: [1] }), RangeError);
});

Deno.test("nonNegativeCrossValidation() agrees with refitting without each row, weights and all", () => {
  for (let seed = 0; seed < 12; seed++) {
    const { X, y } = invented(seed + 200, 14, 5);
    const found = nonNegativeCrossValidation(X, y, { resamples: 0 });
    const without = <T>(list: readonly T[], row: number) => list.filter((_, i) => i !== row);
    let errors = 0;
    let baseline = 0;
    X.forEach((row, i) => {
      const { weights } = nonNegativeLeastSquares(without(X, i), without(y, i));
      const prediction = row.reduce((sum, value, j) => sum + value * weights[j], 0);
      assertClose(found.predicted[i], prediction, { within: 1e-9 });
      errors += (y[i] - prediction) ** 2;
      baseline += (y[i] - without(y, i).reduce((a, b) => a + b) / 13) ** 2;
    });
    assertClose(found.r2, 1 - errors / baseline, { within: 1e-10 });
    nonNegativeLeastSquares(X, y).weights.forEach((weight, j) =>
      assertClose(found.weights[j], weight, { within: 1e-10 })
    );
  }
});

Deno.test("nonNegativeCrossValidation() resamples as rows written out and refitted plainly would", () => {
  const n = 13;
  const resamples = 40;
  const { X, y } = invented(300, n, 4);
  const found = nonNegativeCrossValidation(X, y, { resamples, seed: 6, confidence: 0.5 });
  const stream = randomStream(6, 7, n);
  const weights: number[][] = [];
  const r2: number[] = [];
  for (let b = 0; b < resamples; b++) {
    const rows = [...stream.fillIntegers(new Uint32Array(n), n)];
    weights.push([
      ...nonNegativeLeastSquares(rows.map((i) => X[i]), rows.map((i) => y[i])).weights,
    ]);
    let errors = 0;
    let baseline = 0;
    for (const left of rows) {
      const rest = rows.filter((i) => i !== left);
      const fit = nonNegativeLeastSquares(rest.map((i) => X[i]), rest.map((i) => y[i]));
      errors += (y[left] - X[left].reduce((sum, v, j) => sum + v * fit.weights[j], 0)) ** 2;
      baseline += (y[left] - rest.reduce((sum, i) => sum + y[i], 0) / rest.length) ** 2;
    }
    r2.push(1 - errors / baseline);
  }
  const quartiles = (values: readonly number[]) => {
    const sorted = orderStatistics(Float64Array.from(values));
    return [sorted.quantile(0.25), sorted.quantile(0.75)];
  };
  X[0].forEach((_, j) => {
    const [low, high] = quartiles(weights.map((row) => row[j]));
    assertClose(found.weights_lower[j], low, { within: 1e-9 });
    assertClose(found.weights_upper[j], high, { within: 1e-9 });
  });
  const [low, high] = quartiles(r2);
  assertClose(found.r2_lower, low, { within: 1e-9 });
  assertClose(found.r2_upper, high, { within: 1e-9 });
});

Deno.test("nonNegativeCrossValidation() fits a constant of any sign beside the weights when asked", () => {
  const X = [[1], [2], [3], [4], [5]];
  const y = [-8, -6, -4, -2, 0];
  const found = nonNegativeCrossValidation(X, y, { intercept: true, resamples: 0 });
  assertClose(found.weights[0], 2, { relative: 1e-10 });
  assertClose(found.intercept, -10, { relative: 1e-10 });
  assertClose(found.r2, 1, { within: 1e-12 });
  assert.deepEqual(nonNegativeCrossValidation(X, y.map(() => 3)).reason, {
    code: "constant",
    which: "y",
  });
  assert.deepEqual(nonNegativeCrossValidation([[1], [2]], [1, 2]).reason, {
    code: "too-few",
    of: "rows",
    needed: 3,
    found: 2,
  });
});

testInR(
  "nonNegativeLeastSquares() and simplexLeastSquares() agree with R's nnls and quadprog",
  () => {
    const { X, y } = invented(400, 25, 7);
    const hasQuadprog = inR(`out(requireNamespace("quadprog", quietly = TRUE))`)[0][0] === 1;
    const [weights, simplex] = inR(`
    X <- ${rMatrix(X)}; y <- ${rVector(y)}; out(nnls::nnls(X, y)$x)
    ${
      hasQuadprog
        ? `out(quadprog::solve.QP(crossprod(X) + .7 * diag(7), crossprod(X, y) + .7 * rep(2/7, 7), cbind(1, diag(7)), c(2, rep(0, 7)), meq = 1)$solution)`
        : ""
    }`);
    nonNegativeLeastSquares(X, y).weights.forEach((weight, j) =>
      assertClose(weight, weights[j], { within: 1e-10 })
    );
    if (hasQuadprog) {
      simplexLeastSquares(X, y, { total: 2, strength: 0.7 }).weights.forEach((weight, j) =>
        assertClose(weight, simplex[j], { within: 1e-9 })
      );
    }
  },
);
