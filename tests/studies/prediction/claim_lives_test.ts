import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchUntil, quarterEnd } from "../../../lib/records/quarters.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { courtPrediction } from "../../../lib/studies/prediction/court_prediction.ts";
import { replicationWord } from "../../../lib/studies/prediction/replication.ts";
import { pairSentence } from "../../../lib/words/prediction/pair_sentence.ts";
import {
  lifeRows,
  lifeSentences,
  livesSentence,
} from "../../../lib/words/prediction/life_words.ts";
import { smallBench } from "../small_bench.ts";

const options = { resamples: 1000, permutations: 1000, models: false, seed: 5 };

/**
 * A bench of one metric and one impression: so many shoes a quarter from 2026Q1 on, each rated by three
 * testers in its own quarter; `feel` gives what they feel from the shoe's place, 0 to 1, and its number.
 */
function growing(
  perQuarter: readonly number[],
  feel: (height: number, shoe: number, quarter: number) => number,
): Bench {
  const shoes = perQuarter.flatMap((count, quarter) =>
    Array.from({ length: count }, (_, i) => ({ quarter, id: `q${quarter}-s${i}` }))
  );
  // Places that jump about, so that order of coming has nothing to do with height.
  const height = (shoe: number) => (shoe * 37 % 101) / 101;
  const dates = [
    "2026-02-01",
    "2026-05-01",
    "2026-08-01",
    "2026-11-01",
    "2027-02-01",
    "2027-05-01",
  ];
  const plain = smallBench(
    shoes.map(({ id, quarter }, shoe) => ({
      shoe: id,
      session: `session-${quarter}`,
      date: dates[quarter],
      values: [50 + 10 * height(shoe)],
    })),
    {
      ratings: shoes.flatMap(({ id, quarter }, shoe) =>
        ["a", "b", "c"].map((tester, k) =>
          [tester, id, 2 + 7 * feel(height(shoe), shoe, quarter) + 0.3 * k] as const
        )
      ),
    },
  );
  const quarterOf = new Map(shoes.map(({ id, quarter }) => [id, quarter]));
  return {
    ...plain,
    impressions: plain.impressions.map((row) => ({
      ...row,
      date: dates[quarterOf.get(row.shoe_id)!],
    })),
  };
}

function livesOf(bench: Bench, quarter: string, earlierReviews = 8) {
  const cut = benchUntil(bench, quarterEnd(quarter));
  return courtPrediction(cut, { ...options, earlierReviews }).lives;
}

const wobble = (shoe: number) => (shoe * 53 % 17) / 17 - 0.5;

/** Spearman by its textbook sum of squared rank differences; no ties here. */
function rankDifferences(x: readonly number[], y: readonly number[]): number {
  const rank = (values: readonly number[], at: number) =>
    values.filter((value) => value < values[at]).length + 1;
  const n = x.length;
  const squares = x.reduce((sum, _, i) => sum + (rank(x, i) - rank(y, i)) ** 2, 0);
  return 1 - 6 * squares / (n * (n * n - 1));
}

Deno.test("a claim that goes on is held on the shoes that came after, by the rank correlation over those alone", () => {
  const feel = (height: number, shoe: number) => height + 0.35 * wobble(shoe);
  const bench = growing([20, 12, 9], feel);
  const { claims: [life], looked_at } = livesOf(bench, "2026Q3");
  assert.deepEqual(looked_at, ["2026Q1", "2026Q2", "2026Q3"]);
  assert.deepEqual([life.first, life.since, life.claimed.shoes], ["2026Q1", "2026Q1", 20]);
  assert.deepEqual([life.replication.word, life.replication.shoes], ["held", 21]);
  const later = Array.from({ length: 21 }, (_, i) => 20 + i);
  const heights = later.map((shoe) => (shoe * 37 % 101) / 101);
  const byHand = rankDifferences(heights, later.map((shoe, i) => feel(heights[i], shoe)));
  const { estimate, lower, confidence } = life.replication.spearman;
  assert.ok(Math.abs(estimate! - byHand) < 1e-12, `${estimate} and ${byHand}`);
  // Bonett & Wright's limits by hand: atanh(rho) less 1.6449 roots of (1 + rho²/2)/(n − 3).
  const low = Math.tanh(
    Math.atanh(byHand) - 1.6448536 * Math.sqrt((1 + byHand ** 2 / 2) / (21 - 3)),
  );
  assert.equal(confidence, 0.9);
  assert.ok(Math.abs(lower! - low) < 1e-6, `${lower} and ${low}`);
});

