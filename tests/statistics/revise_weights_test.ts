import assert from "node:assert/strict";
import { linkedSimplexLeastSquares } from "../../lib/statistics/linked_simplex_least_squares.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { reviseWeights } from "../../lib/statistics/revise_weights.ts";
import { simplexLeastSquares } from "../../lib/statistics/simplex_least_squares.ts";
import reference from "../references/linked_simplex.json" with { type: "json" };
import { assertClose } from "../assert_close.ts";

const cheese = new URL("../references/bench-cheese-source.csv", import.meta.url);
const rows = (await Deno.readTextFile(cheese)).trim().split("\n").slice(1)
  .map((line) => line.split(",").map(Number));
const taste = rows.map(([value]) => value);
const acids = rows.map(([, ...values]) => values);

function invented(seed: number, n: number, weights: readonly number[], noise: number) {
  const random = randomStream(seed);
  const X = Array.from({ length: n }, () => weights.map(() => 0.5 + 0.2 * random.normal()));
  const y = X.map((row) =>
    3 + 9 * row.reduce((sum, value, j) => sum + value * weights[j], 0) + noise * random.normal()
  );
  return { X, y };
}

Deno.test("linkedSimplexLeastSquares() equals R's nnls on rows with a pull added, at four strengths", () => {
  for (const { toward, strength, weights, slope, intercept, rss } of reference.cases) {
    const found = linkedSimplexLeastSquares(acids, taste, { toward, strength });
    found.weights.forEach((weight, j) => assertClose(weight, weights[j], { within: 1e-9 }));
    assertClose(found.slope, slope, { within: 1e-8 });
    assertClose(found.intercept, intercept, { within: 1e-7 });
    assertClose(found.residualSumOfSquares, rss, { within: 1e-6 });
  }
});

Deno.test("at its own slope linkedSimplexLeastSquares() gives the weights of simplexLeastSquares()", () => {
  const { X, y } = invented(3, 40, [0.1, 0.5, 0, 0.4], 0.5);
  const toward = [0.4, 0.3, 0.2, 0.1];
  const means = toward.map((_, j) => X.reduce((sum, row) => sum + row[j], 0) / X.length);
  const centred = X.map((row) => row.map((value, j) => value - means[j]));
  const middle = y.reduce((sum, value) => sum + value, 0) / y.length;
  const spread = centred.flat().reduce((sum, value) => sum + value * value, 0) / (X.length * 4);
  for (const strength of [0, 0.2, 5]) {
    const { weights, slope } = linkedSimplexLeastSquares(X, y, { toward, strength });
    const fixed = simplexLeastSquares(centred, y.map((value) => (value - middle) / slope), {
      total: 1,
      toward,
      strength: strength * X.length * spread,
    });
    weights.forEach((weight, j) => assertClose(weight, fixed.weights[j], { within: 1e-9 }));
  }
});

Deno.test("an infinite strength gives the old weights, and so does an outcome that falls with every column", () => {
  const toward = [0.2, 0.8];
  const X = [[1, 2], [2, 1], [3, 3], [4, 5], [5, 4]];
  const rising = linkedSimplexLeastSquares(X, [1, 2, 3, 4, 5], { toward, strength: Infinity });
  assert.deepEqual(rising.weights, toward);
  assert.ok(rising.slope > 0);
  const falling = linkedSimplexLeastSquares(X, [5, 4, 3, 2, 1], { toward });
  assert.deepEqual([falling.weights, falling.slope, falling.related], [toward, 0, false]);
});

Deno.test("weights that are negative or all zero are refused in words", () => {
  const X = [[1, 2], [2, 1], [3, 3]];
  for (const toward of [[0, 0], [-1, 2], [1]]) {
    assert.throws(
      () => linkedSimplexLeastSquares(X, [1, 2, 3], { toward }),
      /weights of at least 0/,
    );
  }
});

Deno.test("reviseWeights() leaves weights alone that fit already, and moves those that are far off", () => {
  const right = [0.3, 0.3, 0.2, 0.2];
  const { X, y } = invented(5, 60, right, 0.4);
  const stays = reviseWeights(X, y, { old: right, resamples: 200 });
  assert.ok(stays.weights.every(({ kept, revised, old }) => kept && revised === old));
  const moves = reviseWeights(X, y, { old: [0, 0, 0.1, 0.9], resamples: 200 });
  assert.ok(moves.weights.some(({ kept }) => !kept));
  const off = (weights: readonly number[]) =>
    weights.reduce((sum, weight, j) => sum + Math.abs(weight - right[j]), 0);
  assert.ok(off(moves.weights.map(({ revised }) => revised)) < 0.4);
  assertClose(moves.weights.reduce((sum, { revised }) => sum + revised, 0), 1, { within: 1e-12 });
});

Deno.test("the weights that judge a row are the same whatever the row itself was rated", () => {
  const { X, y } = invented(8, 25, [0.6, 0.1, 0.3], 0.6);
  const options = { old: [0.2, 0.6, 0.2], resamples: 100 };
  const weightsOfFirst = (ratings: readonly number[]) =>
    reviseWeights(X, ratings, options).candidates.map(({ weights }) => weights?.[0]);
  const before = weightsOfFirst(y);
  const after = weightsOfFirst([y[0] + 50, ...y.slice(1)]);
  before.forEach((weights, candidate) =>
    weights?.forEach((weight, j) => assertClose(after[candidate]![j], weight, { within: 1e-9 }))
  );
});

Deno.test("reviseWeights() gives the same bytes for the same seed", () => {
  const { X, y } = invented(9, 20, [0.5, 0.5], 1);
  const once = () => JSON.stringify(reviseWeights(X, y, { old: [0.9, 0.1], resamples: 100 }));
  assert.equal(once(), once());
});

Deno.test("five rows, or an outcome of one value, leave the old weights with the reason", () => {
  const X = [[1, 2], [2, 1], [3, 3], [4, 5], [5, 4]];
  const few = reviseWeights(X, [1, 2, 3, 4, 5], { old: [1, 1] });
  assert.deepEqual(few.reason, { code: "too-few", of: "rows", needed: 6, found: 5 });
  assert.deepEqual(few.weights.map(({ revised }) => revised), [1, 1]);
  const flat = reviseWeights([...X, [2, 2]], [3, 3, 3, 3, 3, 3], { old: [1, 1] });
  assert.deepEqual(flat.reason, { code: "constant", which: "y" });
});

Deno.test("duplicated rows and a constant column do not break the fit", () => {
  const { X, y } = invented(11, 12, [0.7, 0.3], 0.3);
  const doubled = [...X, ...X].map((row) => [...row, 1]);
  const { weights } = reviseWeights(doubled, [...y, ...y], {
    old: [0.3, 0.3, 0.4],
    resamples: 100,
  });
  for (const { revised } of weights) assert.ok(Number.isFinite(revised) && revised >= 0);
});
