import assert from "node:assert/strict";
import { orderStatistics } from "../../lib/statistics/order_statistics.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { rankGain } from "../../lib/statistics/rank_gain.ts";
import { type CandidateFit, reviseWeights } from "../../lib/statistics/revise_weights.ts";
import { assertClose } from "../assert_close.ts";

function invented(seed: number, n: number, weights: readonly number[], noise: number) {
  const random = randomStream(seed);
  const X = Array.from({ length: n }, () => weights.map(() => 0.5 + 0.2 * random.normal()));
  const y = X.map((row) =>
    3 + 9 * row.reduce((sum, value, j) => sum + value * weights[j], 0) + noise * random.normal()
  );
  return { X, y };
}

const fit = (candidates: readonly CandidateFit[], name: CandidateFit["candidate"]) =>
  candidates.find(({ candidate }) => candidate === name)!;
const middle = (draws: Float64Array) => orderStatistics(draws).quantile(0.5);

Deno.test("reviseWeights() stays near weights that fit already, and leaves those that are far off", () => {
  const right = [0.3, 0.3, 0.2, 0.2];
  const { X, y } = invented(5, 60, right, 0.4);
  const off = (weights: readonly { revised: number }[]) =>
    weights.reduce((sum, { revised }, j) => sum + Math.abs(revised - right[j]), 0);
  const stays = reviseWeights(X, y, { old: right });
  assert.ok(off(stays.weights) < 0.1);
  assert.ok(stays.weights.every(({ old, lower, upper }) => lower! <= old && old <= upper!));
  assert.ok(Math.abs(middle(fit(stays.candidates, "new weights").gains)) < 0.02);
  const moves = reviseWeights(X, y, { old: [0, 0, 0.1, 0.9] });
  assert.ok(off(moves.weights) < 0.4);
  assertClose(moves.weights.reduce((sum, { revised }) => sum + revised, 0), 1, { within: 1e-12 });
  assert.ok(orderStatistics(fit(moves.candidates, "new weights").gains).quantile(0.025) > 0.1);
});