Deno.test("a relation that turns round on later shoes is not seen again, and what is claimed no longer has no since", () => {
  const turned = growing(
    [20, 24],
    (height, shoe, quarter) => (quarter === 0 ? height : 1 - height) + 0.3 * wobble(shoe),
  );
  const { claims: [life] } = livesOf(turned, "2026Q2");
  assert.deepEqual([life.first, life.since, life.replication.word], [
    "2026Q1",
    null,
    "not seen again",
  ]);
  assert.match(
    lifeSentences(livesOf(turned, "2026Q2"))[0],
    /first claimed in 2026Q1, no longer claimed; not seen again on 24 shoes/,
  );
});

Deno.test("three shoes since are too few to tell, and no shoe since is said so", () => {
  const feel = (height: number, shoe: number) => height + 0.4 * wobble(shoe);
  const few = livesOf(growing([24, 3], feel), "2026Q2");
  assert.equal(few.claims[0].replication.word, "can't tell");
  assert.ok(few.claims[0].replication.more! > 0);
  assert.match(
    lifeSentences(few)[0],
    /3 shoes of 3 lines, 3 of them new, since are too few to tell/,
  );
  const none = livesOf(growing([24], feel), "2026Q1");
  assert.deepEqual(none.claims.map(({ replication }) => [replication.word, replication.shoes]), [
    ["nothing since", 0],
  ]);
  assert.equal(none.claims[0].replication.spearman.estimate, null);
  assert.equal(livesSentence(none), null);
});

Deno.test("held asks for limits on the claimed side of 0, not seen again for limits below all that was claimed", () => {
  const claim = { rho: 0.6, lower: 0.35, upper: 0.8 };
  const words = ([[0.01, 0.6], [-0.2, 0.34], [-0.2, 0.36], [-0.9, -0.1], [0.1, 0.2]] as const)
    .map(([lower, upper]) => replicationWord({ lower, upper }, claim));
  assert.deepEqual(words, ["held", "not seen again", "can't tell", "not seen again", "held"]);
  const down = { rho: -0.6, lower: -0.8, upper: -0.35 };
  assert.equal(replicationWord({ lower: -0.6, upper: -0.01 }, down), "held");
  assert.equal(replicationWord({ lower: -0.34, upper: 0.2 }, down), "not seen again");
  assert.equal(replicationWord({ lower: null, upper: null }, down), "can't tell");
});

Deno.test("an edition of a line that the claim already knew is counted as a shoe but not as a new line", () => {
  const bench = growing([20, 10], (height, shoe) => height + 0.35 * wobble(shoe));
  const twice = {
    ...bench,
    shoes: bench.shoes.map((shoe, i) =>
      i < 20 || i >= 24 ? shoe : { ...shoe, model: `q0-s${i - 20}` }
    ),
  };
  const { replication } = livesOf(twice, "2026Q2").claims[0];
  assert.deepEqual([replication.shoes, replication.lines, replication.lines_new], [10, 10, 6]);
});

Deno.test("no more reviews than asked for are worked out again, the first and the last before this among them", () => {
  const bench = growing([16, 4, 4, 4, 4, 4], (height, shoe) => height + 0.35 * wobble(shoe));
  assert.deepEqual(livesOf(bench, "2027Q2", 3).looked_at, ["2026Q1", "2026Q3", "2027Q1", "2027Q2"]);
  assert.deepEqual(livesOf(bench, "2027Q2", 0).looked_at, ["2027Q2"]);
});

const demo = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);

