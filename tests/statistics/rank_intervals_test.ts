import assert from "node:assert/strict";
import { normalQuantile } from "../../lib/statistics/distributions.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { rankIntervals } from "../../lib/statistics/rank_intervals.ts";
import { assertClose } from "../assert_close.ts";

const diagonal = (variances: readonly number[]) =>
  variances.map((variance, i) => variances.map((_, j) => i === j ? variance : 0));

Deno.test("rankIntervals() takes the two-sided normal quantile as critical value for two things", () => {
  const { critical } = rankIntervals({ estimates: [1, 2], covariance: diagonal([1, 1]) }, {
    resamples: 40000,
  });
  assertClose(critical, normalQuantile(0.975), { within: 0.03 });
});

Deno.test("rankIntervals() takes Tukey's critical value for equal independent errors", () => {
  // qtukey(.95, 5, Inf)/sqrt(2) = 2.7278 (R 4.2.2)
  const { critical } = rankIntervals(
    { estimates: [1, 2, 3, 4, 5], covariance: diagonal([1, 1, 1, 1, 1]) },
    { resamples: 40000 },
  );
  assertClose(critical, 2.7278, { within: 0.03 });
});

Deno.test("rankIntervals() from draws and from their covariance agree", () => {
  const stream = randomStream(3);
  const estimates = [5, 4.2, 4.1, 3, 1];
  const draws = Array.from({ length: 4000 }, () => estimates.map((v) => v + 0.4 * stream.normal()));
  const byDraws = rankIntervals({ estimates, draws });
  const byCovariance = rankIntervals({
    estimates,
    covariance: diagonal(estimates.map(() => 0.16)),
  });
  assert.deepEqual(byDraws.intervals, byCovariance.intervals);
  assertClose(byDraws.critical, byCovariance.critical!, { within: 0.1 });
});

Deno.test("rankIntervals() turns over for lower-is-better and does not care about order or unit", () => {
  const estimates = [2.1, 9, 4.4, 4.6];
  const covariance = diagonal([0.3, 0.2, 0.1, 0.4]);
  const { intervals } = rankIntervals({ estimates, covariance });
  const lower = rankIntervals({ estimates: estimates.map((v) => -v), covariance }, {
    better: "lower",
  });
  assert.deepEqual(lower.intervals, intervals);
  const scaled = rankIntervals({
    estimates: estimates.map((v) => v * 10),
    covariance: covariance.map((row) => row.map((v) => v * 100)),
  });
  assert.deepEqual(scaled.intervals, intervals);
});

Deno.test("rankIntervals() steps down to intervals no wider than in one step", () => {
  const stream = randomStream(5);
  let narrower = 0;
  for (let run = 0; run < 20; run++) {
    const estimates = Array.from({ length: 8 }, (_, i) => i + stream.normal());
    const covariance = diagonal(estimates.map(() => 0.25));
    const one = rankIntervals({ estimates, covariance }, { stepDown: false, resamples: 1000 });
    const down = rankIntervals({ estimates, covariance }, { resamples: 1000 });
    down.intervals.forEach(({ lower, upper }, i) => {
      assert.ok(lower >= one.intervals[i].lower && upper <= one.intervals[i].upper);
      if (upper - lower < one.intervals[i].upper - one.intervals[i].lower) narrower++;
    });
  }
  assert.ok(narrower > 0);
});

Deno.test("rankIntervals() hold all true ranks at once in at least 95 of 100 simulated tables", () => {
  const truth = [1, 1.2, 2, 2, 3, 3.5];
  const bestPlace = truth.map((v) => 1 + truth.filter((other) => other > v).length);
  const worstPlace = truth.map((v) => truth.filter((other) => other >= v).length);
  const stream = randomStream(8);
  const covariance = diagonal(truth.map(() => 0.25));
  let held = 0;
  const runs = 400;
  for (let run = 0; run < runs; run++) {
    const estimates = truth.map((value) => value + 0.5 * stream.normal());
    const { intervals } = rankIntervals({ estimates, covariance }, { resamples: 1000, seed: run });
    if (intervals.every(({ lower, upper }, i) => lower <= bestPlace[i] && upper >= worstPlace[i])) {
      held++;
    }
  }
  // 95% less twice its Monte Carlo error.
  assert.ok(held / runs >= 0.95 - 2 * Math.sqrt(0.95 * 0.05 / runs), `held in ${held} of ${runs}`);
});

