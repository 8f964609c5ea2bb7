import assert from "node:assert/strict";
import { leastSquares } from "../../lib/statistics/least_squares.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { relativeImportance } from "../../lib/statistics/relative_importance.ts";
import { assertClose } from "../assert_close.ts";
import { publishedCheck, publishedMatrix, publishedTable } from "./published.ts";
import { sayReason } from "../../lib/words/reasons.ts";

for (
  const [id, file, names, outcome] of [
    ["swiss-lmg", "swiss.csv", [
      "Agriculture",
      "Examination",
      "Education",
      "Catholic",
      "Infant.Mortality",
    ], "Fertility"],
    ["cement-lmg", "cement.csv", ["x1", "x2", "x3", "x4"], "y"],
  ] as const
) {
  Deno.test(`relativeImportance() gives the shares of ${id}, first and last gains too`, () => {
    const { computed } = publishedCheck("regression", id);
    const y = publishedTable(file)[outcome].map(Number);
    const found = relativeImportance(publishedMatrix(file, names), y, { resamples: 200 });
    names.forEach((name, j) => {
      assertClose(found.shares![j], computed.shares[name], { relative: 1e-9 });
      assertClose(found.first![j], computed.first[name], { relative: 1e-9 });
      assertClose(found.last![j], computed.last[name], { relative: 1e-7 });
      assert.ok(found.shares_lower![j] < found.shares_upper![j]);
    });
    assertClose(found.r2, computed.r2, { relative: 1e-11 });
    assertClose(found.shares!.reduce((a, b) => a + b), found.r2!, { relative: 1e-12 });
  });
}

/** The slow way: a regression for every subset, its gain weighted by the orderings it stands for. */
function allSubsets(X: readonly number[][], y: readonly number[]): number[] {
  const p = X[0].length;
  const factorial = (k: number): number => k < 2 ? 1 : k * factorial(k - 1);
  const r2 = Array.from(
    { length: 2 ** p },
    (_, mask) =>
      mask === 0 ? 0 : leastSquares(X.map((row) => row.filter((_, j) => mask >> j & 1)), y).r2!,
  );
  return Array.from({ length: p }, (_, j) => {
    let share = 0;
    for (let mask = 0; mask < 2 ** p; mask++) {
      if (mask >> j & 1) continue;
      const size = [...mask.toString(2)].filter((bit) => bit === "1").length;
      share += (r2[mask | 1 << j] - r2[mask]) * factorial(size) * factorial(p - 1 - size) /
        factorial(p);
    }
    return share;
  });
}

Deno.test("relativeImportance() equals a regression for every subset, from one to seven columns", () => {
  for (let p = 1; p <= 7; p++) {
    const stream = randomStream(p);
    const X = Array.from({ length: 20 }, () => {
      const common = stream.normal();
      return Array.from({ length: p }, () => common + stream.normal());
    });
    const y = X.map((row) => row[0] - row[p - 1] / 2 + stream.normal());
    const wanted = allSubsets(X, y);
    relativeImportance(X, y, { resamples: 0 }).shares!.forEach((share, j) =>
      assertClose(share, wanted[j], { within: 1e-12 })
    );
  }
});

Deno.test("relativeImportance() resamples rows as a plain refit of the drawn rows would", () => {
  const stream = randomStream(50);
  const n = 25;
  const X = Array.from({ length: n }, () => [stream.normal(), stream.normal(), stream.normal()]);
  const y = X.map(([a, b]) => a + b + stream.normal());
  // Of 41 draws, half the confidence on either side is the eleventh from each end.
  const found = relativeImportance(X, y, { resamples: 41, confidence: 0.5, seed: 4 });
  const redraw = randomStream(4, 9, n);
  const plain = Array.from({ length: 41 }, () => {
    const rows = [...redraw.fillIntegers(new Uint32Array(n), n)];
    const again = [rows.map((i) => X[i]), rows.map((i) => y[i])] as const;
    return relativeImportance(...again, { resamples: 0 }).shares!;
  });
  found.shares!.forEach((_, j) => {
    const sorted = plain.map((shares) => shares[j]).sort((a, b) => a - b);
    assertClose(found.shares_lower![j], sorted[10], { within: 1e-12 });
    assertClose(found.shares_upper![j], sorted[30], { within: 1e-12 });
  });
});

Deno.test("relativeImportance() splits evenly between twins, gives a constant column nothing, has reasons", () => {
  const stream = randomStream(51);
  const X = Array.from({ length: 15 }, () => {
    const a = stream.normal();
    return [a, a, 3, stream.normal()];
  });
  const y = X.map(([a, , , b]) => a + b + stream.normal());
  const { shares, r2 } = relativeImportance(X, y, { resamples: 0 });
  assertClose(shares![0], shares![1], { relative: 1e-10 });
  assert.equal(shares![2], 0);
  assertClose(r2, leastSquares(X.map(([a, , , b]) => [a, b]), y).r2!, { relative: 1e-9 });
  assert.deepEqual(relativeImportance(X, y.map(() => 1)).reason, { code: "constant", which: "y" });
  assert.deepEqual(relativeImportance(X.slice(0, 4), y.slice(0, 4)).reason, {
    code: "too-few",
    of: "rows",
    needed: 6,
    found: 4,
  });
  assert.throws(() => relativeImportance([new Array(17).fill(1)], [1]), RangeError);
});

Deno.test("relativeImportance() names a column that does not vary, whose share is nothing", () => {
  const X = [[1, 7], [2, 7], [3, 7], [4, 7], [5, 7]];
  const { shares, warnings } = relativeImportance(X, [1, 3, 2, 5, 4], { resamples: 0 });
  assertClose(shares![1], 0, { within: 1e-15 });
  assert.deepEqual(warnings, [{ code: "constant", which: "column", column: 2 }]);
  assert.equal(sayReason(warnings[0]), "column 2 has one value only");
});
