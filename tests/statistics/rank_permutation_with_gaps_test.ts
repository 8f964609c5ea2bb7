import assert from "node:assert/strict";
import { familywiseWithGaps } from "../../lib/statistics/rank_permutation_with_gaps.ts";
import { assertClose } from "../assert_close.ts";

/** Ranks by counting, the mean of their places for equal values. */
function plainRanks(values: readonly number[]): number[] {
  return values.map((value) =>
    values.filter((other) => other < value).length +
    (values.filter((other) => other === value).length + 1) / 2
  );
}

function plainRho(x: readonly number[], y: readonly number[]): number {
  const [a, b] = [plainRanks(x), plainRanks(y)];
  const centre = (x.length + 1) / 2;
  const products = (u: readonly number[], v: readonly number[]) =>
    u.reduce((sum, value, i) => sum + (value - centre) * (v[i] - centre), 0);
  const squares = products(b, b);
  return squares === 0 ? 0 : products(a, b) / Math.sqrt(products(a, a) * squares);
}

function orders(n: number): number[][] {
  if (n === 0) return [[]];
  return orders(n - 1).flatMap((order) =>
    Array.from({ length: n }, (_, at) => [...order.slice(0, at), n - 1, ...order.slice(at)])
  );
}

/** Westfall & Young's step-down p over all orders of the target, each step as they define it. */
function plainFamilywise(
  target: readonly number[],
  columns: readonly { readonly rows: readonly number[]; readonly values: readonly number[] }[],
): number[] {
  const strengths = (order: readonly number[]) =>
    columns.map(({ rows, values }) =>
      Math.abs(plainRho(values, rows.map((row) => target[order[row]]))) *
      Math.sqrt(rows.length - 1)
    );
  const observed = strengths(target.map((_, row) => row));
  const ladder = columns.map((_, j) => j).sort((a, b) => observed[b] - observed[a]);
  const all = orders(target.length).map(strengths);
  const p = new Array<number>(columns.length);
  ladder.forEach((j, rung) => {
    const left = ladder.slice(rung);
    const reached = all.filter((some) =>
      Math.max(...left.map((k) => some[k])) >= observed[j] - 1e-9
    );
    p[j] = Math.max(reached.length / all.length, rung === 0 ? 0 : p[ladder[rung - 1]]);
  });
  return p;
}

Deno.test("family-wise p of columns with gaps are those of the definition over all 720 orders of six rows", () => {
  const target = [3, 1, 4, 1.5, 9, 2.6];
  const columns = [
    { rows: [0, 1, 2, 3, 4, 5], values: [2, 1, 5, 3, 9, 4] },
    { rows: [0, 1, 2, 3], values: [3, 1, 4, 2] },
    { rows: [1, 2, 3, 4, 5], values: [5, 5, 2, 1, 3] },
    { rows: [0, 2, 3, 5], values: [1, 7, 2, 2] },
  ];
  const found = familywiseWithGaps(target, columns, { permutations: 99, seed: 1 });
  plainFamilywise(target, columns).forEach((p, j) => assertClose(found[j], p, { within: 1e-12 }));
  assert.equal(new Set(found).size, 4);
});
