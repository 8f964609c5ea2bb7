import assert from "node:assert/strict";
import { leftOutLinkedSquares } from "../../lib/statistics/left_out_linked_squares.ts";
import { reduced, reduceInto, reduction } from "../../lib/statistics/linked_reduction.ts";
import {
  crossProductsOf,
  fitLinked,
  linkedRows,
} from "../../lib/statistics/linked_simplex_least_squares.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import {
  forResamples,
  leftOutCrossProducts,
  resampledCrossProducts,
  weightLimits,
} from "../../lib/statistics/weight_limits.ts";
import { assertClose } from "../assert_close.ts";

const strengths = [0, 0.03, 1, 10, Infinity];

/** Rows with ties, rows twice, columns that fall, and old weights of 0. */
function invented(seed: number) {
  const stream = randomStream(seed);
  const p = 1 + seed % 6;
  const X = Array.from({ length: 6 + seed % 30 }, () => {
    const common = 0.5 * stream.normal();
    return Array.from({ length: p }, () => {
      const value = common + stream.normal();
      return seed % 5 === 0 ? Math.round(value) : value;
    });
  });
  if (seed % 4 === 0) X[1] = X[0].slice();
  const y = X.map((row) => (seed % 7 === 0 ? -1 : 1) * row[0] + (seed % 3) * stream.normal());
  const toward = X[0].map((_, j) => j > 0 && seed % 6 === 0 ? 0 : 0.2 + stream.uniform());
  return linkedRows(X, y, toward);
}

Deno.test("leftOutLinkedSquares() equals one fit a row that is left out, at every strength", () => {
  for (let seed = 1; seed <= 90; seed++) {
    const rows = invented(seed);
    const counts = new Float64Array(rows.n).fill(1);
    counts[seed % rows.n] = 0;
    const found = leftOutLinkedSquares(rows, counts, strengths);
    strengths.forEach((strength, s) => {
      const plain = [...counts.keys()].filter((row) => counts[row] === 1).map((row) => {
        const others = counts.slice();
        others[row] = 0;
        const fit = fitLinked(rows, crossProductsOf(rows, others), strength);
        const from = row * rows.size;
        const score = fit.weights.reduce((sum, w, j) => sum + w * rows.flat[from + 1 + j], 0);
        return (rows.flat[from + rows.size - 1] - fit.intercept - fit.slope * score) ** 2;
      });
      plain.forEach((square, i) => assertClose(found[s][i], square, { within: 1e-7 }));
    });
  }
});

Deno.test("cross-products of resamples without a row equal those of rows that never had it", () => {
  const rows = invented(23);
  const options = { resamples: 100, seed: 5 };
  const moving = leftOutCrossProducts(rows, options);
  for (const row of [0, 1, 5, rows.n - 1]) {
    const [from, to] = [row * rows.size, (row + 1) * rows.size];
    const flat = Float64Array.from([...rows.flat.slice(0, from), ...rows.flat.slice(to)]);
    const wanted = resampledCrossProducts({ ...rows, flat, n: rows.n - 1 }, options);
    moving.without(row).forEach((products, b) =>
      products.forEach((value, k) => assertClose(value, wanted[b][k], { within: 1e-10 }))
    );
  }
});

Deno.test("weights kept give the smaller problem's cross-products and limits without its rows", () => {
  let settled = 0;
  for (const seed of [5, 9, 11, 16, 17, 29]) {
    const rows = invented(seed);
    const free = rows.toward.length > 2 ? [0, 2] : [0];
    const change = reduction(rows, free)!;
    const part = reduced(rows, change);
    const counts = Float64Array.from({ length: rows.n }, (_, i) => 1 + i % 3);
    const wanted = crossProductsOf(part, counts);
    const found = new Float64Array(part.size * part.size);
    reduceInto(crossProductsOf(rows, counts), change, found);
    wanted.forEach((value, k) => assertClose(found[k], value, { within: 1e-9 }));

    const draws: Float64Array[] = [];
    forResamples(rows.n, { resamples: 60, seed }, (again) => draws.push(again.slice()));
    const direct = weightLimits(part, draws.map((one) => crossProductsOf(part, one)), 0.95);
    const through = weightLimits(
      part,
      draws.map((one) => crossProductsOf(rows, one)),
      0.95,
      change,
    );
    settled += direct.filter(({ lower, upper }) => upper - lower < part.total).length;
    direct.forEach(({ lower, upper }, j) => {
      assertClose(through[j].lower, lower, { within: 1e-7 });
      assertClose(through[j].upper, upper, { within: 1e-7 });
    });
  }
  assert.ok(settled > 0, "limits that say anything were among them");
});
