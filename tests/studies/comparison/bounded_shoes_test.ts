import assert from "node:assert/strict";
import { comparisonChart } from "../../../lib/charts/comparison_chart.ts";
import { CantAnswer } from "../../../lib/records/cant_answer.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { publishedCatalogue } from "../../../lib/studies/catalogue/published_catalogue.ts";
import { catalogueStanding } from "../../../lib/studies/comparison/catalogue_standing.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { shortlist } from "../../../lib/studies/comparison/shortlist.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { bestShoes } from "../../../lib/studies/questions/best_shoes.ts";
import { likeShoes } from "../../../lib/studies/questions/like_shoes.ts";
import { makerStanding } from "../../../lib/studies/questions/maker_standing.ts";
import { shoeProfile } from "../../../lib/studies/questions/shoe_profile.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { boundedShoes } from "../../../lib/studies/shoes/published_visits.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { trustWords } from "../../../lib/words/catalogue/catalogue_words.ts";
import { catalogueRows } from "../../../lib/words/catalogue/catalogue_rows.ts";
import { comparedValueRows, comparisonRows } from "../../../lib/words/comparison/answer_rows.ts";
import { catalogueWords } from "../../../lib/words/comparison/catalogue_words.ts";
import { comparisonWords } from "../../../lib/words/comparison/comparison_sentence.ts";
import { shortlistWords } from "../../../lib/words/comparison/shortlist_words.ts";
import { indexSentence } from "../../../lib/words/index/index_sentence.ts";
import { likeWords } from "../../../lib/words/questions/like_words.ts";
import { makerWords } from "../../../lib/words/questions/maker_words.ts";
import { profileWords } from "../../../lib/words/questions/profile_words.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { boundedBench } from "../../benchmarks/bounded_values.ts";
import { lostValues, smallBench } from "../small_bench.ts";
import { bareRule } from "../../bare_bench.ts";

const { bench: drawn, truth } = boundedBench(4, { bound: 1.3 });
const bench: Bench = {
  ...drawn,
  metrics: drawn.metrics.map((metric) => ({ ...metric, better: "lower", title: "Wear" })),
};
const reliability = trialReliability(bench, { seed: 1, resamples: 200 });
const bounds = boundedShoes(bench, "height");
const whole = bounds.filter(({ bounded, readings }) => bounded === readings);
const values = shoeValues(bench, "height", null).toSorted((a, b) => a.value - b.value);
const [near, far] = [values[0].shoe_id, values.at(-1)!.shoe_id];
const [low, lower] = whole.map(({ shoe_id }) => shoe_id);
const compare = (...shoes: string[]) => shoeComparison(bench, { shoes, reliability });

