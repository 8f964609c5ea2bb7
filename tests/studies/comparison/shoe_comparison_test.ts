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
import { comparisonWords } from "../../../lib/words/comparison/comparison_sentence.ts";
import { CantAnswer } from "../../../lib/records/cant_answer.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
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

Deno.test("shoeComparison() of single visits gives R's pooled differences, and intervals that hold together as Tukey's do", () => {
  const { comparisons, family } = compare(oneVisit, ["a", "b", "c"]);
  assert.equal(family, 3);
  const wanted = [
    { d: -1.1, p: 0.00125270608278, together: 0.0032171903893, lower: -1.638501115741 },
    { d: -0.1, p: 0.68427543498451, together: 0.90826952035504, lower: -0.638501115741 },
    { d: 1.0, p: 0.00230382460515, together: 0.00585716718444, lower: 0.461498884259 },
  ];
  comparisons.forEach((pair, index) => {
    assertClose(pair.difference.estimate, wanted[index].d, { within: 1e-9 });
    assertClose(pair.standard_error, 0.238047614285, { within: 1e-8 });
    assertClose(pair.freedom, 9, { within: 1e-6 });
    assertClose(pair.unadjusted.p, wanted[index].p, { relative: 1e-6 });
    assertClose(pair.p_adjusted, wanted[index].together, { within: 2e-4 });
    const half = 2.79200561169 * 0.238047614285; // qtukey(.95, 3, 9) / sqrt(2)
    assertClose(pair.difference.upper, wanted[index].d + half, { within: 2e-3 });
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

Deno.test("shoeComparison() on court is R's two-way layout of shoes and testers, each shoe by its own scatter, common testers or not", () => {
  const ratings = [
    ["t1", "a", 7],
    ["t1", "b", 5.5],
    ["t2", "a", 6],
    ["t2", "c", 4.5],
    ["t3", "b", 6.5],
    ["t3", "c", 5],
    ["t3", "a", 7.5],
    ["t4", "c", 3],
    ["t4", "d", 6],
    ["t2", "d", 7],
  ] as const;
  const bench = smallBench([], { ratings });
  const settings = { ...bench.settings, rating: { min: 1, max: 10, step: 0.5 } };
  const { comparisons, ratings: used } = shoeComparison({ ...bench, settings }, {
    shoes: ["a", "b", "c", "d"],
    metrics: [],
    attributes: ["feel"],
    reliability: { metrics: [] },
  });
  const of = (a: string, b: string) => comparisons.find((pair) => pair.a === a && pair.b === b)!;
  // references/shoe_comparison.R; b and d have no tester in common
  for (
    const [pair, difference, variance] of [
      [of("a", "b"), 1.10714285714, 0.1279006046863],
      [of("a", "c"), 2.125, 0.1257912887377],
      [of("b", "d"), -1.875, 0.2458971088435],
    ] as const
  ) {
    assertClose(pair.difference.estimate, difference, { within: 1e-9 });
    assertClose(pair.standard_error! ** 2, variance, { within: 1e-9 });
    assert.equal(pair.freedom, 3);
  }
  assert.equal(used, 10);
});

testInR(
  "a shoe that divides the panel brings its own scatter and freedom into a difference on court, as R works it out",
  () => {
    // Shoe a scatters three times as far as the others.
    const ratings = [
      ["t1", "a", 6.5],
      ["t2", "a", 5],
      ["t3", "a", 9],
      ["t1", "b", 6.5],
      ["t2", "b", 8],
      ["t3", "b", 7.5],
      ["t4", "b", 6],
      ["t1", "c", 6],
      ["t2", "c", 8.5],
      ["t3", "c", 8.5],
      ["t4", "c", 8],
      ["t1", "d", 6.5],
      ["t2", "d", 7],
      ["t3", "d", 7],
      ["t4", "d", 7.5],
      ["t1", "e", 7],
      ["t2", "e", 8],
      ["t3", "e", 7.5],
      ["t1", "f", 7],
      ["t2", "f", 7],
      ["t3", "f", 9],
      ["t4", "f", 8],
      ["t1", "g", 8.5],
      ["t2", "g", 8.5],
      ["t3", "g", 8.5],
      ["t4", "g", 8],
      ["t1", "h", 8.5],
      ["t2", "h", 8.5],
      ["t3", "h", 7],
      ["t4", "h", 9.5],
    ] as const;
    const bench = smallBench([], { ratings });
    const settings = { ...bench.settings, rating: { min: 1, max: 10, step: 0.5 } };
    const { comparisons } = shoeComparison({ ...bench, settings }, {
      shoes: ["a", "b", "c"],
      metrics: [],
      attributes: ["feel"],
      reliability: { metrics: [] },
    });
    const column = (at: 0 | 1) => ratings.map((row) => `"${row[at]}"`).join(",");
    const found = inR(`
r <- data.frame(tester = c(${column(0)}), shoe = c(${column(1)}), rating = ${
      rVector(ratings.map(([, , rating]) => rating))
    })
fit <- lm(rating ~ shoe + tester, r); f <- df.residual(fit); n <- table(r$shoe)
squares <- tapply(resid(fit)^2, r$shoe, sum); pooled <- sum(squares) / f
d <- (n - 1) * f / sum(n - 1); own <- (squares + 2 * pooled) / (d + 2); df <- pmin((d + 2)^2 / d, f)
for (p in list(c("a", "b"), c("a", "c"), c("b", "c"))) {
  k <- setNames(rep(0, length(coef(fit))), names(coef(fit)))
  for (i in 1:2) if (p[i] != "a") k[paste0("shoe", p[i])] <- c(1, -1)[i]
  parts <- own[p] / n[p]; leniency <- (k %*% summary(fit)$cov.unscaled %*% k - sum(1 / n[p])) * pooled
  v <- sum(parts) + leniency
  out(c(k %*% coef(fit), sqrt(v), min(f, v^2 / (sum(parts^2 / df[p]) + leniency^2 / f))))
}`);
    found.forEach(([difference, error, freedom], i) => {
      assertClose(comparisons[i].difference.estimate, difference, { within: 1e-9 });
      assertClose(comparisons[i].standard_error, error, { within: 1e-9 });
      assertClose(comparisons[i].freedom, freedom, { within: 1e-6 });
    });
    assert.ok(
      comparisons[0].freedom! < 15 &&
        comparisons[0].standard_error! > 1.3 * comparisons[2].standard_error!,
    );
  },
);

Deno.test("shoes that no chain of testers links can't be told on court, and the reason is said", () => {
  const ratings = [
    ["t1", "a", 7],
    ["t1", "b", 5],
    ["t2", "a", 6],
    ["t2", "b", 5],
    ["t3", "c", 4],
    ["t3", "d", 5],
    ["t4", "c", 4],
    ["t4", "d", 7],
  ] as const;
  const { comparisons } = shoeComparison(smallBench([], { ratings }), {
    shoes: ["a", "b", "c"],
    metrics: [],
    attributes: ["feel"],
    reliability: { metrics: [] },
  });
  assert.deepEqual(comparisons.map(({ difference }) => difference.estimate === null), [
    false,
    true,
    true,
  ]);
  assert.match(sayReason(comparisons[1].difference.estimate_reason!), /no chain of testers/);
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

Deno.test("every word of a comparison follows from its drawn interval and the smallest difference", () => {
  const { comparisons, compared_on } = shoeComparison(demo, {
    shoes: ["pavrico-orbinel-1", "quenbar-morrune-1", "tolmeck-steddle-1"],
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
    assert.ok(upper! - lower! >= 2 * pair.mdc!);
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

Deno.test("a shoe read once is compared with the noise of the other shoes, and a note says so", () => {
  const bench = smallBench([
    { shoe: "a", session: "s1", values: [1, 2, 3] },
    { shoe: "b", session: "s1", values: [4, 5, 6] },
    { shoe: "c", session: "s1", values: [5] },
  ]);
  const result = compare(bench, ["a", "c"]);
  const [pair] = result.comparisons;
  // Trial SD 1 on 4 degrees of freedom, nearly so by REML: 1/3 of three trials and 1 of the one.
  assertClose(pair.standard_error, Math.sqrt(4 / 3), { within: 0.02 });
  assert.equal(pair.freedom, 4);
  const { notes } = comparisonWords(result);
  assert.ok(
    notes.some((note) => /c was read once; the noise is that of the other shoes/.test(note)),
  );
});

Deno.test("repeats that agree to the digit hide the noise: can't tell, and no difference is drawn", () => {
  const bench = smallBench([
    { shoe: "a", session: "s1", values: [1, 1, 1] },
    { shoe: "b", session: "s1", values: [2, 2, 2] },
    { shoe: "c", session: "s1", values: [3, 3, 3] },
  ]);
  assert.throws(() => compare(bench, ["a", "b"]), CantAnswer);
});

Deno.test("what was asked together is said, with the word that a pair would get alone", () => {
  const shoes = [
    "pavrico-orbinel-3",
    "ellvarn-talvec-3",
    "quenbar-quillop-2",
    "tolmeck-brindlet-3",
  ];
  const wide = shoeComparison(demo, { shoes, reliability: demoNoise });
  const narrower = wide.comparisons.filter(({ word, unadjusted }) => word !== unadjusted.word);
  assert.ok(narrower.length > 0);
  const [pair] = narrower.filter(({ metric }) => metric !== null);
  const alone = shoeComparison(demo, {
    shoes: [pair.a, pair.b],
    metrics: [pair.metric!],
    reliability: demoNoise,
  });
  assert.equal(alone.comparisons[0].word, pair.unadjusted.word);
  const { notes } = comparisonWords(wide);
  assert.ok(
    notes.some((note) => note.startsWith(`${wide.family} comparisons were asked together`)),
  );
  assert.ok(notes.some((note) => /Asked alone: /.test(note)));
  assert.equal(alone.family, 1);
  assert.ok(comparisonWords(alone).notes.every((note) => !/asked together/.test(note)));
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
  const { notes } = comparisonWords(shoeComparison({ ...demo, shoes }, {
    shoes: ["pavrico-orbinel-1", "pavrico-orbinel-2"],
    metrics: ["mass"],
    reliability: demoNoise,
  }));
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
  const { notes } = comparisonWords(shoeComparison({ ...demo, metrics }, {
    shoes: ["pavrico-orbinel-1", "ellvarn-talvec-3"],
    metrics: ["mass"],
    reliability: demoNoise,
  }));
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
