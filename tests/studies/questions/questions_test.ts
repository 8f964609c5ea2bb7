import assert from "node:assert/strict";
import { CantAnswer } from "../../../lib/records/cant_answer.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { bestShoes } from "../../../lib/studies/questions/best_shoes.ts";
import { labelFit } from "../../../lib/studies/questions/label_fit.ts";
import { likeShoes } from "../../../lib/studies/questions/like_shoes.ts";
import { makerStanding } from "../../../lib/studies/questions/maker_standing.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";
import { bareRule } from "../../bare_bench.ts";

const seed = 20260101;
const noiseOf = (bench: Bench) => trialReliability(bench, { seed, resamples: 100 });

/** Normal numbers from a generator of the test's own (Lehmer's, Box and Muller). */
function normals(start: number): () => number {
  let state = start;
  const next = () => (state = state * 48271 % 2147483647) / 2147483647;
  return () => Math.sqrt(-2 * Math.log(next())) * Math.cos(2 * Math.PI * next());
}

/** Shoes of a true height, each read three times in each of two sessions, with visits and trials that scatter. */
function benchOf(truth: readonly number[], start: number): Bench {
  const normal = normals(start);
  return smallBench(
    ["one", "two"].flatMap((session) =>
      truth.map((height, i) => {
        const visit = height + 0.5 * normal();
        return {
          shoe: `shoe-${i}`,
          session,
          values: [0, 1, 2].map(() => visit + 0.5 * normal()),
        };
      })
    ),
  );
}

function made(bench: Bench, makers: readonly (readonly [maker: string, model: string])[]): Bench {
  return {
    ...bench,
    shoes: bench.shoes.map((shoe, i) => ({ ...shoe, maker: makers[i][0], model: makers[i][1] })),
  };
}

Deno.test("a maker's mean of lines and its interval are those of R's lm, for a maker with one line too", () => {
  // Lines' means 10, 12, 14 (two editions), 15, 18, 20: in R confint(lm(v ~ maker - 1)).
  const heights = [10, 12, 13, 15, 15, 18, 20];
  const bench = made(
    smallBench(heights.map((height, i) => ({
      shoe: `s${i}`,
      session: "one",
      values: [height - 0.1, height + 0.1],
    }))),
    [["A", "a"], ["A", "b"], ["A", "c"], ["A", "c"], ["B", "d"], ["B", "e"], ["C", "f"]],
  );
  const { makers, freedom, line_sd } = makerStanding(bench, {
    on: { metric: "height" },
    reliability: noiseOf(bench),
  });
  assert.deepEqual(makers.map(({ maker, lines, shoes }) => [maker, lines, shoes]), [
    ["C", 1, 1],
    ["B", 2, 2],
    ["A", 3, 4],
  ]);
  assert.equal(freedom, 3);
  assertClose(line_sd!, 2.041241, { relative: 1e-6 });
  const [c, , a] = makers;
  assertClose(a.value.lower!, 8.249451061, { relative: 1e-9 });
  assertClose(a.value.upper!, 15.75054894, { relative: 1e-9 });
  assertClose(c.value.lower!, 13.503858682, { relative: 1e-9 });
  const two = makerStanding(bench, {
    on: { metric: "height" },
    makers: ["A", "B"],
    reliability: noiseOf(bench),
  });
  assert.equal(two.pairs.length, 1);
  assertClose(two.pairs[0].difference.lower!, -1.430138561, { relative: 1e-6 });
  assertClose(two.pairs[0].difference.upper!, 10.43013856, { relative: 1e-6 });
  assert.equal(two.pairs[0].word, "can't tell");
});

Deno.test("makers with one line each can't be told apart, however far their shoes lie from each other", () => {
  const bench = made(benchOf([1, 50], 7), [["A", "a"], ["B", "b"]]);
  const { pairs, line_sd } = makerStanding(bench, {
    on: { metric: "height" },
    reliability: noiseOf(bench),
  });
  assert.equal(line_sd, null);
  assert.equal(pairs[0].word, "can't tell");
  assert.equal(pairs[0].difference.estimate_reason?.code, "one-line-each");
});

