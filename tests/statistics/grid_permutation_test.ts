import assert from "node:assert/strict";
import { gridPermutation } from "../../lib/statistics/grid_permutation.ts";
import { normalQuantile } from "../../lib/statistics/distributions.ts";
import { assertClose } from "../assert_close.ts";

type Column = readonly (number | null)[];

/** Normal scores of what is there, by counting: rank over one more than there are. */
function scores(column: Column): (number | null)[] {
  const own = column.filter((value) => value !== null);
  return column.map((value) => {
    if (value === null) return null;
    const below = own.filter((other) => other < value).length;
    const ties = own.filter((other) => other === value).length;
    return normalQuantile((below + (ties + 1) / 2) / (own.length + 1));
  });
}

/** The correlation over the rows that have both, and how many they are; null of fewer than three or no scatter. */
function correlation(x: Column, y: Column): { n: number; r: number | null } {
  const both = x.flatMap((value, row) =>
    value === null || y[row] === null ? [] : [[value, y[row]!] as const]
  );
  const n = both.length;
  const mean = (at: 0 | 1) => both.reduce((sum, pair) => sum + pair[at], 0) / n;
  const [mx, my] = [mean(0), mean(1)];
  let [xx, yy, xy] = [0, 0, 0];
  for (const [a, b] of both) {
    xx += (a - mx) ** 2;
    yy += (b - my) ** 2;
    xy += (a - mx) * (b - my);
  }
  return { n, r: n < 3 || xx < 1e-12 || yy < 1e-12 ? null : xy / Math.sqrt(xx * yy) };
}

function orders(n: number): number[][] {
  if (n === 0) return [[]];
  return orders(n - 1).flatMap((order) =>
    Array.from({ length: n }, (_, at) => [...order.slice(0, at), n - 1, ...order.slice(at)])
  );
}

const columns: Column[] = [
  [1, 2, 3, 4, 5, 6],
  [2, null, 5, 3, 9, 4],
  [null, 7, 1, null, 3, 3],
];
const targets: Column[] = [
  [1, 3, 2, 4, 6, 5],
  [4, 5, null, 3, 6, 2],
  [null, 1, 4, null, 2, 8],
];

Deno.test("with gaps on both sides every cell's correlation, n and p are those of the definition over all 720 orders", () => {
  const found = gridPermutation(columns, targets);
  const all = orders(6);
  columns.forEach((column, j) =>
    targets.forEach((target, t) => {
      const [x, y] = [scores(column), scores(target)];
      const z = (order: readonly number[]) => {
        const { n, r } = correlation(x, order.map((row) => y[row]));
        return r === null ? 0 : Math.abs(r) * Math.sqrt(n - 1);
      };
      const here = correlation(x, y);
      const seen = z([0, 1, 2, 3, 4, 5]);
      const cell = found[j][t];
      assert.equal(cell.n, here.n, `${j}, ${t}`);
      assertClose(cell.correlation, here.r!, { within: 1e-9 });
      const reached = all.filter((order) => z(order) >= seen - 1e-9).length;
      assertClose(cell.p, reached / 720, { within: 1e-12 });
    })
  );
});

Deno.test("p over the whole grid is that of the step-down maximum over all 720 orders", () => {
  const found = gridPermutation(columns, targets).flat();
  const cells = columns.flatMap((column) =>
    targets.map((target) => [scores(column), scores(target)] as const)
  );
  const strengths = (order: readonly number[]) =>
    cells.map(([x, y]) => {
      const { n, r } = correlation(x, order.map((row) => y[row]));
      return r === null ? 0 : Math.abs(r) * Math.sqrt(n - 1);
    });
  const seen = strengths([0, 1, 2, 3, 4, 5]);
  const ladder = cells.map((_, cell) => cell).sort((a, b) => seen[b] - seen[a]);
  const all = orders(6).map(strengths);
  let before = 0;
  ladder.forEach((cell, rung) => {
    const left = ladder.slice(rung);
    const reached = all.filter((some) =>
      Math.max(...left.map((one) => some[one])) >= seen[cell] - 1e-9
    ).length;
    before = Math.max(before, reached / all.length);
    assertClose(found[cell].p_grid, before, { within: 1e-12 });
  });
});
