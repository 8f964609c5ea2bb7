import assert from "node:assert/strict";
import { biasCorrectedShares } from "../../lib/statistics/bias_corrected.ts";
import { productMoment } from "../../lib/statistics/pearson.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { bootstrapRankCorrelations } from "../../lib/statistics/rank_bootstrap.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { rankTable } from "../../lib/statistics/rank_resampling.ts";
import { ranks } from "../../lib/statistics/ranks.ts";
import { spearman } from "../../lib/statistics/spearman.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rMatrix, testInR } from "./in_r.ts";
import { publishedCheck } from "./published.ts";
import { sayReason } from "../../lib/words/reasons.ts";

type Column = (number | null)[];

/** Invented columns with ties; `gap` is the share of values missing. */
function inventedColumns(
  seed: number,
  count: number,
  n: number,
  levels: number,
  gap = 0,
): Column[] {
  const stream = randomStream(seed);
  const common = Array.from({ length: n }, () => stream.normal());
  return Array.from(
    { length: count },
    () =>
      common.map((shared) =>
        stream.uniform() < gap ? null : Math.round((shared + 2 * stream.normal()) * levels)
      ),
  );
}

Deno.test("a resample by counts is ranked as the drawn rows themselves are, ties included", () => {
  const n = 23;
  const columns = inventedColumns(1, 5, n, 1) as number[][];
  const targets = inventedColumns(2, 3, n, 3) as number[][];
  const { values } = bootstrapRankCorrelations(rankTable(columns, targets, n), {
    resamples: 300,
    seed: 9,
  });
  // The plain way: draw the rows from the same stream, write them out, rank, correlate.
  const draws = randomStream(9, 1, n).fillIntegers(new Uint16Array(300 * n), n);
  for (let b = 0; b < 300; b++) {
    const rows = [...draws.subarray(b * n, (b + 1) * n)];
    columns.forEach((x, j) =>
      targets.forEach((y, t) => {
        const plain = productMoment(ranks(rows.map((i) => x[i])), ranks(rows.map((i) => y[i])));
        const fast = values[(j * 3 + t) * 300 + b];
        if (plain === null) assert.ok(Number.isNaN(fast));
        else assertClose(fast, plain, { within: 1e-13 });
      })
    );
  }
});

Deno.test("limits are those of a plain sort of the resamples and a plain jackknife", () => {
  const n = 31;
  const [x] = inventedColumns(3, 1, n, 2) as number[][];
  const [y] = inventedColumns(4, 1, n, 2) as number[][];
  const resamples = 2000;
  const { values } = bootstrapRankCorrelations(rankTable([x], [y], n), { resamples, seed: 5 });
  const rho = productMoment(ranks(x), ranks(y))!;
  const jackknife = x.map((_, left) => {
    const keep = (_: number, i: number) => i !== left;
    return productMoment(ranks(x.filter(keep)), ranks(y.filter(keep)))!;
  });
  const sorted = [...values].sort((a, b) => a - b);
  const below = sorted.filter((value) => value < rho - 1e-13).length;
  const equal = sorted.filter((value) => Math.abs(value - rho) <= 1e-13).length;
  const { lowerShare, upperShare } = biasCorrectedShares({
    below,
    equal,
    resamples,
    jackknife,
    confidence: 0.9,
  });
  const quantile = (share: number) => {
    const place = (resamples - 1) * share;
    const before = Math.floor(place);
    return sorted[before] + (place - before) * (sorted[before + 1] - sorted[before]);
  };
  const { cells: [[cell]] } = rankCorrelationGrid([x], [y], {
    resamples,
    seed: 5,
    confidence: 0.9,
    permutations: 0,
  });
  assertClose(cell.estimate, rho, { within: 1e-14 });
  assertClose(cell.lower, quantile(lowerShare), { within: 1e-13 });
  assertClose(cell.upper, quantile(upperShare), { within: 1e-13 });
  cell.leave_one_out.forEach((value, i) => assertClose(value, jackknife[i], { within: 1e-13 }));
});

Deno.test("step-down p of three metrics over all 720 orders is Westfall and Young's", () => {
  const { data, computed } = publishedCheck("multiplicity", "step-down-max-statistic");
  const names = ["a", "b", "c"];
  const { cells } = rankCorrelationGrid(names.map((name) => data.metrics[name]), [data.response]);
  names.forEach((name, j) => {
    assertClose(cells[j][0].estimate, computed.rho[name], { relative: 1e-12 });
    assertClose(cells[j][0].p, computed.p_unadjusted[name], { relative: 1e-12 });
    assertClose(cells[j][0].p_familywise, computed.p_step_down[name], { relative: 1e-12 });
  });
});

