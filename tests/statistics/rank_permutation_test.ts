import assert from "node:assert/strict";
import { permuteRankCorrelations } from "../../lib/statistics/rank_permutation.ts";
import { rankTable } from "../../lib/statistics/rank_resampling.ts";

/** Doubled ranks less their mean, by counting: whole numbers. */
function doubledRanks(values: readonly number[]): number[] {
  return values.map((value) =>
    values.filter((other) => other < value).length - values.filter((other) => other > value).length
  );
}

function ordersOf(list: readonly number[]): number[][] {
  return list.length < 2
    ? [[...list]]
    : list.flatMap((first, i) =>
      ordersOf([...list.slice(0, i), ...list.slice(i + 1)]).map((rest) => [first, ...rest])
    );
}

const dot = (a: readonly number[], b: readonly number[]) => a.reduce((s, x, i) => s + x * b[i], 0);

/** The plain way, in fractions: a correlation as strong is sum²/squares as large, times one for all of a target. */
function byHand(columns: readonly number[][], targets: readonly number[][]) {
  const ranked = columns.map(doubledRanks);
  const squares = ranked.map((column) => dot(column, column));
  const reached: number[] = [];
  const stepDown: number[] = [];
  targets.map(doubledRanks).forEach((target, t) => {
    const observed = ranked.map((column) => dot(column, target));
    for (const order of ordersOf([...target.keys()])) {
      const sums = ranked.map((column) => dot(column, order.map((row) => target[row])));
      columns.forEach((_, j) => {
        const at = j * targets.length + t;
        const strong = (k: number) => sums[k] ** 2 * squares[j] >= observed[j] ** 2 * squares[k];
        reached[at] = (reached[at] ?? 0) + Number(strong(j));
        // Those observed no stronger than this one; a tie goes to the earlier column, which stands higher.
        const below = [...columns.keys()].filter((k) => {
          const [mine, other] = [
            observed[j] ** 2 * squares[k],
            observed[k] ** 2 * squares[j],
          ];
          return other < mine || (other === mine && k >= j);
        });
        stepDown[at] = (stepDown[at] ?? 0) + Number(below.some(strong));
      });
    }
  });
  return { reached, stepDown };
}

Deno.test("of all orders of six rows, as many reach each of twelve correlations, plain and step-down, as by plain counting", () => {
  const columns = [
    [1, 2, 3, 4, 5, 6],
    [2, 1, 4, 3, 6, 5],
    [1, 1, 2, 2, 3, 3],
    [5, 1, 4, 1, 5, 9],
  ];
  const targets = [[3, 1, 4, 2, 6, 5], [1, 1, 1, 2, 2, 2], [6, 5, 5, 3, 1, 2]];
  const { reached, reachedStepDown, permutations, complete } = permuteRankCorrelations(
    rankTable(columns, targets, 6),
    { permutations: 10, seed: 1 },
  );
  const wanted = byHand(columns, targets);
  assert.deepEqual([permutations, complete], [720, true]);
  assert.deepEqual([...reached], wanted.reached);
  assert.deepEqual([...reachedStepDown], wanted.stepDown);
});

Deno.test("above eight rows orders are drawn, and a target's counts don't depend on the other targets beside it", () => {
  const columns = [
    [1, 2, 3, 4, 5, 6, 7, 8, 9],
    [2, 2, 1, 4, 4, 3, 7, 7, 7],
    [9, 1, 8, 2, 7, 3, 6, 4, 5],
  ];
  const targets = [[2, 1, 3, 3, 5, 4, 9, 8, 7], [1, 2, 1, 2, 1, 2, 1, 2, 1], [
    3,
    3,
    3,
    2,
    2,
    2,
    1,
    1,
    1,
  ]];
  const options = { permutations: 500, seed: 3 };
  const all = permuteRankCorrelations(rankTable(columns, targets, 9), options);
  assert.deepEqual([all.permutations, all.complete], [500, false]);
  targets.forEach((target, t) => {
    const alone = permuteRankCorrelations(rankTable(columns, [target], 9), options);
    columns.forEach((_, j) => {
      assert.equal(all.reached[j * 3 + t], alone.reached[j]);
      assert.equal(all.reachedStepDown[j * 3 + t], alone.reachedStepDown[j]);
    });
  });
});