Deno.test("rankIntervals() handles ties without error, one thing, none, and refuses what can't be", () => {
  const exact = rankIntervals({ estimates: [3, 3, 1], covariance: diagonal([0, 0, 0]) });
  assert.deepEqual(exact.intervals.map(({ lower, upper }) => [lower, upper]), [[1, 2], [1, 2], [
    3,
    3,
  ]]);
  assert.deepEqual(exact.intervals.map(({ rank }) => rank), [1, 1, 3]);
  assert.deepEqual(rankIntervals({ estimates: [2], covariance: [[1]] }).intervals, [
    { rank: 1, lower: 1, upper: 1 },
  ]);
  assert.deepEqual(rankIntervals({ estimates: [], covariance: [] }).intervals, []);
  assert.throws(() => rankIntervals({ estimates: [1, 2] }), RangeError);
  assert.throws(
    () => rankIntervals({ estimates: [1, NaN], covariance: diagonal([1, 1]) }),
    RangeError,
  );
  assert.throws(
    () => rankIntervals({ estimates: [1, 2], covariance: [[1, 2], [2, 1]] }),
    RangeError,
  );
  assert.throws(() => rankIntervals({ estimates: [1, 2], draws: [[1, 2], [1]] }), RangeError);
});

Deno.test("rankIntervals() finds what all pairs one by one show, with ties and errors of 0", () => {
  for (let seed = 1; seed <= 60; seed++) {
    const stream = randomStream(seed);
    const p = seed % 12;
    const estimates = Array.from({ length: p }, () => Math.round(3 * stream.normal()) / 2);
    const errors = estimates.map(() => stream.uniform() < 0.1 ? 0 : 0.1 + 3 * stream.uniform());
    const draws = Array.from(
      { length: 250 },
      () => estimates.map((value, i) => value + errors[i] * stream.normal()),
    );
    const better = seed % 3 === 0 ? "lower" : "higher";
    const { intervals, critical } = rankIntervals({ estimates, draws }, { better });
    const plain = allPairs(estimates, draws, better);
    assert.deepEqual(intervals.map(({ lower, upper }) => [lower, upper]), plain.limits);
    if (plain.critical === null) assert.equal(critical, null);
    else assertClose(critical, plain.critical, { within: 1e-9 });
  }
});

/** The definition, pair by pair: places that simultaneous comparisons leave open, stepping down. */
function allPairs(
  estimates: readonly number[],
  draws: readonly (readonly number[])[],
  better: "higher" | "lower",
) {
  const sign = better === "higher" ? 1 : -1;
  const places = estimates.map((_, i) => i);
  const centre = places.map((i) => draws.reduce((sum, draw) => sum + draw[i], 0) / draws.length);
  const difference = (row: readonly number[], i: number, j: number) =>
    sign * (row[i] - centre[i] - row[j] + centre[j]);
  const pairs = places.flatMap((i) =>
    places.filter((j) => j !== i).map((j) => {
      const squares = draws.reduce((sum, draw) => sum + difference(draw, i, j) ** 2, 0);
      const error = Math.sqrt(squares / (draws.length - 1));
      return { i, j, error, gap: sign * (estimates[i] - estimates[j]) };
    })
  );
  const better_than = new Set<string>();
  for (const { i, j, gap, error } of pairs) {
    if (error === 0 && gap > 0) better_than.add(`${i},${j}`);
  }
  let open = pairs.filter(({ error }) => error > 0);
  let critical: number | null = null;
  for (let before = -1; open.length > 0 && before !== open.length;) {
    before = open.length;
    const largest = draws.map((draw) =>
      Math.max(...open.map(({ i, j, error }) => difference(draw, i, j) / error))
    ).sort((a, b) => a - b);
    const at = 0.95 * (largest.length - 1);
    const low = largest[Math.floor(at)];
    const limit = low + (at % 1) * (largest[Math.ceil(at)] - low);
    critical ??= limit;
    for (const { i, j, gap, error } of open) if (gap / error > limit) better_than.add(`${i},${j}`);
    open = open.filter(({ gap, error }) => gap / error <= limit);
  }
  const limits = places.map((i) => [
    1 + places.filter((j) => better_than.has(`${j},${i}`)).length,
    estimates.length - places.filter((j) => better_than.has(`${i},${j}`)).length,
  ]);
  return { limits, critical };
}

// The draws are gone through in stretches of 65,536 numbers: with five things the second begins at draw 13,108.
Deno.test("over 20,000 draws two of five things are apart at 4 standard errors of their difference and not at 1.2, however much each scatters", () => {
  const stream = randomStream(11);
  const sizes = [0.2, 0.5, 1, 2, 4];
  const draws = Array.from({ length: 20_000 }, () => sizes.map((size) => size * stream.normal()));
  for (const [i, j] of [[0, 1], [0, 2], [0, 3], [0, 4], [1, 4], [3, 2]]) {
    const gap = Math.hypot(sizes[i], sizes[j]);
    for (const [times, wanted] of [[1.2, false], [4, true]] as const) {
      const estimates = sizes.map((_, k) => k === i ? times * gap : 0);
      const found = rankIntervals({ estimates, draws }, { stepDown: false });
      assert.equal(found.apart[i][j], wanted, `${i} and ${j}, ${times} errors apart`);
    }
  }
});