Deno.test("what the demo's lives say of earlier claims is what its earlier reviews claim", () => {
  const at = (quarter: string) => courtPrediction(benchUntil(demo, quarterEnd(quarter)), options);
  const then = at("2026Q1");
  const predicted = then.pairs.filter(({ claim }) => claim === "predicts");
  const made = predicted.filter(({ derived_from }) => derived_from === null);
  const { lives } = at("2026Q2");
  // The computed friction is claimed in its source's place and has no life of its own.
  assert.ok(made.length < predicted.length);
  assert.ok(lives.claims.every(({ metric }) => metric !== "friction-dry"));
  assert.deepEqual(lives.looked_at, ["2025Q3", "2025Q4", "2026Q1", "2026Q2"]);
  assert.equal(lives.review, 4);
  assert.ok(made.length > 1);
  for (const { metric, attribute } of made) {
    const [now, before] = [lives, then.lives].map(({ claims }) =>
      claims.find((life) => life.metric === metric && life.attribute === attribute)!
    );
    assert.deepEqual([now.first, now.claimed], [before.first, before.claimed]);
  }
  const standing = made.filter(({ metric, attribute }) =>
    lives.claims.some((life) =>
      life.metric === metric && life.attribute === attribute && life.since !== null
    )
  );
  assert.ok(
    standing.every(({ metric, attribute }) =>
      lives.claims.find((life) => life.metric === metric && life.attribute === attribute)!.since! <=
        "2026Q1"
    ),
  );
  assert.equal(lifeRows(lives).length, lives.claims.length);
});

Deno.test("what is new at the k-th review is claimed at 5%/k, and what the last one claimed stays at 5%", () => {
  const { pairs, lives } = courtPrediction(benchUntil(demo, quarterEnd("2026Q3")), options);
  assert.equal(lives.review, 5);
  assert.ok(Math.abs(lives.level - 0.01) < 1e-12);
  const last = courtPrediction(benchUntil(demo, quarterEnd("2026Q2")), options).pairs
    .filter(({ claim }) => claim === "predicts").map((pair) => `${pair.metric} ${pair.attribute}`);
  for (const pair of pairs) {
    const stood = last.includes(`${pair.metric} ${pair.attribute}`);
    assert.ok(Math.abs(pair.level - (stood ? 0.05 : 0.01)) < 1e-12);
    if (pair.claim === "predicts") assert.ok(pair.p_familywise! < pair.level);
    else if (pair.p_familywise! < pair.level) assert.notEqual(pair.claim, "no sign of it");
  }
  // A bench judged as if nobody had looked before claims at 5% throughout.
  const fresh = courtPrediction(benchUntil(demo, quarterEnd("2026Q3")), {
    ...options,
    earlierReviews: 0,
  });
  assert.ok(fresh.pairs.every(({ level }) => level === 0.05));
  assert.ok(fresh.lives.claims.length >= pairs.filter(({ claim }) => claim === "predicts").length);
});

Deno.test("a claim that is new at a later review rests on whatever it needs to stay below its own level", () => {
  const cut = benchUntil(demo, quarterEnd("2026Q1"));
  const named = (earlierReviews: number) =>
    new Map(
      courtPrediction(cut, { ...options, earlierReviews }).pairs
        .filter(({ claim }) => claim === "predicts").map((pair) => {
          const { shoes, lines, makers } = pair.rests_on!;
          return [`${pair.metric} ${pair.attribute}`, {
            pair,
            on: [...shoes, ...lines, ...makers],
          }];
        }),
    );
  const [late, fresh] = [named(8), named(0)];
  assert.ok(late.size > 0);
  let more = 0;
  for (const [name, { pair, on }] of late) {
    assert.ok(pair.level < 0.05);
    const before = fresh.get(name)!.on;
    assert.ok(before.every((group) => on.includes(group)));
    if (on.length > before.length) more++;
  }
  assert.ok(more > 0);
});

Deno.test("a pair below 5% but above its level is a hint, and its sentence says why", () => {
  const cut = benchUntil(demo, quarterEnd("2026Q3"));
  const { pairs } = courtPrediction(cut, options);
  const late = pairs.filter(({ p_familywise, level, claim }) =>
    claim === "hint" && p_familywise! < 0.05 && p_familywise! >= level
  );
  assert.ok(late.length > 0);
  for (const pair of late) {
    assert.match(
      pairSentence(pair),
      /There is a hint that .* new at a bench looked at before.*would have to be below 0\.010/,
    );
  }
});

Deno.test("a quarter in which fewer than eight shoes were rated is no review that spends anything", () => {
  const feel = (height: number, shoe: number) => height + 0.35 * wobble(shoe);
  assert.equal(livesOf(growing([4, 20], feel), "2026Q2").review, 1);
  assert.equal(livesOf(growing([8, 20], feel), "2026Q2").review, 2);
});
