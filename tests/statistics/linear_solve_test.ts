import assert from "node:assert/strict";
import {
  factorRows,
  invertPositive,
  invertRows,
  invertSymmetric,
  pivotedFactor,
  singularFactor,
  solveFactored,
  solvePivoted,
  solvePositive,
} from "../../lib/statistics/linear_solve.ts";
import { assertClose } from "../assert_close.ts";

// Hilbert's matrix of four has an inverse of whole numbers, in every handbook of numerical analysis.
const hilbert = [1, 2, 3, 4].map((i) => [1, 2, 3, 4].map((j) => 1 / (i + j - 1)));
const whole = [
  [16, -120, 240, -140],
  [-120, 1200, -2700, 1680],
  [240, -2700, 6480, -4200],
  [-140, 1680, -4200, 2800],
];
const closeTo = (found: readonly (readonly number[])[], expected: readonly (readonly number[])[]) =>
  found.forEach((row, i) =>
    row.forEach((value, j) => assertClose(value, expected[i][j], { relative: 1e-9 }))
  );

Deno.test("the inverse of Hilbert's matrix of four has its whole numbers, whichever way it is made", () => {
  const flat = Float64Array.from(hilbert.flat());
  const rows = (of: Float64Array) => [0, 1, 2, 3].map((i) => [...of.slice(4 * i, 4 * i + 4)]);
  closeTo(invertRows(hilbert)!, whole);
  closeTo(rows(invertSymmetric(flat, 4)!), whole);
  const into = new Float64Array(16);
  // 1/6048000, the determinant of that matrix.
  assertClose(Math.exp(-invertPositive(flat.slice(), 4, into, 0)), 6048000, { relative: 1e-9 });
  const lower = rows(into);
  whole.forEach((row, i) => {
    for (let j = 0; j <= i; j++) assertClose(lower[i][j], row[j], { relative: 1e-9 });
  });
});

Deno.test("a system of Hilbert's matrix whose answer is 1, 2, 3, 4 gives that answer", () => {
  const right = hilbert.map((row) => row.reduce((sum, value, j) => sum + value * (j + 1), 0));
  const answer = Float64Array.from(right);
  assert.ok(solvePositive(Float64Array.from(hilbert.flat()), answer, 4));
  closeTo([[...answer]], [[1, 2, 3, 4]]);
  closeTo([solveFactored(factorRows(hilbert)!, right)], [[1, 2, 3, 4]]);
  closeTo([solvePivoted(hilbert.map((row, i) => [...row, right[i]]))!], [[1, 2, 3, 4]]);
});

Deno.test("a system whose first pivot is 0 is solved by exchanging rows, one of rank 1 has no answer", () => {
  assert.deepEqual(solvePivoted([[0, 2, 6], [4, 1, 11]]), [2, 3]);
  assert.equal(solvePivoted([[1, 2, 3], [2, 4, 6]]), null);
  const twice = [[1, 2], [2, 4]];
  assert.equal(factorRows(twice), null);
  assert.equal(invertRows(twice), null);
  assert.equal(invertSymmetric(Float64Array.from(twice.flat()), 2), null);
  assert.equal(solvePositive(Float64Array.from(twice.flat()), Float64Array.of(3, 6), 2), false);
});

Deno.test("a factor of a singular covariance, times itself, is that covariance", () => {
  const square = (factor: readonly (readonly number[])[]) =>
    factor.map((a) => factor.map((b) => a.reduce((sum, value, k) => sum + value * b[k], 0)));
  const alike = [[1, 1, 0.5], [1, 1, 0.5], [0.5, 0.5, 1]];
  for (const factor of [singularFactor(alike), pivotedFactor(alike)]) {
    square(factor).forEach((row, i) =>
      row.forEach((value, j) => assertClose(value, alike[i][j], { within: 1e-12 }))
    );
  }
  assert.deepEqual(pivotedFactor(alike).map((row) => row.length), [2, 2, 2]);
  assert.throws(() => singularFactor([[1, 2], [2, 1]]), /not positive semidefinite/);
  assert.throws(() => singularFactor([[1, 0.2], [0.1, 1]]), /finite and symmetric/);
});

Deno.test("an inverse of any size, four rows at a time or fewer, times its matrix is the unit matrix", () => {
  for (let size = 1; size <= 14; size++) {
    // Positive definite: the covariances of a random walk, min(i, j) + 1.
    const matrix = Float64Array.from(
      { length: size * size },
      (_, k) => Math.min(Math.floor(k / size), k % size) + 1,
    );
    const inverse = new Float64Array(size * size + 3).fill(7);
    const log = invertPositive(matrix.slice(), size, inverse, 3);
    assert.ok(Math.abs(log) < 1e-12, `ln determinant ${log}, expected 0`);
    assert.deepEqual([...inverse.subarray(0, 3)], [7, 7, 7]);
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        let value = 0;
        for (let k = 0; k < size; k++) value += matrix[i * size + k] * inverse[3 + k * size + j];
        assert.ok(
          Math.abs(value - Number(i === j)) < 1e-11,
          `${size}: entry ${i},${j} is ${value}`,
        );
      }
    }
  }
});

Deno.test("invertPositive() has no determinant of a matrix of zeros, nor of one whose rows depend on each other", () => {
  for (const flat of [[0], [0, 0, 0, 0], [1, 0, 0, 0], [1, 2, 2, 4], [4, 2, 2, 1]]) {
    const size = Math.sqrt(flat.length);
    const into = new Float64Array(flat.length);
    assert.ok(Number.isNaN(invertPositive(Float64Array.from(flat), size, into, 0)), String(flat));
  }
  assert.equal(invertPositive(Float64Array.from([1, 0, 0, 1]), 2, new Float64Array(4), 0), 0);
});
