import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench } from "../../../lib/records/types.ts";
import {
  onlyBetween,
  partialGiven,
  restsOn,
} from "../../../lib/studies/prediction/claim_support.ts";
import { courtPrediction as studied } from "../../../lib/studies/prediction/court_prediction.ts";
import { settleRange } from "../../../lib/studies/prediction/settle_range.ts";
import { shoeKin, withinCourts, withoutKin } from "../../../lib/studies/shoes/shoe_kin.ts";
import { whoKnew } from "../../../lib/studies/panel/who_knew.ts";
import { normalScores } from "../../../lib/statistics/normal_scores.ts";
import { assertClose } from "../../assert_close.ts";
import { benchRecords } from "../../benchmarks/tree_bench_records.ts";
import { type BenchDesign, plainDesign, treeBench } from "../../benchmarks/tree_benches.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { predictionResult } from "../../../lib/words/prediction/prediction_result.ts";

/** The study with its sentences. */
const courtPrediction = (...given: Parameters<typeof studied>) =>
  predictionResult(studied(...given));

const folder = (name: string) => new URL(`../../../${name}`, import.meta.url).pathname;
const demo = await loadBench(folder("data-demo"));
const quick = { permutations: 499, resamples: 500, models: false };
const kindred = { maker: 0.3, line: 0.4, editions: 3, makers: 7 };
const made = (design: Partial<BenchDesign>, number: number): Bench => {
  const whole = { ...plainDesign, ...design };
  return benchRecords(treeBench(whole, number), whole);
};

Deno.test("a review of shoes that are kin claims something that isn't so in about one of twenty benches", () => {
  const kin = { maker: 0.3, line: 0.4, editions: 3, makers: 7, metrics: 10, impressions: 5 };
  let claimed = 0;
  for (let number = 0; number < 40; number++) {
    const { pairs } = courtPrediction(made(kin, number), { ...quick, permutations: 199 });
    if (pairs.some(({ claim }) => claim === "predicts")) claimed++;
  }
  // Binomial with 6% of 40: more than 8 comes about once in a thousand times; exchangeable shoes gave 24.
  assert.ok(claimed <= 8, `${claimed} of 40`);
});

Deno.test("p is adjusted over all metrics and impressions, and grows with impressions that nothing drives", () => {
  const design = { rho: 0.6, metrics: 6 };
  const one = courtPrediction(made({ ...design, impressions: 1 }, 3), quick);
  const bench = made({ ...design, impressions: 6 }, 3);
  const six = courtPrediction(bench, quick);
  assert.equal(one.pairs[0].family, 6);
  assert.equal(six.pairs[0].family, 36);
  const alone = courtPrediction(bench, { ...quick, attributes: ["impression-0"] });
  assertClose(alone.pairs[0].spearman.estimate, six.pairs[0].spearman.estimate!, { within: 1e-12 });
  assert.ok(six.pairs[0].p_familywise! >= alone.pairs[0].p_familywise!);
});

Deno.test("limits widen where lines are alike on both sides, and stay where no two shoes are of one line", () => {
  const alike = courtPrediction(
    made({ line: 0.7, editions: 3, metrics: 2, impressions: 1 }, 5),
    quick,
  );
  assert.ok(alike.pairs[0].kin.inflation > 1.2);
  const bench = made({ line: 0.7, editions: 3, metrics: 2, impressions: 1 }, 5);
  const strangers = courtPrediction({
    ...bench,
    shoes: bench.shoes.map((shoe) => ({ ...shoe, maker: shoe.shoe_id, model: shoe.shoe_id })),
  }, quick);
  const width = ({ lower, upper }: { lower: number | null; upper: number | null }) =>
    Math.atanh(upper!) - Math.atanh(lower!);
  assert.equal(strangers.pairs[0].kin.inflation, 1);
  assert.ok(width(alike.pairs[0].spearman) > 1.05 * width(strangers.pairs[0].spearman));
  assert.match(strangers.warnings.join(" "), /has a maker of its own.*fill in maker and line/);
});