Deno.test("exact p counts every order of small tied samples as whole numbers do", () => {
  for (let seed = 0; seed < 20; seed++) {
    const [x] = inventedColumns(seed, 1, 7, 1) as number[][];
    const [y] = inventedColumns(seed + 100, 1, 7, 1) as number[][];
    const { cells: [[cell]] } = rankCorrelationGrid([x], [y], { interval: "none" });
    if (cell.estimate === null) continue;
    const a = ranks(x).map((rank) => 2 * rank - 8);
    const b = ranks(y).map((rank) => 2 * rank - 8);
    const goal = Math.abs(a.reduce((sum, rank, i) => sum + rank * b[i], 0));
    let reached = 0;
    let tried = 0;
    for (const order of orders([0, 1, 2, 3, 4, 5, 6])) {
      tried++;
      if (Math.abs(order.reduce((sum, from, i) => sum + a[i] * b[from], 0)) >= goal) reached++;
    }
    assert.equal(cell.p, reached / tried);
  }
});

function* orders(rest: number[]): Generator<number[]> {
  if (rest.length === 0) yield [];
  for (const first of rest) {
    for (const tail of orders(rest.filter((value) => value !== first))) yield [first, ...tail];
  }
}

Deno.test("a pair's result is the same alone, in a grid, and in a grid with gaps elsewhere", () => {
  const n = 40;
  const columns = inventedColumns(6, 5, n, 2);
  const targets = inventedColumns(7, 3, n, 2);
  const gappy = inventedColumns(8, 2, n, 2, 0.2);
  const options = { resamples: 400, permutations: 400, seed: 3 };
  const { cells } = rankCorrelationGrid([...columns, ...gappy], targets, options);
  const [[alone]] = rankCorrelationGrid([columns[2]], [targets[1]], options).cells;
  const { p_familywise: _, ...inGrid } = cells[2][1];
  const { p_familywise: __, ...byItself } = alone;
  assert.deepEqual(inGrid, byItself);
  const single = spearman(gappy[0], targets[2], options);
  assert.equal(cells[5][2].estimate, single.estimate);
  assert.equal(cells[5][2].lower, single.lower);
  assert.equal(cells[5][2].p, single.p);
  assert.equal(cells[5][2].n, single.n);
  for (const row of cells) {
    for (const cell of row) assert.ok(cell.p_familywise! >= cell.p!, "family-wise p below plain p");
  }
});

Deno.test("family-wise p with gaps equals the one without when the gap hides nothing", () => {
  const n = 30;
  const columns = inventedColumns(12, 4, n, 2);
  const [target] = inventedColumns(13, 1, n, 2);
  const options = { interval: "none" as const, permutations: 4000, seed: 8 };
  const whole = rankCorrelationGrid(columns, [target], options).cells;
  // One value less in one column: another way through the code, nearly the same answer.
  const nearly = columns.map((column, j) => j === 3 ? [null, ...column.slice(1)] : column);
  const gappy = rankCorrelationGrid(nearly, [target], options).cells;
  for (let j = 0; j < 3; j++) {
    assertClose(gappy[j][0].p_familywise, whole[j][0].p_familywise!, { within: 0.03 });
  }
});

Deno.test("more than 465 rows, where sums no longer travel in pairs, give the same numbers", () => {
  const n = 600;
  const columns = inventedColumns(14, 2, n, 20) as number[][];
  const targets = inventedColumns(15, 3, n, 20) as number[][];
  const { cells } = rankCorrelationGrid(columns, targets, { resamples: 200, permutations: 99 });
  columns.forEach((x, j) =>
    targets.forEach((y, t) => {
      assertClose(cells[j][t].estimate, productMoment(ranks(x), ranks(y))!, { within: 1e-12 });
      assert.ok(cells[j][t].lower! < cells[j][t].estimate!);
      assert.ok(cells[j][t].upper! > cells[j][t].estimate!);
    })
  );
  const long = inventedColumns(16, 2, 1400, 50) as number[][];
  const { values } = bootstrapRankCorrelations(rankTable([long[0]], [long[1]], 1400), {
    resamples: 2,
    seed: 1,
  });
  const draws = randomStream(1, 1, 1400).fillIntegers(new Uint16Array(2 * 1400), 1400);
  const rows = [...draws.subarray(0, 1400)];
  assertClose(
    values[0],
    productMoment(ranks(rows.map((i) => long[0][i])), ranks(rows.map((i) => long[1][i])))!,
    { within: 1e-12 },
  );
});