Deno.test("of shoes that don't differ none is shut out from the first place in 95 of 100 benches, and each is like the others", () => {
  const benches = 100;
  let shutOut = 0;
  let apart = 0;
  const distances: number[] = [];
  for (let bench = 1; bench <= benches; bench++) {
    const equal = benchOf([10, 10, 10, 10, 10, 10, 30, 50], 1000 + 17 * bench);
    // Two shoes far off keep the variance of shoes from being none; they are not asked about.
    const kept = {
      ...equal,
      shoes: equal.shoes.slice(0, 6),
      trials: equal.trials.filter(({ shoe_id }) => !["shoe-6", "shoe-7"].includes(shoe_id)),
    };
    const reliability = noiseOf(equal);
    const best = bestShoes(kept, { on: { metric: "height" }, reliability, seed });
    if (best.shoes.some(({ word }) => word !== "may be")) shutOut++;
    const like = likeShoes(kept, { shoe: "shoe-0", reliability });
    if (like.told_apart > 0) apart++;
    distances.push(...like.shoes.map(({ distance }) => distance ** 2));
  }
  // 5 expected; more than 12 happens in 1 of 1000 where the risk is 5%.
  assert.ok(shutOut <= 12, `${shutOut} benches of ${benches} shut a shoe out`);
  assert.ok(apart <= 12, `${apart} benches of ${benches} told equal shoes apart`);
  const mean = distances.reduce((sum, one) => sum + one, 0) / distances.length;
  assert.ok(mean > 0.6 && mean < 1.6, `the mean square of distances is ${mean}, not about 1`);
});

Deno.test("a shoe far ahead is surely first, and the lowest end may be asked for", () => {
  const bench = benchOf([10, 11, 12, 40], 3);
  const asked = { on: { metric: "height" }, reliability: noiseOf(bench), seed };
  const best = bestShoes(bench, asked);
  assert.deepEqual(best.shoes.map(({ shoe_id, word }) => [shoe_id, word])[0], [
    "shoe-3",
    "among them",
  ]);
  assert.equal(best.surely, 1);
  const lowest = bestShoes(bench, { ...asked, order: "lowest" });
  assert.equal(lowest.shoes.at(-1)!.shoe_id, "shoe-3");
  assert.equal(lowest.shoes.at(-1)!.word, "not among them");
});

Deno.test("without a repeated reading nobody is first and nobody is like another", () => {
  const bench = smallBench([1, 2, 3].map((height, i) => ({
    shoe: `s${i}`,
    session: "one",
    values: [height],
  })));
  const reliability = noiseOf(bench);
  const best = bestShoes(bench, { on: { metric: "height" }, reliability, seed });
  assert.equal(best.noise_known, false);
  assert.ok(best.shoes.every(({ word, lower }) => word === "may be" && lower === null));
  assert.throws(() => likeShoes(bench, { shoe: "s0", reliability }), /noise that is known/);
});

Deno.test("prices choose before places are told, and a price in two currencies is refused", () => {
  const plain = benchOf([10, 20, 30], 5);
  const priced = (currencies: readonly string[]) => ({
    ...plain,
    shoes: plain.shoes.map((shoe, i) => ({
      ...shoe,
      price: [100, 110, null][i],
      currency: currencies[i],
    })),
  });
  const asked = { on: { metric: "height" }, reliability: noiseOf(plain), seed, price_below: 110 };
  const best = bestShoes(priced(["EUR", "EUR", "EUR"]), asked);
  assert.deepEqual(best.shoes.map(({ shoe_id }) => shoe_id), ["shoe-1", "shoe-0"]);
  assert.equal(best.open, 1);
  assert.throws(() => bestShoes(priced(["EUR", "USD", "EUR"]), asked), /EUR, USD/);
});

