import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { adjustP } from "../../../lib/statistics/adjust_p.ts";
import { holmLevels } from "../../../lib/statistics/holm_levels.ts";
import { nearNames } from "../../../lib/records/near_names.ts";
import { pairNoise } from "../../../lib/studies/repeatability/pair_noise.ts";
import { standing } from "../../../lib/statistics/percentile.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { assertClose } from "../../assert_close.ts";
import { designs, falseClaims } from "../../benchmarks/no_difference_pairs.ts";
import { smallBench } from "../small_bench.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const noiseOf = (bench: Bench) => trialReliability(bench, { seed: 1, resamples: 100 });
const compare = (bench: Bench, shoes: string[]) =>
  shoeComparison(bench, { shoes, reliability: noiseOf(bench) });

/** One visit a shoe, four trials each; the data of references/shoe_comparison.R. */
const oneVisit = smallBench([
  { shoe: "a", session: "s1", values: [30.1, 30.9, 30.4, 30.6] },
  { shoe: "b", session: "s1", values: [31.2, 31.9, 31.4, 31.9] },
  { shoe: "c", session: "s1", values: [30.8, 30.2, 30.9, 30.5] },
]);

/** Three visits a shoe, two trials each; the data of references/shoe_comparison.R. */
const threeVisits = smallBench(
  [
    [20.1, 20.4, 21.0, 21.3, 20.3, 20.2],
    [23.2, 23.5, 22.4, 22.1, 23.0, 23.3],
    [25.9, 26.1, 26.8, 27.1, 25.5, 25.2],
    [21.4, 21.9, 22.6, 22.3, 21.9, 21.5],
  ].flatMap((values, i) =>
    [0, 1, 2].map((visit) => ({
      shoe: "abcd"[i],
      session: `s${3 * i + visit}`,
      values: values.slice(2 * visit, 2 * visit + 2),
    }))
  ),
);

const demo = await loadBench(
  fileURLToPath(new URL("../../../data-demo", import.meta.url)),
);
const demoNoise = noiseOf(demo);

Deno.test("shoeComparison() of single visits gives R's pooled differences, p-values and Holm's adjustment", () => {
  const { comparisons, family } = compare(oneVisit, ["a", "b", "c"]);
  assert.equal(family, 3);
  const wanted = [
    { d: -1.1, p: 0.00125270608278, holm: 0.00375811824834, lower: -1.638501115741 },
    { d: -0.1, p: 0.68427543498451, holm: 0.68427543498451, lower: -0.638501115741 },
    { d: 1.0, p: 0.00230382460515, holm: 0.00460764921029, lower: 0.461498884259 },
  ];
  comparisons.forEach((pair, index) => {
    assertClose(pair.difference.estimate, wanted[index].d, { within: 1e-9 });
    assertClose(pair.standard_error, 0.238047614285, { within: 1e-8 });
    assertClose(pair.freedom, 9, { within: 1e-6 });
    assertClose(pair.unadjusted.p, wanted[index].p, { relative: 1e-6 });
    assertClose(pair.p_adjusted, wanted[index].holm, { relative: 1e-6 });
    assertClose(pair.unadjusted.lower, wanted[index].lower, { within: 1e-7 });
  });
});

Deno.test("shoeComparison() of shoes benched three times takes visits as R's nested analysis does", () => {
  const [pair] = compare(threeVisits, ["a", "b"]).comparisons;
  assertClose(pair.difference.estimate, -2.366666666667, { within: 1e-9 });
  assertClose(pair.standard_error, 0.493569763165, { within: 1e-6 });
  assertClose(pair.freedom, 8, { within: 1e-4 });
  assertClose(pair.difference.lower, -3.504840581538, { within: 1e-5 });
  assertClose(pair.difference.upper, -1.228492751796, { within: 1e-5 });
  assertClose(pair.mdc, 1.138173914871, { within: 1e-5 });
});

Deno.test("shoeComparison() on court is R's paired t of the testers who rated both", () => {
  const ratings = [[7.5, 6], [6, 5.5], [8, 7.5], [6.5, 4.5], [7, 6]]
    .flatMap(([x, y], tester) => [
      [`t${tester}`, "a", x] as const,
      [`t${tester}`, "b", y] as const,
    ]);
  const bench = smallBench([], { ratings: [...ratings, ["lone", "a", 1]] });
  const settings = { ...bench.settings, rating: { min: 1, max: 10, step: 0.5 } };
  const { comparisons: [pair], ratings: used } = shoeComparison({ ...bench, settings }, {
    shoes: ["a", "b"],
    metrics: [],
    attributes: ["feel"],
    reliability: { metrics: [] },
  });
  assertClose(pair.difference.estimate, 1.1, { within: 1e-12 });
  assertClose(pair.standard_error, 0.2915475947423, { within: 1e-9 });
  assertClose(pair.unadjusted.p, 0.0195542127203, { relative: 1e-8 });
  assertClose(pair.difference.lower, 0.2905341076456, { within: 1e-8 });
  assert.equal(pair.difference.n, 5);
  assert.equal(pair.ahead, "a");
  assert.equal(used, 11);
});