Deno.test("degenerate columns of a grid give reasons and leave the others alone", () => {
  const { cells } = rankCorrelationGrid(
    [[1, 2, 3, 4, 5, 6], [7, 7, 7, 7, 7, 7], [1, 2, null, null, null, null], [3, 1, 2, 5, 4, 6]],
    [[2, 1, 4, 3, 6, 5], [null, null, null, null, null, null]],
  );
  assert.equal(cells[0][0].n, 6);
  assert.notEqual(cells[0][0].p_familywise, null);
  assert.deepEqual(cells[1][0].estimate_reason, { code: "constant", which: "x" });
  assert.deepEqual(cells[2][0].estimate_reason, {
    code: "too-few",
    of: "pairs",
    needed: 3,
    found: 2,
  });
  assert.deepEqual(cells[0][1].estimate_reason, {
    code: "too-few",
    of: "pairs",
    needed: 3,
    found: 0,
  });
  assert.equal(JSON.stringify(cells).includes("NaN"), false);
  assert.throws(() => rankCorrelationGrid([[1, 2, 3]], [[1, 2]]), RangeError);
  assert.throws(() => rankCorrelationGrid([[1, 2, NaN]], [[1, 2, 3]]), RangeError);
  assert.throws(
    () => rankCorrelationGrid([[1, 2, 3]], [[1, 2, 3]], { confidence: 95 }),
    RangeError,
  );
});

Deno.test("three rows give an estimate and an exact p but no interval, and say so", () => {
  const { cells: [[cell]] } = rankCorrelationGrid([[1, 2, 3]], [[1, 3, 2]]);
  assert.equal(cell.estimate, 0.5);
  assert.equal(cell.p, 1);
  assert.equal(cell.lower, null);
  assert.match(
    cell.warnings.map((one) => sayReason(one)).join(),
    /no bootstrap interval from 3 rows/,
  );
});

Deno.test("resamples that are constant are counted and said", () => {
  const { cells: [[cell]] } = rankCorrelationGrid([[1, 1, 1, 1, 2, 1, 1, 1]], [[
    4,
    2,
    6,
    3,
    8,
    1,
    5,
    7,
  ]]);
  assert.match(
    cell.warnings.map((one) => sayReason(one)).join(),
    /of 10000 resamples were degenerate/,
  );
});

testInR("BCa limits agree with R's boot on random tied columns within Monte Carlo error", () => {
  const n = 40;
  const [x] = inventedColumns(21, 1, n, 2) as number[][];
  const [y] = inventedColumns(22, 1, n, 2) as number[][];
  const [[lower, upper]] = inR(`
    suppressPackageStartupMessages(library(boot)); set.seed(1); d <- t(${rMatrix([x, y])})
    b <- boot(d, function(d, i) cor(rank(d[i, 1]), rank(d[i, 2])), R = 20000)
    out(boot.ci(b, type = "bca", L = empinf(b, type = "jack"))$bca[4:5])`);
  const { cells: [[cell]] } = rankCorrelationGrid([x], [y], { resamples: 20000, permutations: 0 });
  assertClose(cell.lower, lower, { within: 0.015 });
  assertClose(cell.upper, upper, { within: 0.015 });
});

Deno.test("asking for less of a grid changes nothing of what is left", () => {
  const columns = inventedColumns(21, 5, 30, 3, 0.1);
  const targets = inventedColumns(22, 3, 30, 3, 0.1);
  const options = { resamples: 200, permutations: 499, seed: 4 };
  const whole = rankCorrelationGrid(columns, targets, options);
  const less = rankCorrelationGrid(columns, targets, {
    ...options,
    familywiseBelow: 0.05,
    leaveOneOut: false,
  });
  let skipped = 0;
  targets.forEach((_, t) => {
    const isAsked = whole.cells.some((row) => row[t].p! < 0.05);
    if (!isAsked) skipped++;
    whole.cells.forEach((row, j) => {
      const { leave_one_out: _, p_familywise, ...rest } = row[t];
      const { leave_one_out, p_familywise: asked, ...same } = less.cells[j][t];
      assert.deepEqual(same, rest);
      assert.deepEqual(leave_one_out, []);
      if (isAsked) assert.equal(asked, p_familywise);
      else assert.ok(p_familywise! >= 0.05 && asked === null);
    });
  });
  assert.ok(skipped > 0 && skipped < targets.length, `${skipped} targets were left out`);
});
