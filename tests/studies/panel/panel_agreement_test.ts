import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { kendallW } from "../../../lib/statistics/kendall_w.ts";
import { panelAgreement, panelReliability } from "../../../lib/studies/panel/panel_agreement.ts";
import { assertClose } from "../../assert_close.ts";
import { lostValues, smallBench } from "../small_bench.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { agreementSentence } from "../../../lib/words/panel/panel_words.ts";

const folder = (name: string) => new URL(`../../references/${name}`, import.meta.url).pathname;
const demoPath = new URL("../../../data-demo", import.meta.url).pathname;
const demo = await loadBench(demoPath);
const truth = JSON.parse(await Deno.readTextFile(`${demoPath}/truth.json`));
const panel = panelAgreement(demo, { seed: 20260101 });
const carrots = panelAgreement(await loadBench(folder("bench-carrots")), {
  seed: 1,
  resamples: 100,
});
const { computed } = JSON.parse(
  await Deno.readTextFile(`${folder("bench-carrots")}/reference.json`),
);

for (const attribute of carrots.attributes) {
  Deno.test(`the carrots' ${attribute.attribute} has R's components, ICCs and Kendall's W`, () => {
    const wanted = computed[attribute.attribute];
    for (const { source, variance } of attribute.components) {
      assertClose(variance, wanted.components[source], { relative: 1e-6 });
    }
    assertClose(attribute.icc_single.estimate, wanted.icc_single, { relative: 1e-6 });
    assert.equal(attribute.testers_per_shoe, 103);
    assertClose(attribute.icc_mean.estimate, wanted.icc_mean_of_103, { relative: 1e-6 });
    assertClose(attribute.kendall_w.estimate, wanted.kendall_w, { relative: 1e-9 });
    assert.equal(attribute.kendall_w.testers, wanted.complete_testers);
    assert.equal(attribute.player_dependence.estimate, null);
  });
}

Deno.test("each tester's planted leniency lies in its interval on most attributes", () => {
  const leniency = Object.entries<{ leniency: number }>(truth.panel.testers);
  const middle = leniency.reduce((sum, [, { leniency }]) => sum + leniency, 0) / leniency.length;
  let [inside, all] = [0, 0];
  for (const { use } of panel.attributes) {
    for (const { tester, leniency } of use) {
      const planted = truth.panel.testers[tester].leniency - middle;
      all++;
      if (leniency.lower! < planted && planted < leniency.upper!) inside++;
    }
  }
  assert.equal(all, 36);
  assert.ok(inside >= 30, `${inside} of ${all}`);
});

Deno.test("the planted split of the demo is found: comfort, inside width, foot width, and no other", () => {
  const { attribute, metric, trait } = truth.panel.split;
  const found = panel.attributes.flatMap((one) =>
    one.splits.filter((split) => split.found).map((split) => ({
      ...split,
      attribute: one.attribute,
    }))
  );
  assert.deepEqual(found.map((split) => [split.attribute, split.metric]), [[attribute, metric]]);
  assert.deepEqual(
    found[0].traits.filter((one) => one.found).map((one) => one.trait),
    [trait],
  );
  const effect = found[0].traits.find((one) => one.trait === trait)!.effect;
  assert.ok(effect.lower! < truth.panel.split.points && truth.panel.split.points < effect.upper!);
});

Deno.test("player dependence is largest on the split attribute, and the planted repeat SD is recovered", () => {
  const shares = panel.attributes.map((one) => one.player_dependence.estimate!);
  const split = panel.attributes.findIndex((one) => one.attribute === truth.panel.split.attribute);
  assert.equal(shares.indexOf(Math.max(...shares)), split);
  // Ratings are rounded to halves, which adds 0.5²/12 to the variance.
  const planted = Math.sqrt(truth.panel.sd_residual ** 2 + 0.25 / 12);
  const inside = panel.attributes.filter(({ repeat_sd }) =>
    repeat_sd.lower! < planted && planted < repeat_sd.upper!
  );
  assert.ok(inside.length >= 5, `${inside.length} of 6`);
});

Deno.test("the value with leniency taken out is more reliable than the plain mean, and is what a ceiling gets", () => {
  for (const { attribute, icc_mean, value_reliability } of panel.attributes) {
    assert.ok(value_reliability.estimate! > icc_mean.estimate!);
    assert.equal(panelReliability(panel, attribute), value_reliability);
  }
  assert.equal(panelReliability(panel, "smell").estimate, null);
});

Deno.test("unblinded ratings are counted, and their days listed", () => {
  const rows = demo.impressions.filter(({ blind, rating, attribute }) =>
    blind === "no" && rating !== null && attribute === "grip"
  );
  assert.equal(panel.attributes[0].unblinded.ratings, rows.length);
  assert.equal(panel.unblinded_days.length, rows.length);
  assert.ok(panel.warnings.some(({ code }) => code === "knew-the-shoe"));
});

Deno.test("a shoe half the panel loves and half hates is named, and the others are not", () => {
  const random = randomStream(2);
  const ratings = Array.from(
    { length: 8 },
    (_, t) =>
      Array.from({ length: 15 }, (_, s) =>
        [
          `t${t}`,
          `s${s}`,
          5 + 0.2 * s + 0.4 * random.normal() + (s === 4 ? (t % 2 ? 3 : -3) : 0),
        ] as const),
  ).flat();
  const { divided } = panelAgreement(smallBench([], { ratings }), { seed: 1 }).attributes[0];
  assert.deepEqual(divided.filter(({ found }) => found).map(({ shoe_id }) => shoe_id), ["s4"]);
  assert.equal(divided[0].shoe_id, "s4");
});