Deno.test("testers who agree to the digit leave an interval, because ratings come in steps", () => {
  const ratings = ["t1", "t2", "t3"].flatMap((tester) => [
    [tester, "a", 6] as const,
    [tester, "b", 5] as const,
  ]);
  const { comparisons: [pair] } = shoeComparison(smallBench([], { ratings }), {
    shoes: ["a", "b"],
    metrics: [],
    attributes: ["feel"],
    reliability: { metrics: [] },
  });
  // Rounding to a step of 1 leaves a variance of 1/12 in each of two ratings.
  assertClose(pair.standard_error, Math.sqrt(2 / 12 / 3), { within: 1e-12 });
});

Deno.test("pairNoise() cancels sessions and operators that two shoes share, and adds those they don't", () => {
  const parts = {
    shoes: 20,
    visits: 40,
    trials: 160,
    components: [
      ["shoe", 9, 20],
      ["session", 4, 10],
      ["operator", 1, 3],
      ["shoe:session", 0.5, 40],
      [
        "residual",
        2,
        160,
      ],
    ].map(([source, variance, levels]) => ({
      source: source as string,
      variance: variance as number,
      levels: levels as number,
      share: 0,
      boundary: false,
      lower: null,
      upper: null,
    })),
  };
  const bench = smallBench([
    { shoe: "a", session: "s1", operator: "x", values: [1, 2, 3, 4] },
    { shoe: "b", session: "s1", operator: "x", values: [1, 2] },
    { shoe: "c", session: "s2", operator: "y", values: [1, 2, 3, 4] },
    { shoe: "c", session: "s3", operator: "x", values: [1, 2] },
  ]);
  const own = Map.groupBy(visitsOf(bench, "height"), (visit) => visit.shoe_id);
  const [a, b, c] = ["a", "b", "c"].map((shoe) => own.get(shoe)!);
  assertClose(pairNoise(a, b, parts)!.variance, 0.5 + 2 / 4 + 0.5 + 2 / 2, { within: 1e-12 });
  // c stands on two visits: a half of each session, and of the operator whom a shares.
  assertClose(
    pairNoise(a, c, parts)!.variance,
    (0.5 + 2 / 4) + (0.5 + 2 / 4 + 0.5 + 2 / 2) / 4 + 4 * (1 + 2 / 4) + (1 / 4 + 1 / 4),
    { within: 1e-12 },
  );
  assertClose(pairNoise(a, [], parts)!.variance, 0.5 + 2 / 4 + 4 + 1, { within: 1e-12 });
  // Session noise rests on ten sessions, so its nine degrees of freedom weigh most.
  assert.ok(pairNoise(a, c, parts)!.freedom < 20);
  assert.equal(pairNoise([], a, parts), null);
});

Deno.test("every word of a comparison follows from its interval, its p and the smallest difference", () => {
  const { comparisons, compared_on } = shoeComparison(demo, {
    shoes: ["pavrico-orbinel-1", "quenbar-morrune-1", "tolmeck-steddle-1", "ellvarn-talvec-2"],
    attributes: ["grip"],
    reliability: demoNoise,
  });
  const seen = new Set<string>();
  for (const pair of comparisons) {
    const { estimate, lower, upper } = pair.difference;
    if (estimate === null) {
      assert.equal(pair.word, "can't tell");
      assert.ok(pair.mdc_reason);
      continue;
    }
    const margin = compared_on.find((on) =>
      on.metric === pair.metric && on.attribute === pair.attribute
    )!.smallest_difference;
    const apart = lower! > 0 || upper! < 0;
    assert.equal(apart, pair.p_adjusted! <= 0.05);
    const felt = margin !== null && (lower! > margin || upper! < -margin);
    const within = margin !== null && lower! > -margin && upper! < margin;
    assert.equal(
      pair.word,
      apart ? felt ? "differ by enough to feel" : "differ" : within ? "alike" : "can't tell",
    );
    assert.ok(Math.abs(estimate) > pair.mdc! === (pair.unadjusted.p! < 0.05));
    seen.add(pair.word);
  }
  assert.equal(seen.size, 4);
});

Deno.test("the order of shoes turns the sign of a difference and nothing else", () => {
  const one = compare(threeVisits, ["a", "d"]).comparisons[0];
  const other = compare(threeVisits, ["d", "a"]).comparisons[0];
  assertClose(other.difference.estimate, -one.difference.estimate!, { within: 1e-12 });
  assertClose(other.difference.upper, -one.difference.lower!, { within: 1e-12 });
  assert.equal(one.ahead, other.ahead);
});

Deno.test("equal shoes of an invented bench are called different at most one time in twenty", () => {
  // 360 comparisons; the 5% they may be wrong, and two standard errors of such a count. The count over
  // all designs is in tests/benchmarks/no_difference_pairs.ts.
  const { differ, felt_at_margin, alike_at_margin } = falseClaims(designs[1], 15, 7);
  const most = 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 360);
  for (const share of [differ, felt_at_margin, alike_at_margin]) {
    assert.ok(share <= most, `${share}`);
  }
  assert.ok(differ > 0);
});