Deno.test("a column that only chance makes the best single one is not said to lose more than its rivals", () => {
  // Three columns that serve alike: leaving rows out in turn made the best of them seem to lose 0.18.
  const { X, y } = invented(17, 40, [1 / 3, 1 / 3, 1 / 3], 1.2);
  const { candidates, also } = reviseWeights(X, y, {
    old: [0.4, 0.3, 0.3],
    also: [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  });
  const singles = also.map(({ rank_correlations }) => middle(rank_correlations));
  const best = middle(fit(candidates, "best single column").rank_correlations);
  assertClose(best, Math.max(...singles), { within: 1e-12 });
});

Deno.test("where lines and not shoes differ, kin rows leave wider limits than strangers would", () => {
  const random = randomStream(3);
  const lines = Array.from({ length: 48 }, (_, i) => Math.floor(i / 4));
  const ofLine = lines.map(() => [random.normal(), random.normal(), random.normal()]);
  const X = lines.map((line) => [0, 1].map((j) => ofLine[line][j] + 0.05 * random.normal()));
  const y = X.map(([a, b], i) => a + b + 2 * ofLine[lines[i]][2] + 0.5 * random.normal());
  const width = (groups?: { outer: number[]; inner: number[] }) => {
    const { candidates } = reviseWeights(X, y, { old: [0.1, 0.9], groups });
    const gains = orderStatistics(fit(candidates, "equal weights").gains);
    return gains.quantile(0.975) - gains.quantile(0.025);
  };
  assert.ok(width({ outer: lines.map(() => 0), inner: lines }) > 1.1 * width());
});

Deno.test("reviseWeights() gives the same bytes for the same seed", () => {
  const { X, y } = invented(9, 20, [0.5, 0.5], 1);
  const once = () => JSON.stringify(reviseWeights(X, y, { old: [0.9, 0.1], draws: 100 }));
  assert.equal(once(), once());
});

Deno.test("five rows, or an outcome of one value, leave the old weights with the reason", () => {
  const X = [[1, 2], [2, 1], [3, 3], [4, 5], [5, 4]];
  const few = reviseWeights(X, [1, 2, 3, 4, 5], { old: [1, 1] });
  assert.deepEqual(few.reason, { code: "too-few", of: "rows", needed: 6, found: 5 });
  assert.deepEqual(few.weights.map(({ revised }) => revised), [1, 1]);
  const flat = reviseWeights([...X, [2, 2]], [3, 3, 3, 3, 3, 3], { old: [1, 1] });
  assert.deepEqual(flat.reason, { code: "constant", which: "outcome" });
});

Deno.test("duplicated rows, a constant column and one that stands twice do not break the fit", () => {
  const { X, y } = invented(11, 12, [0.7, 0.3], 0.3);
  const doubled = [...X, ...X].map((row) => [...row, 1, row[0]]);
  const { weights } = reviseWeights(doubled, [...y, ...y], { old: [0.3, 0.3, 0.2, 0.2] });
  for (const { revised, lower, upper } of weights) {
    assert.ok(Number.isFinite(revised) && revised >= 0);
    assert.ok(lower! >= 0 && upper! <= 1 && lower! <= upper!);
  }
});

Deno.test("weights that are negative, all zero or too few are refused in words", () => {
  const X = [[1, 2], [2, 1], [3, 3]];
  for (const old of [[0, 0], [-1, 2]]) {
    assert.throws(() => reviseWeights(X, [1, 2, 3], { old }), /at least 0 and not all 0/);
  }
  assert.throws(() => reviseWeights(X, [1, 2, 3], { old: [1] }), /Every row needs 1 columns/);
});

Deno.test("rankGain() gives nothing for the same order, and the reverse for lists that change places", () => {
  const random = randomStream(21);
  const values = Array.from({ length: 30 }, () => random.normal());
  const good = values.map((value) => value + 0.5 * random.normal());
  const bad = values.map((value) => value + 2 * random.normal());
  const each = values.map((_, i) => i);
  const options = { groups: { outer: each, inner: each }, confidence: 0.95, seed: 4 };
  const { gain } = rankGain({ values, old: good, updated: good.map((v) => 10 * v) }, options);
  assert.deepEqual([gain.estimate, gain.lower, gain.upper], [0, 0, 0]);
  const up = rankGain({ values, old: bad, updated: good }, options).gain;
  const down = rankGain({ values, old: good, updated: bad }, options).gain;
  assert.ok(up.lower! > 0);
  assertClose(down.estimate, -up.estimate!, { within: 0.03 });
  assert.deepEqual(
    rankGain({ values, old: good, updated: good.map(() => 1) }, options).gain.estimate_reason,
    {
      code: "constant",
      which: "scores",
    },
  );
});

Deno.test("weights of two decimals sum to the whole, and none of those rounded up had a smaller remainder than one rounded down", () => {
  for (let seed = 31; seed < 36; seed++) {
    const { X, y } = invented(seed, 60, [0.37, 0.33, 0.2, 0.1], 0.8);
    const old = [0.25, 0.25, 0.25, 0.25];
    const rounded = reviseWeights(X, y, { old, decimals: 2, draws: 100 }).weights;
    const exact = reviseWeights(X, y, { old, decimals: 12, draws: 100 }).weights;
    assertClose(rounded.reduce((sum, { revised }) => sum + revised, 0), 1, { within: 1e-12 });
    const off = rounded.map(({ revised }, j) => revised - exact[j].revised);
    assert.ok(off.every((by) => Math.abs(by) < 0.01), String(off));
    const remainders = exact.map(({ revised }) => revised * 100 - Math.floor(revised * 100));
    const up = remainders.filter((_, j) => off[j] > 1e-9);
    const down = remainders.filter((_, j) => off[j] < -1e-9);
    assert.ok(up.length > 0 && down.length > 0);
    assert.ok(Math.min(...up) >= Math.max(...down), `${remainders}`);
  }
});
