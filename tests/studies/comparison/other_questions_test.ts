import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { normalCdf } from "../../../lib/statistics/distributions.ts";
import { suggestedSizeStep } from "../../../lib/metrics/suggested_size_step.ts";
import { catalogueStanding } from "../../../lib/studies/comparison/catalogue_standing.ts";
import { editionHistory } from "../../../lib/studies/comparison/edition_history.ts";
import { footFit } from "../../../lib/studies/comparison/foot_fit.ts";
import { metricPair } from "../../../lib/studies/comparison/metric_pair.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { pairNoise } from "../../../lib/studies/repeatability/pair_noise.ts";
import { shortlist } from "../../../lib/studies/comparison/shortlist.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { shortlistChart } from "../../../lib/charts/shortlist_chart.ts";
import { editionWords } from "../../../lib/words/comparison/edition_words.ts";
import { fitWords } from "../../../lib/words/comparison/fit_words.ts";
import { metricPairWords } from "../../../lib/words/comparison/metric_pair_words.ts";
import { openWords, shortlistWords } from "../../../lib/words/comparison/shortlist_words.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { standingChart } from "../../../lib/charts/standing_chart.ts";
import { CantAnswer } from "../../../lib/records/cant_answer.ts";
import type { ReliabilityVerdict } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { catalogueWords } from "../../../lib/words/comparison/catalogue_words.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const bench = await loadBench(fileURLToPath(new URL("../../../data-demo", import.meta.url)));
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
const about = (metric: string) => reliability.metrics.find((row) => row.metric === metric)!;

Deno.test("catalogueStanding() puts the lightest shoe first, where less is better, and references apart", () => {
  const { shoes, thirds, placed } = catalogueStanding(bench, { metric: "mass", reliability });
  const references = bench.settings.reference_shoes;
  const values = shoeValues(bench, "mass", null)
    .filter(({ shoe_id }) => !references.includes(shoe_id)).map(({ value }) => value)
    .sort((a, b) => a - b);
  assert.equal(placed, values.length);
  assert.deepEqual(shoes.slice(0, placed).map(({ value }) => value), values);
  assert.deepEqual(
    shoes.slice(placed).map(({ shoe_id }) => shoe_id).sort(),
    [...references].sort(),
  );
  assert.ok(
    shoes.slice(placed).every(({ percentile, place }) => percentile === null && place === null),
  );
  assert.equal(shoes[0].better_than, 100);
  assert.equal(shoes[0].percentile, 0);
  const middle = values.filter((value) => value > thirds![0] && value < thirds![1]);
  assert.ok(Math.abs(middle.length - values.length / 3) <= 1);
});

Deno.test("a reference shoe takes its place where the bench ranks its references", () => {
  const settings = { ...bench.settings, rank_references: true };
  const { shoes, placed } = catalogueStanding({ ...bench, settings }, {
    metric: "mass",
    reliability,
  });
  assert.equal(placed, shoes.length);
  assert.ok(shoes.every(({ percentile }) => percentile !== null));
});

Deno.test("a standing carries the limits of the places that noise leaves, and they hold the estimate", () => {
  const { shoes, placed } = catalogueStanding(bench, {
    metric: "heel-rebound",
    shoes: ["pavrico-orbinel-3", "ellvarn-talvec-3"],
    reliability,
  });
  for (const shoe of shoes.filter(({ asked }) => asked)) {
    const { place, place_lower, place_upper } = shoe.place!;
    assert.ok(place_lower! <= place && place <= place_upper!);
    assertClose(shoe.standing_upper, 100 * (placed - place_lower!) / (placed - 1), {
      within: 1e-9,
    });
    assert.ok(
      shoe.standing_lower! <= shoe.better_than! && shoe.better_than! <= shoe.standing_upper!,
    );
  }
});

const verdictOf = (metric: string, verdict: ReliabilityVerdict) => ({
  metrics: reliability.metrics.map((row) => row.metric === metric ? { ...row, verdict } : row),
});