Deno.test("holmLevels() rejects as Holm's adjusted p does, and draws each interval at the risk of its step", () => {
  const p = [0.001, 0.04, 0.02, 0.8, 0.012];
  const levels = holmLevels(p, 0.05);
  assert.deepEqual(levels.map(({ p_adjusted }) => p_adjusted), adjustP(p, "holm"));
  levels.forEach(({ p_adjusted, alpha }, index) =>
    assert.equal(p[index] <= alpha, p_adjusted <= 0.05)
  );
  // Two are rejected; the third step fails, and it and all behind it stand at its risk.
  assert.deepEqual(levels.map(({ alpha }) => alpha), [
    0.05 / 5,
    0.05 / 3,
    0.05 / 3,
    0.05 / 3,
    0.05 / 4,
  ]);
});

Deno.test("a shoe with one trial is not compared, and says why", () => {
  const bench = smallBench([
    { shoe: "a", session: "s1", values: [1, 2, 3] },
    { shoe: "b", session: "s1", values: [4, 5, 6] },
    { shoe: "c", session: "s1", values: [5] },
  ]);
  const { comparisons, notes } = compare(bench, ["a", "b", "c"]);
  const withC = comparisons.filter(({ b }) => b === "c");
  assert.ok(
    withC.every(({ difference }) => /one trial/.test(sayReason(difference.estimate_reason!))),
  );
  assert.ok(notes.some((note) => /one trial/.test(note)));
  assert.throws(() => compare(bench, ["a", "c"]), /one trial/);
});

Deno.test("shoeComparison() refuses what can't be asked and offers the nearest names", () => {
  const ask = (shoes: string[], metrics?: string[]) =>
    shoeComparison(demo, { shoes, metrics, reliability: demoNoise });
  assert.throws(() => ask(["pavrico-orbinel-1", "brindlet"]), /tolmeck-brindlet-1/);
  assert.throws(() => ask(["pavrico-orbinel-1"]), /two to six shoes, was given only pavrico/);
  assert.throws(() => ask(["pavrico-orbinel-1", "pavrico-orbinel-1"]), /named twice/);
  assert.throws(() => ask(demo.shoes.slice(0, 7).map(({ shoe_id }) => shoe_id)), /was given 7/);
  assert.throws(
    () => ask(["pavrico-orbinel-1", "pavrico-orbinel-2"], ["heel-rebuondt"]),
    /Did you mean heel-rebound/,
  );
  const typed = ask(["Pavrico Orbinel 1", "orbinel 2"], ["heel rebond"]);
  assert.deepEqual(typed, ask(["pavrico-orbinel-1", "pavrico-orbinel-2"], ["heel-rebound"]));
  assert.deepEqual(nearNames("heel rebound", ["heel-rebound", "forefoot-rebound"]), [
    "heel-rebound",
  ]);
  assert.deepEqual(nearNames("zzzz", ["heel-rebound"]), []);
});

Deno.test("different sizes, editions and courts are said beside the figures", () => {
  const shoes = demo.shoes.map((shoe) =>
    shoe.shoe_id === "pavrico-orbinel-2" ? { ...shoe, size: 270 } : shoe
  );
  const { notes } = shoeComparison({ ...demo, shoes }, {
    shoes: ["pavrico-orbinel-1", "pavrico-orbinel-2"],
    metrics: ["mass"],
    reliability: demoNoise,
  });
  for (
    const words of [/different sizes .*285.*270/, /2 editions of the Pavrico Orbinel/, /courts/]
  ) {
    assert.ok(notes.some((note) => words.test(note)), String(words));
  }
});

Deno.test("a value read before its method came in is named", () => {
  const metrics = demo.metrics.map((metric) =>
    metric.id === "mass" ? { ...metric, introduced: "2026-06-01", method_version: "2" } : metric
  );
  const { notes } = shoeComparison({ ...demo, metrics }, {
    shoes: ["pavrico-orbinel-1", "ellvarn-talvec-3"],
    metrics: ["mass"],
    reliability: demoNoise,
  });
  assert.ok(notes.some((note) => /1 shoe was read before method version 2/.test(note)));
});

Deno.test("standing() counts the others below, equal ones half", () => {
  assert.equal(standing(3, [1, 2, 3, 3, 5], 1).percentile, 62.5);
  assert.equal(standing(3, [1, 2, 3, 3, 5], -1).better_than, 37.5);
  assert.equal(standing(3, [3], 1).percentile, null);
});

Deno.test("a comparison's JSON holds no number that JSON would lose", () => {
  const result = shoeComparison(demo, {
    shoes: ["tolmeck-steddle-1", "tolmeck-brindlet-1", "tolmeck-yelmar-1"],
    attributes: demo.settings.attributes.map(({ id }) => id),
    reliability: demoNoise,
  });
  assert.deepEqual(JSON.parse(JSON.stringify(result)), result);
});