Deno.test("every claim on the demo says over how many shoes, lines and makers it stands", () => {
  const study = courtPrediction(demo, { ...quick, models: true, modelResamples: 100 });
  const claimed = study.pairs.filter(({ claim }) => claim === "predicts");
  assert.ok(claimed.length > 0);
  for (const { sentence, n } of claimed) {
    assert.match(sentence, new RegExp(`over ${n} shoes, \\d+ lines and 7 makers`));
    assert.match(sentence, /It rests on|It would stand without any shoe, line or maker/);
  }
  const weak = study.attributes.filter(({ model }) => (model!.ridge.r2.lower ?? -1) <= 0)
    .map(({ attribute }) => attribute);
  const beside = claimed.filter(({ attribute }) => weak.includes(attribute));
  assert.ok(beside.length > 0);
  for (const { sentence } of beside) assert.match(sentence, /all metrics together .* plain mean/);
});

Deno.test("a metric that a stronger one explains goes with it and is no predictor of its own: acetic acid in cheese", async () => {
  const study = courtPrediction(await loadBench(folder("tests/references/bench-cheese")), quick);
  const [taste] = study.attributes;
  assert.deepEqual(taste.indirect, ["acetic-acid"]);
  assert.ok(!taste.predicts.includes("acetic-acid"));
  const pair = study.pairs.find(({ metric }) => metric === "acetic-acid")!;
  assert.match(pair.sentence, /says nothing of it that Hydrogen sulfide.* doesn't/);
  assert.match(taste.sentence, /acetic.* goes with hydrogen sulfide.* is not counted/);
});

testInR(
  "partialGiven() is the partial correlation of normal scores, as R's residuals have it",
  () => {
    const [x, y, z] = [[3, 1, 4, 1.5, 9, 2, 6, 5], [2, 7, 1, 8, 2.5, 8.5, 1.8, 2.9], [
      1,
      4,
      1.4,
      2,
      1.3,
      5,
      6,
      2.3,
    ]];
    const [[expected]] = inR(
      `s <- function(v) qnorm(rank(v) / (length(v) + 1)); z <- s(${rVector(z)})
    out(cor(resid(lm(s(${rVector(x)}) ~ z)), resid(lm(s(${rVector(y)}) ~ z))))`,
    );
    assertClose(partialGiven(x, y, z, 0)!.partial, expected, { within: 1e-12 });
  },
);

Deno.test("restsOn() names the shoe, and not the others, without which too little is left", () => {
  const x = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
  const y = [5, 6, 4, 7, 5.5, 6.5, 4.5, 6.2, 5.2, 40];
  const shoe_ids = x.map((_, row) => `shoe-${row}`);
  const kin = {
    groups: { outer: x.map((_, row) => row % 5), inner: x.map((_, row) => row) },
    makers: x.map((_, row) => `maker-${row % 5}`),
    lines: shoe_ids,
    strata: x.map(() => "all courts"),
    courts: 1,
  };
  const found = restsOn(x, y, { kin, shoe_ids, reach: 0.7, lost: 0 });
  assert.deepEqual(found, { shoes: ["shoe-9"], lines: [], makers: ["maker-4"] });
});

Deno.test("restsOn() names a line just where the correlation of the other rows, worked out from them alone, is too small", () => {
  const rows = Array.from({ length: 14 }, (_, row) => row);
  // Numbers that scatter, and go together over the later rows more than over the first.
  const x = rows.map((row) => (row * 37 + 11) % 29);
  const y = rows.map((row) => x[row] + (row < 6 ? 17 : 9) * Math.sin(2.3 * row));
  const lines = rows.map((row) => `line-${Math.floor(row / 4)}`);
  const shoe_ids = rows.map((row) => `shoe-${row}`);
  const kin = {
    groups: { outer: rows, inner: rows },
    makers: rows.map(() => "one"),
    lines,
    strata: rows.map(() => "all courts"),
    courts: 1,
  };
  const scores = [x, y].map((column) => normalScores(column));
  for (const [names, kind] of [[lines, "lines"], [shoe_ids, "shoes"]] as const) {
    for (const name of new Set(names)) {
      const keep = rows.filter((row) => names[row] !== name);
      const [u, v] = scores.map((column) => {
        const own = keep.map((row) => column[row]);
        const mean = own.reduce((sum, value) => sum + value, 0) / own.length;
        return own.map((value) => value - mean);
      });
      const product = (a: readonly number[], b: readonly number[]) =>
        a.reduce((sum, value, i) => sum + value * b[i], 0);
      const rho = product(u, v) / Math.sqrt(product(u, u) * product(v, v));
      const reached = rho * Math.sqrt(keep.length - 1);
      const falls = (reach: number) =>
        restsOn(x, y, { kin, shoe_ids, reach, lost: 0 })[kind].includes(name);
      assert.deepEqual([falls(reached - 0.001), falls(reached + 0.001)], [false, true], name);
    }
  }
});

Deno.test("what lies between three courts only is called so, and is not claimed", () => {
  let named = 0;
  for (let number = 0; number < 6; number++) {
    const bench = made({ metrics: 4, impressions: 2, shoes: 60, courts: 3 }, number);
    // Courts differ on both sides by four standard deviations; within them nothing is true.
    const place = new Map(bench.shoes.map(({ shoe_id, surface }) => [
      shoe_id,
      ["all-court", "hard", "clay"].indexOf(surface!),
    ]));
    const apart: Bench = {
      ...bench,
      trials: bench.trials.map((row) => ({
        ...row,
        value: row.value! + 4 * place.get(row.shoe_id)!,
      })),
      impressions: bench.impressions.map((row) => ({
        ...row,
        rating: row.rating! / 3 + 3 * place.get(row.shoe_id)!,
      })),
    };
    const { pairs } = courtPrediction(apart, quick);
    named += pairs.filter(({ only_between }) => only_between?.level === "courts").length;
    assert.ok(pairs.filter(({ claim }) => claim === "predicts").length <= 1);
    for (const { only_between, sentence } of pairs) {
      if (only_between !== null) assert.match(sentence, /lies between 3 courts only/);
    }
  }
  assert.ok(named >= 0.8 * 6 * 8, `${named} of 48`);
});

Deno.test("onlyBetween() finds a relation that lies between makers, and counts them as the cases", () => {
  const kin = {
    groups: { outer: [], inner: [] },
    makers: Array.from({ length: 42 }, (_, row) => `maker-${row % 7}`),
    lines: Array.from({ length: 42 }, (_, row) => `line-${row % 21}`),
    strata: Array.from({ length: 42 }, () => "all courts"),
    courts: 1,
  };
  const rows = kin.makers.map((_, row) => row);
  const strong = { as_shoes: 0.7, within_courts: 0.7 };
  assert.deepEqual(onlyBetween({ ...strong, within_makers: 0.1 }, { rows, kin, family: 72 }), {
    level: "makers",
    groups: 7,
    as_shoes: 0.7,
  });
  const { level } = onlyBetween({ ...strong, within_makers: 0.6 }, { rows, kin, family: 72 })!;
  assert.equal(level, "lines");
  const weak = { as_shoes: 0.3, within_courts: 0.3, within_makers: 0 };
  assert.equal(onlyBetween(weak, { rows, kin, family: 72 }), null);
});

Deno.test("ratings that a known figure has moved are claimed as 'not yet seen blind'", () => {
  const study = courtPrediction(
    made({ knew: 1.5, known: 0.8, metrics: 4, impressions: 2 }, 1),
    quick,
  );
  const claimed = study.pairs.filter(({ claim }) => claim === "predicts");
  assert.ok(claimed.length > 0);
  for (const { unknowing, sentence } of claimed) {
    assert.equal(unknowing!.borne_out, false);
    assert.ok(unknowing!.ratings > 0 && unknowing!.ratings < unknowing!.of);
    assert.match(sentence, /not yet seen blind.*Rating before benching/s);
  }
  assert.match(study.sentence, /not yet seen blind/);
  assert.match(study.warnings.join(" "), /could have been moved by the shoe's bench figures/);
});

Deno.test("whoKnew() goes by knew_bench, then by blind, then by the day the shoe was first benched", () => {
  const [rating] = made({ metrics: 1, impressions: 1 }, 1).impressions;
  const { unknowing, operators } = whoKnew(made({ metrics: 1, impressions: 1 }, 1));
  const of = (change: Partial<typeof rating>) =>
    unknowing({ ...rating, knew_bench: null, blind: null, date: "2026-02-01", ...change });
  assert.equal(of({}), false);
  assert.equal(of({ blind: "yes" }), true);
  assert.equal(of({ date: "2025-12-31" }), true);
  assert.equal(of({ blind: "yes", knew_bench: "yes" }), false);
  assert.equal(of({ knew_bench: "no" }), true);
  assert.equal(operators.size, 1);
});

Deno.test("settleRange() gives a range of at most tenfold in shoes and lines, or a reason", () => {
  const options = { family: 72, confidence: 0.95, inflation: 2, lines_per_shoe: 0.5 };
  const narrow = settleRange({ rho: 0.35, lower: 0.25, upper: 0.45 }, options);
  assert.ok(narrow.low! < narrow.high! && narrow.high! <= 10 * narrow.low!);
  assert.ok(Math.abs(narrow.lines_high! - narrow.high! / 2) <= 1);
  const plain = settleRange({ rho: 0.35, lower: 0.25, upper: 0.45 }, { ...options, inflation: 1 });
  assert.ok(Math.abs(narrow.low! - 2 * plain.low!) <= 2);
  const wide = settleRange({ rho: 0.3, lower: -0.3, upper: 0.95 }, options);
  assert.equal(wide.low, null);
  assert.equal(wide.reason!.code, "too-wide-to-plan");
});

Deno.test("a model renamed between editions is one line where the column line says so", () => {
  const bench = made({ metrics: 2, impressions: 1, editions: 3 }, 2);
  const lines = courtPrediction(bench, quick).kin.lines;
  const renamed: Bench = {
    ...bench,
    shoes: bench.shoes.map((shoe, row) => ({ ...shoe, line: shoe.model, model: `Name ${row}` })),
  };
  assert.equal(courtPrediction(renamed, quick).kin.lines, lines);
  const unsaid = { ...renamed, shoes: renamed.shoes.map((shoe) => ({ ...shoe, line: null })) };
  const study = courtPrediction(unsaid, quick);
  assert.equal(study.kin.lines, 48);
  assert.match(study.warnings.join(" "), /Every rated shoe is a line of its own/);
});

Deno.test("one maker only is said, and is no reason to fall over", () => {
  const bench = made({ metrics: 2, impressions: 1 }, 2);
  const study = courtPrediction({
    ...bench,
    shoes: bench.shoes.map((shoe) => ({ ...shoe, maker: "One" })),
  }, quick);
  assert.equal(study.kin.makers, 1);
  assert.match(study.warnings.join(" "), /All rated shoes are of one maker/);
});

Deno.test("where every shoe has a maker of its own none is kin, limits stay as wide, and the review says so", () => {
  const bench = made({ metrics: 3, impressions: 2, ...kindred }, 4);
  const apart = courtPrediction({
    ...bench,
    shoes: bench.shoes.map((shoe, row) => ({ ...shoe, maker: `Maker of ${row}`, model: "One" })),
  }, quick);
  assert.deepEqual([apart.kin.makers, apart.kin.lines], [48, 48]);
  assert.ok(apart.pairs.every(({ kin }) => kin.inflation === 1));
  assert.ok(
    apart.pairs.every(({ kin: { metric, panel } }) =>
      metric.maker + metric.line + panel.maker + panel.line === 0
    ),
  );
  assert.match(apart.warnings.join(" "), /has a maker of its own/);
});

Deno.test("a maker with one shoe counts as a maker, and no claim over 48 shoes rests on it", () => {
  const bench = made({ metrics: 2, impressions: 1, ...kindred, rho: 0.9 }, 4);
  const plain = courtPrediction(bench, quick);
  const lone = courtPrediction({
    ...bench,
    shoes: bench.shoes.map((shoe, row) =>
      row === 5 ? { ...shoe, maker: "Lone", model: "Only" } : shoe
    ),
  }, quick);
  assert.equal(lone.kin.makers, plain.kin.makers + 1);
  const [claimed] = lone.pairs;
  assert.equal(claimed.claim, "predicts");
  assert.ok(Number.isFinite(claimed.kin.inflation) && claimed.p !== null);
  // One shoe of 48 doesn't carry a correlation of .9: nothing rests on its maker alone.
  assert.ok(!claimed.rests_on!.makers.includes("Lone"));
});

Deno.test("editions that bear no number are editions of their line all the same", () => {
  const bench = made({ metrics: 2, impressions: 1, ...kindred }, 4);
  const numbered = {
    ...bench,
    shoes: bench.shoes.map((shoe, row) => ({ ...shoe, edition: String(1 + row % 3) })),
  };
  const unnumbered = { ...bench, shoes: bench.shoes.map((shoe) => ({ ...shoe, edition: null })) };
  const [a, b] = [numbered, unnumbered].map((one) => courtPrediction(one, quick));
  assert.ok(a.kin.lines < 48);
  assert.deepEqual(
    a.pairs.map(({ spearman, p, kin }) => [spearman, p, kin]),
    b.pairs.map(({ spearman, p, kin }) => [spearman, p, kin]),
  );
});

Deno.test("withinCourts() compares shoes with those of their court, rare courts together", () => {
  const shoes = demo.shoes.slice(0, 14).map((shoe, row) => ({
    ...shoe,
    surface: row < 6
      ? "hard" as const
      : row < 12
      ? "clay" as const
      : row < 13
      ? "grass" as const
      : null,
  }));
  const kin = shoeKin(shoes, shoes.map(() => true));
  assert.equal(kin.courts, 1); // 14 shoes are too few for three strata of five each
  const two = shoeKin(shoes.slice(0, 12), shoes.slice(0, 12).map(() => true));
  assert.equal(two.courts, 2);
  const values = withinCourts([1, 2, 3, 4, 5, 6, 11, 12, 13, 14, 15, null], two);
  assertClose(values[0], -2.5, { within: 1e-12 });
  assertClose(values[6], -2, { within: 1e-12 });
  assert.equal(values[11], null);
});

Deno.test("withoutKin() takes out what a maker's shoes share, be each a line of its own or all one line", () => {
  const { metrics: [values], maker } = treeBench({
    ...plainDesign,
    maker: 0.8,
    makers: 10,
    editions: 1,
    metrics: 1,
    overlap: 0,
    shoes: 60,
  }, 3);
  const between = (column: readonly (number | null)[]) => {
    const groups = [...Map.groupBy(maker.keys(), (row) => maker[row]).values()];
    const squares = (own: readonly number[]) => {
      const mean = own.reduce((sum, x) => sum + x, 0) / own.length;
      return own.reduce((sum, x) => sum + (x - mean) ** 2, 0);
    };
    const all = [...maker.keys()].map((row) => column[row]!);
    const within = groups.reduce((sum, rows) => sum + squares(rows.map((row) => all[row])), 0);
    return 1 - within / squares(all);
  };
  assert.ok(between(values) > 0.7, `as drawn ${between(values)}`);
  const kin = {
    makers: maker.map(String),
    lines: maker.map(String),
    strata: maker.map(() => "hard"),
    courts: 1,
  };
  for (const inner of [maker.map((_, row) => row), maker]) {
    const white = withoutKin(values, { ...kin, groups: { outer: maker, inner } });
    assert.ok(white.maker + white.line > 0.6, `${white.maker}, ${white.line}`);
    // 9 of 59 degrees of freedom lie between ten makers of shoes that share nothing.
    assert.ok(between(white.values) < 0.3, `left ${between(white.values)}`);
  }
});

Deno.test("of six shoes on three courts nothing stands within courts, however strong: four are left to tell it", () => {
  const rows = [0, 1, 2, 3, 4, 5];
  const kin = {
    groups: { outer: [], inner: [] },
    makers: rows.map((row) => `maker-${row}`),
    lines: rows.map((row) => `line-${row}`),
    strata: rows.map((row) => `court-${row % 3}`),
    courts: 3,
  };
  const strong = { as_shoes: 1, within_courts: 0.9999, within_makers: null };
  assert.deepEqual(onlyBetween(strong, { rows, kin, family: 1 }), {
    level: "courts",
    groups: 3,
    as_shoes: 1,
  });
  // On two courts five are left, among which so strong a relation is more than chance: it lies not between courts only.
  const two = { ...kin, strata: rows.map((row) => `court-${row % 2}`), courts: 2 };
  assert.equal(onlyBetween(strong, { rows, kin: two, family: 1 }), null);
});