Deno.test("a shoe's share of the catalogue has the same limits in a comparison, alone or marked with others", () => {
  const ids = ["pavrico-orbinel-3", "ellvarn-talvec-3", "quenbar-quillop-2"];
  const metrics = ["mass", "platform-width"];
  const { values } = shoeComparison(bench, { shoes: ids, metrics, reliability });
  let told = 0;
  for (const metric of metrics) {
    const fit = verdictOf(metric, "fit to rank single shoes");
    const compared = shoeComparison(bench, { shoes: ids, metrics: [metric], reliability: fit });
    const together = catalogueStanding(bench, { metric, shoes: ids, reliability: fit });
    for (const id of ids) {
      const alone = catalogueStanding(bench, { metric, shoes: [id], reliability: fit });
      const limits = [alone, together].map(({ shoes }) => {
        const { standing_lower, standing_upper } = shoes.find(({ shoe_id }) => shoe_id === id)!;
        return [standing_lower, standing_upper];
      });
      const own = compared.values.find(({ shoe_id }) => shoe_id === id)!;
      assert.deepEqual(limits[0], limits[1]);
      assert.deepEqual([own.standing_lower, own.standing_upper], limits[0]);
      assert.ok(limits[0][0]! < limits[0][1]!);
      const among = values.find((row) => row.shoe_id === id && row.metric === metric)!;
      if (among.standing_lower === null) continue;
      assert.deepEqual([among.standing_lower, among.standing_upper], limits[0]);
      told++;
    }
  }
  assert.ok(told > 0, "no share is told in a comparison of two metrics");
});

Deno.test("a metric that is not fit to publish is refused, with the review's reason", () => {
  const ask = () =>
    catalogueStanding(bench, {
      metric: "mass",
      reliability: verdictOf("mass", "not fit to publish"),
    });
  assert.throws(ask, (error: unknown) => error instanceof CantAnswer && error.causes.length === 1);
});

Deno.test("a metric fit for tiers is answered in thirds, one fit for groups in halves", () => {
  const said = (verdict: ReliabilityVerdict) =>
    catalogueWords(catalogueStanding(bench, {
      metric: "mass",
      shoes: ["pavrico-orbinel-3"],
      reliability: verdictOf("mass", verdict),
    })).sentence;
  assert.match(said("fit to rank single shoes"), /better than \d+% of the others \(\d+% to \d+%\)/);
  assert.match(said("fit for tiers"), /third/);
  assert.match(said("fit for groups only"), /half/);
  for (const verdict of ["fit for tiers", "fit for groups only"] as const) {
    assert.doesNotMatch(said(verdict), /% of the others/);
  }
});

