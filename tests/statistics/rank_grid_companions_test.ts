import assert from "node:assert/strict";
import { partialRankCorrelation } from "../../lib/statistics/partial_rank_correlation.ts";
import { partialRankCorrelationGrid } from "../../lib/statistics/partial_rank_correlation_grid.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { rankCorrelationDraws } from "../../lib/statistics/rank_correlation_draws.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { tieNearEqual } from "../../lib/statistics/tie_near_equal.ts";
import { rowsToRuleOut } from "../../lib/statistics/rows_to_rule_out.ts";
import { assertClose } from "../assert_close.ts";

const random = randomStream(9);
const normals = (n: number) => Array.from({ length: n }, () => random.normal());
const given = normals(40);
const columns = [normals(40), given.map((value) => value + random.normal())];
const targets = [
  given.map((value, i) => value + columns[0][i] + random.normal()),
  normals(40).map((value, i) => i < 4 ? null : value),
];

Deno.test("partialRankCorrelationGrid() estimates what partialRankCorrelation() does, gaps included", () => {
  const grid = partialRankCorrelationGrid(columns, targets, given, { resamples: 500 });
  columns.forEach((x, j) =>
    targets.forEach((y, t) => {
      const one = partialRankCorrelation(x, y, [given], { resamples: 500 });
      assertClose(grid[j][t].estimate, one.estimate!, { within: 1e-14 });
      assert.equal(grid[j][t].n, one.n);
      // Other resamples of the same kind: limits agree to their Monte Carlo error.
      assertClose(grid[j][t].lower, one.lower!, { within: 0.08 });
      assertClose(grid[j][t].upper, one.upper!, { within: 0.08 });
    })
  );
});

Deno.test("partialRankCorrelationGrid() says why the control has no partial correlation with itself", () => {
  const [[cell]] = partialRankCorrelationGrid([given], targets, given);
  assert.equal(cell.estimate, null);
  assert.ok(cell.estimate_reason);
});

Deno.test("rankCorrelationDraws() scatter about the correlation, and are null where there is none", () => {
  const draws = rankCorrelationDraws([columns[0], columns[0].map(() => 1)], targets, {
    resamples: 2000,
    seed: 4,
  });
  assert.equal(draws[1][0], null);
  const { cells } = rankCorrelationGrid([columns[0]], targets, {
    interval: "percentile",
    resamples: 2000,
    permutations: 0,
    seed: 4,
  });
  targets.forEach((_, t) => {
    const sorted = draws[0][t]!.toSorted();
    assertClose(sorted[50], cells[0][t].lower!, { within: 0.02 });
    assertClose(sorted[1949], cells[0][t].upper!, { within: 0.02 });
  });
});

Deno.test("rowsToRuleOut() gives the n at which four intervals of five stay small", () => {
  const inside = (rho: number, n: number) => {
    const stream = randomStream(2, n);
    const r = 2 * Math.sin(Math.PI * rho / 6);
    let held = 0;
    const runs = 400;
    for (let run = 0; run < runs; run++) {
      const x = Array.from({ length: n }, () => stream.normal());
      const y = x.map((value) => r * value + Math.sqrt(1 - r * r) * stream.normal());
      const [[{ lower, upper }]] = rankCorrelationGrid([x], [y], {
        resamples: 500,
        permutations: 0,
        seed: run,
      }).cells;
      if (lower! > -0.3 && upper! < 0.3) held++;
    }
    return held / runs;
  };
  for (const rho of [0, 0.1]) {
    // Three standard errors of 400 runs are 6%.
    assertClose(inside(rho, rowsToRuleOut(rho)!), 0.8, { within: 0.07 });
  }
  assert.ok(rowsToRuleOut(0.2)! > rowsToRuleOut(0.1)!);
  assert.equal(rowsToRuleOut(-0.1), rowsToRuleOut(0.1));
  for (const within of [0, 1, 1.5, -0.2]) {
    assert.throws(() => rowsToRuleOut(0.1, { within }), /within lies between 0 and 1/);
  }
  assert.equal(rowsToRuleOut(0.3), null);
  assert.throws(() => rowsToRuleOut(2), RangeError);
});

Deno.test("tieNearEqual() ties what only rounding keeps apart, and nothing else", () => {
  assert.deepEqual(tieNearEqual([0.1 + 0.2, null, 0.3, 5, 4.999999]), [
    0.3,
    null,
    0.3,
    5,
    4.999999,
  ]);
  assert.deepEqual(tieNearEqual([]), []);
  assert.deepEqual(tieNearEqual([null]), [null]);
  assert.deepEqual(tieNearEqual([1e6, 1e6 + 1e-9]), [1e6, 1e6]);
  assert.deepEqual(tieNearEqual([-2, -2 - 1e-3]), [-2, -2 - 1e-3]);
});

Deno.test("a partial correlation names the column that never changes, be it the first or the last, and one that the others give", () => {
  const [x, y, z] = [[1, 4, 2, 6, 3, 5], [2, 1, 4, 3, 6, 5], [6, 5, 1, 2, 4, 3]];
  const flat = x.map(() => 7);
  const reason = (...[a, b, c]: readonly number[][]) =>
    partialRankCorrelation(a, b, [c], { interval: "none" }).estimate_reason;
  assert.equal(reason(x, y, z), null);
  assert.deepEqual(reason(flat, y, z), { code: "constant", which: "column", column: 1 });
  assert.deepEqual(reason(x, y, flat), { code: "constant", which: "column", column: 3 });
  assert.deepEqual(reason(x, y, y), { code: "dependent" });
});