Deno.test("a shoe runs short against the others of its label, whatever the gauge reads of all of them", () => {
  const about = { id: "height", unit: "mm", title: "Inside length" };
  const lengths = (gauge: number) => {
    const bench = smallBench(
      ["one", "two"].flatMap((session, at) =>
        [270, 270.3, 269.8, 270.1, 258].map((mm, i) => ({
          shoe: `s${i}`,
          session,
          values: [mm + gauge + 0.1 * at, mm + gauge + 0.2],
        }))
      ),
      { about },
    );
    const sized: Bench = {
      ...bench,
      shoes: bench.shoes.map((shoe) => ({
        ...shoe,
        size: 265,
        size_system: "mondopoint" as const,
      })),
    };
    return labelFit(sized, {
      asked: "short",
      inside_length: "height",
      reliability: noiseOf(sized),
    });
  };
  for (const gauge of [0, -8]) {
    const { shoes, runs_short } = lengths(gauge);
    assert.equal(runs_short, 1);
    assert.deepEqual([shoes[0].shoe_id, shoes[0].word], ["s4", "runs short"]);
    assert.ok(shoes.slice(1).every(({ word }) => word === "true to its label"));
  }
});

Deno.test("one shoe with a size and an inside length has an answer; a shoe without a size has none, nor a bench without sizes", () => {
  const bench = smallBench(
    ["one", "two"].flatMap((session) =>
      ["s0", "s1"].map((shoe) => ({ shoe, session, values: [270, 270.2, 269.8] }))
    ),
    { about: { id: "height", unit: "mm", title: "Inside length" } },
  );
  const fit = (sized: readonly string[], shoes: readonly string[] = []) => {
    const own: Bench = {
      ...bench,
      shoes: bench.shoes.map((shoe) =>
        sized.includes(shoe.shoe_id) ? { ...shoe, size: 265, size_system: "mondopoint" } : shoe
      ),
    };
    const reliability = noiseOf(own);
    return labelFit(own, { asked: "short", inside_length: "height", shoes, reliability });
  };
  const one = fit(["s0"]);
  assert.deepEqual(one.shoes.map(({ shoe_id }) => shoe_id), ["s0"]);
  // A foot of 265 mm in a shoe of 270 mm; itself the only one, it is as the usual one is.
  assertClose(one.shoes[0].excess_mm, 5, { within: 1e-9 });
  assertClose(one.shoes[0].against_usual_mm, 0, { within: 1e-9 });
  assert.equal(one.without_size, 1);
  assert.throws(() => fit(["s0"], ["s1"]), /s1 lacks a size on record/);
  assert.throws(() => fit([]), /No shoe has a size on record/);
});

Deno.test("bestShoes() counts every trial, knows the noise of shoes read twice, and can't answer by an index without a rule", () => {
  const bench = benchOf([40, 45, 50], 5);
  const reliability = noiseOf(bench);
  const best = bestShoes(bench, { on: { metric: "height" }, reliability, seed });
  assert.equal(best.trials, bench.trials.length);
  assert.equal(best.noise_known, true);
  const once = smallBench([40, 45, 50].map((value, i) => ({
    shoe: `s${i}`,
    session: "one",
    values: [value],
  })));
  const unknown = bestShoes(once, {
    on: { metric: "height" },
    reliability: noiseOf(once),
    seed,
  });
  assert.equal(unknown.noise_known, false);
  assert.throws(() => bestShoes(bench, { reliability, seed }), CantAnswer);
});

Deno.test("the best by an index are those of the highest score, whatever their names; asked for the lowest they are turned round", () => {
  const bench = benchOf([40, 52, 45, 60, 48], 5);
  const rule: Bench["rules"][number] = {
    id: "index",
    version: "1",
    title: "Index",
    effective: "2026-01-01",
    target_attribute: "feel",
    terms: [{ metric: "height", weight: 100, scaling: { kind: "range", low: 0, high: 100 } }],
    ...bareRule,
  };
  const ruled = { ...bench, rules: [rule] };
  const ask = { reliability: noiseOf(bench), seed, first: 5 };
  const order = (one: "highest" | "lowest") =>
    bestShoes(ruled, { ...ask, order: one }).shoes.map(({ shoe_id }) => shoe_id);
  const falling = ["shoe-3", "shoe-1", "shoe-4", "shoe-2", "shoe-0"];
  assert.deepEqual(order("highest"), falling);
  assert.deepEqual(order("lowest"), falling.toReversed());
});