Deno.test("nothing of the demo's or the reference folders' panels is lost in JSON", async () => {
  assert.deepEqual(lostValues(panel), []);
  assert.deepEqual(lostValues(carrots), []);
  for (const name of ["bench-cheese", "bench-gauge"]) {
    const result = panelAgreement(await loadBench(folder(name)), { seed: 1 });
    assert.deepEqual(lostValues(result), [], name);
  }
});

const rated = (table: readonly (readonly (number | null)[])[]) =>
  table.flatMap((row, s) => row.map((rating, t) => [`t${t}`, `s${s}`, rating] as const));
const degenerate: Record<string, [readonly (readonly (number | null)[])[], RegExp]> = {
  "one tester": [[[1], [2], [3]], /one tester/],
  "one shoe": [[[1, 2, 3]], /one shoe/],
  "equal ratings": [[[5, 5], [5, 5], [5, 5]], /all readings are equal/],
  "no rating": [[[null, null], [null, null]], /nobody rated it/],
  "testers without a common shoe": [
    [[1, null], [2, null], [null, 3], [null, 5]],
    /no shoe was rated twice|too few/,
  ],
};
for (const [name, [table, reason]] of Object.entries(degenerate)) {
  Deno.test(`${name}: the ICC of the panel has a reason and no number, and nothing is NaN`, () => {
    const result = panelAgreement(smallBench([], { ratings: rated(table) }), { seed: 1 });
    assert.deepEqual(lostValues(result), []);
    const [attribute] = result.attributes;
    assert.equal(attribute.icc_single.estimate, null);
    assert.match(sayReason(attribute.icc_single.estimate_reason!), reason);
    assert.match(agreementSentence(attribute), /can't be told/);
  });
}

Deno.test("perfect agreement gives reasons or 1, never NaN", () => {
  const result = panelAgreement(
    smallBench([], { ratings: rated([[1, 1, 1], [2, 2, 2], [4, 4, 4], [7, 7, 7]]) }),
    { seed: 1 },
  );
  assert.deepEqual(lostValues(result), []);
  const [{ alpha, kendall_w, icc_single }] = result.attributes;
  assertClose(alpha.estimate, 1, { within: 1e-12 });
  assertClose(kendall_w.estimate, 1, { within: 1e-12 });
  assert.ok(icc_single.estimate === null || icc_single.estimate > 0.999);
});

Deno.test("panelAgreement() refuses an unknown attribute in words", () => {
  assert.throws(() => panelAgreement(demo, { seed: 1, attributes: ["smell"] }), {
    name: "CantAnswer",
    message: /no attribute "smell"/,
  });
});

Deno.test("a tester who rates every shoe the same is told so, and the others are not", () => {
  const [{ tester }] = demo.impressions;
  const level = {
    ...demo,
    impressions: demo.impressions.map((row) =>
      row.tester === tester && row.attribute === "grip" ? { ...row, rating: 5 } : row
    ),
  };
  const [grip] =
    panelAgreement(level, { seed: 1, resamples: 100, attributes: ["grip"] }).attributes;
  const alike = grip.use.filter(({ range }) => range.estimate_reason?.code === "tester-alike");
  assert.deepEqual(alike.map((row) => row.tester), [tester]);
  assert.equal(sayReason(alike[0].range.estimate_reason), "the tester rated all shoes the same");
});

Deno.test("Kendall's W of a panel with gaps is that of the largest block that all of it rated: 4 testers, 12 shoes", () => {
  // Four testers agree on twelve shoes (48 cells); three others part over other shoes, nine of them in common (27 cells).
  const ratings = Array.from(
    { length: 20 },
    (_, s) =>
      Array.from(
        { length: 7 },
        (_, t) =>
          t < 4
            ? (s < 12 ? [`t${t}`, `s${s}`, 1 + 0.5 * s + 0.1 * ((s * (t + 3)) % 5)] as const : null)
            : (s >= 11 ? [`t${t}`, `s${s}`, 1 + ((s * (t - 2)) % 7)] as const : null),
      ).filter((row) => row !== null),
  ).flat();
  const [{ kendall_w: w }] =
    panelAgreement(smallBench([], { ratings }), { seed: 1, resamples: 100 })
      .attributes;
  assert.deepEqual([w.testers, w.shoes], [4, 12]);
  const ofAll = Array.from(
    { length: 12 },
    (_, s) =>
      ratings.filter(([tester, shoe]) => shoe === `s${s}` && Number(tester.slice(1)) < 4)
        .map(([, , rating]) => rating),
  );
  assertClose(w.estimate, kendallW(ofAll, { resamples: 0, permutations: 0 }).estimate!, {
    relative: 1e-12,
  });
  assert.ok(w.estimate! > 0.9);
});

Deno.test("an attribute has sources of scatter or a reason why it has none, never both", () => {
  assert.ok(panel.attributes.length > 0);
  for (const { components, components_reason } of panel.attributes) {
    assert.ok(components.length > 0);
    assert.equal(components_reason, null);
  }
  const ratings = ["t1", "t2", "t3"].flatMap((tester) =>
    ["a", "b", "c"].map((shoe) => [tester, shoe, 7] as const)
  );
  const [same] =
    panelAgreement(smallBench([], { ratings }), { seed: 1, resamples: 100 }).attributes;
  assert.deepEqual([same.components, same.components_reason], [
    [],
    { code: "constant", which: "readings" },
  ]);
});