Deno.test("a shoe known as '<1.3' differs from one far above it, with how much at least and no size", () => {
  const result = compare(low, far);
  assert.deepEqual(lostValues(result), []);
  const [pair] = result.comparisons;
  assert.equal(pair.word, "differ");
  assert.equal(pair.ahead, low); // less wear is better
  assert.equal(pair.difference.estimate, null);
  const reason = pair.difference.estimate_reason!;
  assert.equal(reason.code, "bound-apart");
  const gap = truth.get(far)! - truth.get(low)!;
  assert.ok(Number(reason.least) > 0 && Number(reason.least) < gap);
  assert.match(comparisonWords(result).sentence, /ran off the end of the scale.*mm at least/);
  assert.equal(comparedValueRows(result)[0][result.shoes[0].label], "<1.3 mm (6 trials)");
  assert.match(String(comparisonRows(result)[0].difference), /how much higher can't be told/);
  assert.match(comparisonWords(result).alt, /<1.3 mm \(6 trials\)/);
  assert.match(comparisonChart(result).outerHTML, /&lt;1.3 mm/);
});

Deno.test("two shoes known by a bound, or a bound and a value near it, can't be told apart", () => {
  assert.throws(() => compare(low, lower), CantAnswer);
  const three = compare(low, lower, far);
  const [both] = three.comparisons;
  assert.equal(both.word, "can't tell");
  assert.equal(both.difference.estimate_reason!.code, "bound-in-reach");
  const close = compare(low, near, far).comparisons[0];
  assert.deepEqual([close.word, close.ahead], ["can't tell", null]);
});

Deno.test("among three the sentence doesn't call the read shoe the leader where a bounded one wears less", () => {
  const { sentence } = comparisonWords(compare(low, far, values.at(-2)!.shoe_id));
  assert.match(
    sentence,
    new RegExp(`^Of the pairs benched, Maker ${low} leads on wear, clear of both`),
  );
});

Deno.test("where nobody can say which wears least, no shoe is said to read best, and the bounded ones are named once", () => {
  const told = comparisonWords(compare(low, near, values[1].shoe_id));
  assert.match(
    told.sentence,
    new RegExp(`^No clear leader on wear: Maker ${low} ran off the end of the scale`),
  );
  assert.ok(!told.notes.some((note) => note.includes("did not read far enough")));
});

Deno.test("of 200 benches where two shoes are equal and at the bound, at most 5% call a bounded and a read one different", () => {
  let [asked, wrong] = [0, 0];
  for (let b = 0; b < 200; b++) {
    const { bench: own, truth } = boundedBench(700 + b, { bound: 1.5 });
    const noise = trialReliability(own, { seed: 1, resamples: 100 });
    const order = [...truth].sort((x, y) => Math.abs(x[1] - 1.5) - Math.abs(y[1] - 1.5));
    const known = new Set(boundedShoes(own, "height").map(({ shoe_id }) => shoe_id));
    const [a] = order.filter(([id]) => known.has(id));
    const [c] = order.filter(([id]) => !known.has(id));
    if (a === undefined || c === undefined || a[1] < c[1] - 0.15) continue;
    asked++;
    try {
      const { comparisons } = shoeComparison(own, { shoes: [a[0], c[0]], reliability: noise });
      if (comparisons[0].word !== "can't tell") wrong++;
    } catch (error) {
      if (!(error instanceof CantAnswer)) throw error;
    }
  }
  assert.ok(asked > 60, `${asked} asked`);
  assert.ok(wrong <= 0.05 * asked + 2, `${wrong} of ${asked}`);
});

Deno.test("the best of a test of wear is not named while shoes lie below its bound, and the highest wear is", () => {
  const best = () => bestShoes(bench, { on: { metric: "height" }, reliability, seed: 1 });
  assert.throws(best, (error) => {
    assert.ok(error instanceof CantAnswer);
    assert.match(sayReason(error.reason)!, /first places on wear run off the end of the scale/);
    return true;
  });
  const most = bestShoes(bench, {
    on: { metric: "height" },
    order: "highest",
    reliability,
    seed: 1,
  });
  assert.equal(most.shoes[0].shoe_id, far);
});

Deno.test("a catalogue counts bounded shoes among the placed, ahead of those that surely wear more, and names them", () => {
  const result = catalogueStanding(bench, { metric: "height", reliability, shoes: [far] });
  assert.equal(result.placed, 24);
  const row = result.shoes.find(({ shoe_id }) => shoe_id === far)!;
  assert.equal(row.place!.place, 24);
  assert.equal(row.place!.place_upper, 24);
  assert.equal(row.better_than, 0);
  assert.match(catalogueWords(result).notes.join(" "), /ran off the end of the scale: .*<1.3 mm/);
  assert.throws(
    () => catalogueStanding(bench, { metric: "height", reliability, shoes: [low] }),
    /ran off the end of the scale/,
  );
});

Deno.test("a profile of a bounded shoe shows '<1.3 mm' and its readings in place of a value", () => {
  const result = shoeProfile(bench, { shoe: low, reliability, seed: 1 });
  assert.equal(result.strips[0].value, null);
  assert.match(profileWords(result).notes.join(" "), /Wear: <1.3 mm, all that 6 readings show\./);
});

Deno.test("the published table has '<1.3' and the third that the bound allows, for every bounded shoe", () => {
  const { bench: drawn } = boundedBench(4, { bound: 1.3, noise: 0.1, visit: 0.03 });
  const metrics = drawn.metrics.map((metric) => ({
    ...metric,
    better: "lower" as const,
    title: "Wear",
  }));
  const fine: Bench = { ...drawn, metrics };
  const table = publishedCatalogue(fine, {
    reliability: trialReliability(fine, { seed: 1, resamples: 200 }),
    seed: 1,
  });
  const beyond = boundedShoes(fine, "height");
  const { rows } = catalogueRows(table);
  const cells = rows.filter((row) => String(row["Wear (mm)"]).startsWith("<"));
  assert.notEqual(table.metrics[0].published_as, "withheld");
  assert.ok(beyond.length > 2);
  assert.equal(cells.length, beyond.length);
  for (const row of cells) assert.match(String(row["Wear: where"]), /^<1\.\d+ mm, best/);
});

Deno.test("a metric of which most readings are bounds is withheld, and the table says that it ran off its scale", () => {
  const { bench: drawn } = boundedBench(4, { bound: 2.2 });
  const table = publishedCatalogue(drawn, {
    reliability: trialReliability(drawn, { seed: 1, resamples: 100 }),
    seed: 1,
  });
  const [metric] = table.metrics;
  assert.equal(metric.published_as, "withheld");
  assert.match(trustWords(metric), /ran off the end of its scale/);
});

Deno.test("the bound of a mean of '<1', '<2' and 3 is '<2', and readings off both ends have none", () => {
  const read = smallBench([
    { shoe: "a", session: "d", values: [0, 0, 3] },
    { shoe: "b", session: "d", values: [0, 0, 3] },
    { shoe: "c", session: "d", values: [4, 5, 6, 4, 5, 6] },
  ]);
  const ends = [{ below: 1 }, { below: 2 }, null, { below: 1 }, { above: 9 }, null];
  const trials = read.trials.map((trial, i) => {
    const bound = ends[i] ?? null;
    return { ...trial, value: bound === null ? trial.value : null, bound };
  });
  const shoes = boundedShoes({ ...read, trials }, "height");
  assert.deepEqual(shoes.map(({ shoe_id, bound }) => [shoe_id, bound]), [["a", { below: 2 }]]);
});

const names = bounds.map(({ shoe_id }) => `Maker ${shoe_id}`);
const leftOut = (notes: readonly string[]) =>
  notes.filter((note) => /^\d+ shoes ran off the end of a scale/.test(note));

Deno.test("the nearest shoes, the makers and the shortlist say how many shoes, and which, ran off the end of the scale", () => {
  const several = {
    ...bench,
    shoes: bench.shoes.map((shoe, i) => ({ ...shoe, maker: `Maker ${"AB"[i % 2]}` })),
  };
  const listed = shortlist(bench, {
    conditions: [{ kind: "at most", metric: "height", value: 2 }],
    reliability,
    seed: 1,
  });
  const own = new Set(bounds.map(({ shoe_id }) => shoe_id));
  for (const { shoe_id, word, conditions: [met] } of listed.shoes) {
    if (!own.has(shoe_id)) continue;
    assert.deepEqual([word, met.probability_reason!.code], ["can't tell", "known-by-bound"]);
  }
  const makers = makerStanding(several, { on: { metric: "height" }, reliability });
  const counted = makers.makers.reduce((sum, { shoes }) => sum + shoes, 0);
  assert.equal(counted + makers.bounded.length, bench.shoes.length);
  for (
    const [{ bounded }, notes, so] of [
      [
        likeShoes(bench, { shoe: near, reliability }),
        likeWords(likeShoes(bench, { shoe: near, reliability })).notes,
        "they differ only from shoes past that bound by more than noise",
      ],
      [makers, makerWords(makers).notes, "they are in no maker's mean"],
      [listed, shortlistWords(listed).notes, "whether they meet a condition on it can't be told"],
    ] as const
  ) {
    assert.deepEqual(bounded.map(({ shoe_id }) => shoe_id).sort(), [...own].sort());
    const [note, ...more] = leftOut(notes);
    assert.equal(more.length, 0);
    assert.ok(note.startsWith(`${names.length} shoes ran off`) && note.includes(so), note);
    for (const { name } of bounded) assert.ok(note.includes(name), note);
  }
});

Deno.test("nearest shoes up to a price leave the dearer ones off the scale uncounted", () => {
  const priced = {
    ...bench,
    shoes: bench.shoes.map((shoe) => ({
      ...shoe,
      price: shoe.shoe_id === low ? 200 : 100,
      currency: "EUR",
    })),
  };
  const { bounded } = likeShoes(priced, { shoe: near, price_below: 150, reliability });
  assert.deepEqual(
    bounded.map(({ shoe_id }) => shoe_id).sort(),
    bounds.map(({ shoe_id }) => shoe_id).filter((id) => id !== low).sort(),
  );
});

Deno.test("where every shoe was read, no answer speaks of the end of a scale", () => {
  const { bench: read } = boundedBench(4, { bound: -100 });
  const noise = trialReliability(read, { seed: 1, resamples: 100 });
  const shoe = read.shoes[0].shoe_id;
  const result = likeShoes(read, { shoe, reliability: noise });
  assert.deepEqual([result.bounded, leftOut(likeWords(result).notes)], [[], []]);
});

Deno.test("an index that counts wear says which shoes have only a bound there, that it is a missing term, and withholds their score", () => {
  const scores = indexScores(bench, {
    rule: {
      id: "wear",
      version: "1",
      title: "Wear",
      effective: "2026-01-01",
      target_attribute: "feel",
      terms: [{ metric: "height", weight: 1, scaling: { kind: "standard" } }],
      ...bareRule,
    },
    reliability,
    draws: 200,
  });
  assert.deepEqual(
    scores.bounded.map(({ shoe_id }) => shoe_id).sort(),
    bounds.map(({ shoe_id }) => shoe_id).sort(),
  );
  for (const { shoe_id } of bounds) {
    assert.equal(scores.shoes.find((row) => row.shoe_id === shoe_id)!.score, null);
  }
  assert.match(
    indexSentence(scores),
    /; Maker .* ran off the end of a scale \(wear\), which counts as a term that is missing\.$/,
  );
});