Deno.test("where the noise is unknown nobody reads best, and the picture draws no interval", () => {
  const result = catalogueStanding(bench, { metric: "mass", reliability: { metrics: [] } });
  assert.match(catalogueWords(result).sentence, /^Can't tell which shoe is first/);
  assert.match(standingChart(result).outerHTML, /No intervals: the noise is unknown/);
});

Deno.test("catalogueStanding() refuses a shoe that was never benched on the metric", () => {
  const ask = () =>
    catalogueStanding(bench, {
      metric: "smoke-clearing",
      shoes: ["tolmeck-yelmar-1"],
      reliability,
    });
  assert.throws(ask, /no trial on smoke-clearing/);
});

Deno.test("metricPair() says of a metric and its own computed form that they are the same evidence", () => {
  const pair = metricPair(bench, {
    metrics: ["tilt-slip-dry", "friction-dry"],
    reliability,
    seed: 1,
  });
  assert.ok(pair.spearman.estimate! > 0.999);
  assert.ok(metricPairWords(pair).notes.some((note) => /same evidence/.test(note)));
  assert.throws(
    () => metricPair(bench, { metrics: ["mass", "mass"], reliability, seed: 1 }),
    /twice/,
  );
  const [one, none] = [["mass"], []] as unknown as (readonly [string, string])[];
  assert.throws(() => metricPair(bench, { metrics: one, reliability, seed: 1 }), /given only mass/);
  assert.throws(() => metricPair(bench, { metrics: none, reliability, seed: 1 }), /given none/);
});

Deno.test("metricPair() calls two metrics with trials of their own no same evidence", () => {
  const pair = metricPair(bench, { metrics: ["mass", "heel-rebound"], reliability, seed: 1 });
  assert.equal(pair.same_evidence, false);
  assert.ok(metricPairWords(pair).notes.every((note) => !/same evidence/.test(note)));
});

Deno.test("editionHistory() takes any edition of a model and puts the oldest first", () => {
  const of = (shoe: string) => editionHistory(bench, { shoe, metric: "mass", reliability });
  const { editions, model } = of("pavrico-orbinel-3");
  assert.equal(model, "Pavrico Orbinel");
  assert.deepEqual(editions.map(({ edition }) => edition), ["1", "2", "3"]);
  assert.deepEqual(of("pavrico-orbinel-1").editions, editions);
  assert.equal(editions[0].change, null);
  const [first, second] = editions;
  // A change is the edition before minus this one.
  assertClose(
    second.change!.difference.estimate,
    first.value.estimate! - second.value.estimate!,
    { within: 1e-9 },
  );
  assert.throws(() => of("ellvarn-wendrick-1"), /one edition; a history takes two/);
});

Deno.test("shortlist() gives the normal chance of a value drawn in towards the catalogue's mean", () => {
  const limit = 38.5;
  const { shoes } = shortlist(bench, {
    conditions: [{ kind: "at least", metric: "tilt-slip-dry", value: limit }],
    reliability,
    seed: 3,
    draws: 20_000,
  });
  const values = shoeValues(bench, "tilt-slip-dry", null);
  const centre = values.reduce((sum, { value }) => sum + value, 0) / values.length;
  const between = about("tilt-slip-dry").components.find(({ source }) => source === "shoe")!
    .variance;
  const visits = Map.groupBy(visitsOf(bench, "tilt-slip-dry"), ({ shoe_id }) => shoe_id);
  const references = bench.settings.reference_shoes;
  for (const { shoe_id, value } of values) {
    if (references.includes(shoe_id)) continue;
    const noise = pairNoise(visits.get(shoe_id)!, [], about("tilt-slip-dry"))!.variance;
    const kept = between / (between + noise);
    const expected = centre + kept * (value - centre);
    const chance = normalCdf((expected - limit) / Math.sqrt(kept * noise));
    const found = shoes.find((shoe) => shoe.shoe_id === shoe_id)!.probability;
    assertClose(found, chance, { within: 0.02 });
  }
});

Deno.test("the chances of the best third add up to a third of the catalogue", () => {
  const { shoes } = shortlist(bench, {
    conditions: [{ kind: "best share", metric: "mass", share: 1 / 3 }],
    reliability,
    seed: 3,
  });
  const total = shoes.reduce((sum, { probability }) => sum + probability!, 0);
  assertClose(total, Math.round(shoes.length / 3), { within: 1e-9 });
  // Lighter is better: the surest is among the lightest.
  const lightest = shoeValues(bench, "mass", null).toSorted((a, b) => a.value - b.value)[0];
  assert.equal(shoes.find(({ shoe_id }) => shoe_id === lightest.shoe_id)!.word, "on the list");
});

Deno.test("a silent record is can't tell, unless another condition is surely missed", () => {
  const list = shortlist(bench, {
    conditions: [
      { kind: "width", width: "wide" },
      { kind: "at most", metric: "mass", value: 340 },
    ],
    reliability,
    seed: 3,
  });
  const of = (id: string) => list.shoes.find(({ shoe_id }) => shoe_id === id)!;
  // Talvec 1 has no width label and weighs 332 g; Vantoril 1 has none and weighs 399 g.
  assert.equal(of("ellvarn-talvec-1").word, "can't tell");
  assert.match(openWords(of("ellvarn-talvec-1")), /width not labelled/);
  assert.equal(of("dhostane-vantoril-1").word, "off the list");
});

Deno.test("a shoe that a silent record leaves open stands behind those with a chance and before all that are off the list", () => {
  const list = shortlist(bench, {
    conditions: [
      { kind: "width", width: "regular" },
      { kind: "at least", metric: "tilt-slip-dry", value: 38.5 },
    ],
    reliability,
    seed: 3,
    confidence: 0.6,
  });
  const place = ({ word, probability }: typeof list.shoes[number]) =>
    word === "off the list" ? 2 : probability === null ? 1 : 0;
  const places = list.shoes.map(place);
  assert.deepEqual(places, places.toSorted());
  assert.deepEqual([...new Set(places)], [0, 1, 2]);
  for (const  of of[0, 2]) {
    const chances = list.shoes.filter((shoe) => place(shoe) === of)
      .map(({ probability }) => probability!);
    assert.deepEqual(chances, chances.toSorted((a, b) => b - a));
  }
  // Shoes off the list have chances up to 40%: more than nothing, which is what is known of an open one.
  assert.ok(
    list.shoes.some(({ word, probability }) => word === "off the list" && probability! > 0),
  );
});

Deno.test("shortlist() refuses the best share of a metric of which more is neither good nor bad", () => {
  const ask = (metric: string) =>
    shortlist(bench, {
      conditions: [{ kind: "best share", metric, share: 1 / 3 }],
      reliability,
      seed: 1,
    });
  assert.throws(() => ask("inside-width"), /neither good nor bad/);
  assert.throws(() => shortlist(bench, { conditions: [], reliability, seed: 1 }), RangeError);
  assert.throws(
    () =>
      shortlist(bench, {
        conditions: [{ kind: "width", width: "wid" }],
        reliability,
        seed: 1,
      }),
    /Did you mean wide/,
  );
});

Deno.test("footFit() suggests the step that the size table gives for the benched length", () => {
  const fit = footFit(bench, {
    foot_length_mm: 280,
    foot_width_mm: 101,
    reliability,
  });
  for (const shoe of fit.shoes.slice(0, 5)) {
    const inside = shoe.toe_room_mm + 280;
    const { value } = suggestedSizeStep(inside, {
      foot_length_mm: 280,
      size_system: shoe.size_system,
    });
    assert.equal(shoe.size_step, value);
    assert.equal(shoe.suggested_size, shoe.size! + value);
  }
  assert.match(fitWords(fit).cautions[0], /no medical advice/);
});

Deno.test("footFit() calls no shoe too narrow until told how much room is the least", () => {
  const fit = (least_width_room_mm: number | null) =>
    footFit(bench, { foot_length_mm: 272, foot_width_mm: 104, least_width_room_mm, reliability })
      .shoes;
  assert.ok(fit(null).every(({ word }) => word !== "too narrow"));
  const narrow = fit(-8).filter(({ word }) => word === "too narrow");
  assert.ok(narrow.length > 0);
  assert.ok(narrow.every(({ width_room_upper }) => width_room_upper! < -8));
});

Deno.test("footFit() without a width gives the length alone, and says so", () => {
  const { shoes } = footFit(bench, { foot_length_mm: 272, reliability });
  assert.ok(shoes.every(({ width_room_mm }) => width_room_mm === null));
  assert.match(sayReason(shoes[0].width_room_reason!), /not given/);
  assert.throws(() => footFit(bench, { foot_length_mm: 27.2, reliability }), RangeError);
});

Deno.test("answers to all kinds of question survive JSON unchanged", () => {
  const results = [
    catalogueStanding(bench, { metric: "mass", reliability }),
    metricPair(bench, { metrics: ["mass", "heel-rebound"], reliability, seed: 1 }),
    editionHistory(bench, { shoe: "pavrico-orbinel-1", metric: "mass", reliability }),
    shortlist(bench, {
      conditions: [{ kind: "surface", surface: "clay" }],
      reliability,
      seed: 1,
    }),
    footFit(bench, { foot_length_mm: 272, reliability }),
  ];
  for (const result of results) assert.deepEqual(JSON.parse(JSON.stringify(result)), result);
});

Deno.test("the newest step of a model stands first in the headline, and its can't tell is said", () => {
  const history = editionHistory(bench, {
    shoe: "tolmeck-brindlet-3",
    metric: "heel-rebound",
    reliability,
  });
  const cantTell = history.editions.map((edition, index) =>
    index === history.editions.length - 1
      ? { ...edition, change: { ...edition.change!, word: "can't tell" as const, ahead: null } }
      : edition
  );
  const { sentence } = editionWords({ ...history, editions: cantTell });
  assert.match(sentence, /^Can't tell Tolmeck Brindlet 2 from Tolmeck Brindlet 3/);
  assert.doesNotMatch(sentence, /no change/i);
});

Deno.test("where a metric's noise is unknown no shoe is on a shortlist by it, and the picture says so", () => {
  const list = shortlist(bench, {
    conditions: [{ kind: "at most", metric: "mass", value: 370 }],
    reliability: { metrics: [] },
    seed: 1,
  });
  assert.equal(list.on_the_list, 0);
  assert.equal(list.cant_tell, list.shoes.length);
  assert.deepEqual(list.noise_unknown, ["Mass of one shoe"]);
  assert.match(shortlistWords(list).sentence, /^No shoe meets this .* may: /);
  assert.deepEqual(keyCounts(list), [0, list.shoes.length, 0]);
});

/** What the picture's key counts: on the list, can't tell, off it. */
function keyCounts(list: Parameters<typeof shortlistChart>[0]): number[] {
  const svg = shortlistChart(list).outerHTML.replaceAll("&apos;", "'");
  return [/on the list, \d+% or more: (\d+)/, /can't tell: (\d+)</, /off it, \d+% or less: (\d+)/]
    .map((pattern) => Number(pattern.exec(svg)?.[1]));
}

Deno.test("on the list, off it and can't tell add up to the catalogue, in the words of the picture too", () => {
  const list = shortlist(bench, {
    conditions: [{ kind: "best share", metric: "tilt-slip-dry", share: 1 / 3 }],
    reliability,
    seed: 1,
  });
  const off = list.shoes.filter(({ word }) => word === "off the list").length;
  assert.equal(list.on_the_list + list.cant_tell + off, list.shoes.length);
  assert.deepEqual(keyCounts(list), [list.on_the_list, list.cant_tell, off]);
});

Deno.test("a foot is said to fit no shoe whose noise is unknown", () => {
  const { shoes } = footFit(bench, { foot_length_mm: 272, reliability: { metrics: [] } });
  assert.ok(
    shoes.every(({ word, toe_room_lower }) => word === "can't tell" && toe_room_lower === null),
  );
});

Deno.test("a shortlist and a fit hold no reference shoe, and a best third counts none", () => {
  const references = bench.settings.reference_shoes;
  assert.ok(references.length > 0);
  const conditions = [{ kind: "best share", metric: "mass", share: 1 / 3 }] as const;
  const list = shortlist(bench, { conditions, reliability, seed: 1, draws: 400 });
  const fit = footFit(bench, { foot_length_mm: 272, reliability });
  for (const { shoes } of [list, fit]) {
    assert.deepEqual(shoes.filter(({ shoe_id }) => references.includes(shoe_id)), []);
  }
  // Every draw has as many shoes in the best third as a third of the products, rounded up.
  const chances = list.shoes.reduce((total, { probability }) => total + (probability ?? 0), 0);
  assertClose(chances, Math.ceil(list.shoes.length / 3), { within: 1e-9 });
});

Deno.test("a shortlist refuses a condition on a metric that is not fit to publish", () => {
  assert.equal(about("upper-lamp-temperature").verdict, "not fit to publish");
  assert.throws(
    () =>
      shortlist(bench, {
        conditions: [{ kind: "best share", metric: "upper-lamp-temperature", share: 1 / 3 }],
        reliability,
        seed: 1,
      }),
    /Upper temperature under the lamp is not fit to publish, so no shoe is listed by it/,
  );
});

Deno.test("a shoe at the price that was given is on the list, one a penny dearer is off it", () => {
  const [shoe] = bench.shoes.filter(({ shoe_id, price }) =>
    price !== null && !bench.settings.reference_shoes.includes(shoe_id)
  );
  const word = (most: number) =>
    shortlist(bench, { conditions: [{ kind: "price", most }], reliability, seed: 1, draws: 200 })
      .shoes.find(({ shoe_id }) => shoe_id === shoe.shoe_id)!.word;
  assert.equal(word(shoe.price!), "on the list");
  assert.equal(word(shoe.price! - 0.01), "off the list");
});

Deno.test("of noise that eight readings told, a shoe two standard errors above a limit lies above it by t, not by normal chance", () => {
  // Four shoes far apart, two readings each, 2 apart: s_r² = 2 on 4 degrees of freedom, a mean's standard error 1.
  const few = smallBench([0, 1000, 2000, 3000].map((level, i) => ({
    shoe: `s${i}`,
    session: "a",
    values: [level - 1, level + 1],
  })));
  const noise = trialReliability(few, { seed: 1, resamples: 100 });
  const { shoes } = shortlist(few, {
    conditions: [{ kind: "at least", metric: "height", value: 998 }],
    reliability: {
      metrics: noise.metrics.map((metric) => ({
        ...metric,
        verdict: "fit to rank single shoes" as const,
      })),
    },
    seed: 1,
    draws: 40_000,
  });
  const own = shoes.find(({ shoe_id }) => shoe_id === "s1")!;
  // Student's table: 0.9419 at t = 2 with 4 degrees of freedom, where normal chance is 0.9772.
  assertClose(own.probability!, 0.9419, { within: 0.006 });
  assert.equal(own.word, "can't tell");
});
