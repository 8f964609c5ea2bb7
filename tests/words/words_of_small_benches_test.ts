import assert from "node:assert/strict";
import { charts, loadBench, records, show, studies, words } from "bench-to-court";
import { chartAlt } from "../../lib/charts/figure.ts";
import type { Bench } from "../../lib/records/types.ts";
import { bestWords } from "../../lib/words/questions/best_words.ts";
import { labelFitWords } from "../../lib/words/questions/label_words.ts";
import { linkWords } from "../../lib/words/questions/link_words.ts";
import { makerWords } from "../../lib/words/questions/maker_words.ts";
import { profileWords } from "../../lib/words/questions/profile_words.ts";
import { catalogueWords } from "../../lib/words/comparison/catalogue_words.ts";
import { metricPairWords } from "../../lib/words/comparison/metric_pair_words.ts";
import { measured } from "../../lib/words/comparison/answer_words.ts";
import { comparedImpression } from "../../lib/studies/comparison/compared_on.ts";
import { weatherSentence } from "../../lib/words/drift/weather_words.ts";
import { howToRead } from "../../lib/words/catalogue/catalogue_words.ts";
import { textBoxes } from "../charts/text_boxes.ts";
import { smallBench } from "../studies/small_bench.ts";
import { eight, REFERENCE } from "./eight_shoes.ts";

/** Sentences of the review and the answers, read on open data sets and on eight shoes of the demo, one reference among them. */
const folder = (name: string) =>
  loadBench(new URL(`../references/bench-${name}`, import.meta.url).pathname);
const [cheese, carrots, gauge, wafers] = await Promise.all(
  ["cheese", "carrots", "gauge", "resistivity"].map(folder),
);
const seed = 1;
const quick = { seed, resamples: 200 };
const noise = new Map(
  [cheese, carrots, gauge, wafers, eight].map((bench) =>
    [bench, studies.trialReliability(bench, quick)] as const
  ),
);
const panels = new Map(
  [cheese, carrots, eight].map((bench) =>
    [bench, studies.panelAgreement(bench, { seed, resamples: 100 })] as const
  ),
);
const predicted = (bench: Bench) =>
  studies.courtPrediction(bench, {
    ...quick,
    permutations: 500,
    reliability: noise.get(bench)!,
    panel: panels.get(bench)!,
  });

Deno.test("weather that nobody wrote down is the cause, not a lack of sessions; nor is a pair that came back the lack where temperatures are", () => {
  assert.equal(
    weatherSentence(studies.weatherEffects(cheese)),
    "What temperature and humidity do can't be told: sessions.csv has no temperature and no humidity for its one session.",
  );
  assert.match(
    weatherSentence(studies.weatherEffects(gauge)),
    /no temperature and no humidity for any of 3 sessions/,
  );
  const once = smallBench([
    { shoe: "a", session: "s1", date: "2026-01-01", values: [1, 2] },
    { shoe: "b", session: "s2", date: "2026-01-02", values: [1, 2] },
  ]);
  const warm = {
    ...once,
    sessions: once.sessions.map((session) => ({ ...session, temperature_c: 20, humidity_pct: 50 })),
  };
  assert.match(
    weatherSentence(studies.weatherEffects(warm)),
    /no shoe was benched in two sessions/,
  );
});

Deno.test("a picture without an interval explains none, and a reference shoe has no rank in words", () => {
  const written = (bench: Bench) => {
    const scores = studies.indexScores(bench, { seed, reliability: noise.get(bench)! });
    const chart = charts.index(scores);
    return [chart.outerHTML, textBoxes(chart).map(({ text }) => text).join(" ")].join(" ");
  };
  assert.doesNotMatch(written(cheese), /Bars are/);
  assert.match(written(eight), /Bars are 95% intervals/);
  assert.match(written(eight), /points, a reference shoe/);
  assert.doesNotMatch(written(eight), /rank reference/);
});

Deno.test("with one tester no shoe was rated by two: that is why alpha and W are missing, in the page's nouns", () => {
  const [row] = words.panel.rows(panels.get(cheese)!);
  assert.equal(row["Krippendorff's alpha"], "no shoe was rated by two testers");
  assert.match(String(row["Kendall's W"]), /only 1 tester;/);
});

Deno.test("claims about the court that can't be audited name the lack: no rating, or one tester", () => {
  const said = (bench: Bench) =>
    words.audit.sentence({
      repeatability: null,
      prediction: studies.predictionAudit(bench, { seed, simulations: 2, powerSimulations: 2 }),
    });
  assert.match(said(gauge), /can't be audited: nobody has rated a shoe yet/);
  assert.match(said(cheese), /can't be audited: one tester cannot show/);
});

Deno.test("the glossary quotes no correlation without limits and none beyond 1, and no metric is said to rank shoes that nobody judged", () => {
  const terms = words.prediction.terms(predicted(eight));
  const [, of] = /_Rank correlation_.*Here −?([\d.]+) for/.exec(terms)!;
  assert.ok(Number(of) < 1, of);
  const [, noiseless] = /_Without noise_.*?(?:Here −?([\d.]+)|$)/m.exec(terms) ?? [];
  assert.ok(noiseless === undefined || Number(noiseless) <= 1, noiseless);
  const glossary = words.glossary({
    reliability: noise.get(cheese)!,
    panel: panels.get(cheese)!,
    prediction: predicted(cheese),
    scores: studies.indexScores(cheese, { seed, reliability: noise.get(cheese)! }),
  });
  assert.match(glossary, /0 of 3 metrics is known to rank single shoes/);
  assert.doesNotMatch(words.repeatability.terms(noise.get(wafers)!), /1\.00 .* down to 1\.00/);
});

Deno.test("a coefficient of variation of a fiftieth of a percent is not 0.0", () => {
  for (const row of words.repeatability.rows(noise.get(wafers)!)) {
    assert.ok(Number(row["CV, %"]) > 0, `${row.metric}: ${row["CV, %"]}`);
    assert.equal(row.unit, "no unit");
  }
});

Deno.test("one metric of several 'is' fit, and nobody rated is none, with no metric counted out for it", () => {
  const alt = chartAlt(charts.reliability(noise.get(eight)!));
  assert.match(alt, /^\d+ of 13 metrics (is|are) /);
  assert.ok(/^1 of/.test(alt) === /^1 of 13 metrics is/.test(alt), alt.slice(0, 60));
  const counts = words.review.counts({
    coverage: studies.benchCoverage(gauge, { quarter: "2000Q1" }),
    prediction: studies.courtPrediction(gauge, { ...quick, permutations: 100 }),
    scores: { shoes: [] },
  });
  assert.equal(counts, "Of 10 shoes none was rated.");
});

Deno.test("operators who met almost on one shoe alone have no limits of a hundred thousand, and one shoe says nothing of others", () => {
  for (const result of studies.sourceAgreement(eight)) {
    const { by, bias, unit, verdict, shoes, lower_limit } = result;
    const reach = bias.upper === null ? 0 : bias.upper - bias.lower!;
    assert.ok(reach < 1000, `${result.title} ${by}: ${reach} ${unit}`);
    if (shoes === 1) assert.equal(verdict, "can't tell");
    if (bias.lower === null) assert.equal(lower_limit.estimate, null);
  }
  const [row] = words.repeatability.agreementRows(
    studies.sourceAgreement(eight).filter(({ by, shoes }) => by === "rig" && shoes === 1),
  );
  assert.match(String(row["side by side"]), /Steddle 1 alone met both/);
});

Deno.test("a plan without an index claims no place that noise hides, and open pairs are those looked at alone", () => {
  const alone = studies.retestPlan(wafers, {
    reliability: noise.get(wafers)!,
    slots: 3,
    rule: null,
  });
  for (const { why } of words.retest.rows(alone)) assert.doesNotMatch(String(why), /hides/);
  const plan = studies.retestPlan(eight, { reliability: noise.get(eight)!, slots: 3 });
  assert.match(words.retest.sentence(plan), /whose order is open, each looked at alone/);
});

Deno.test("three metrics whose direction nobody has told are listed with an 'and'", () => {
  const said = words.coverage.stage(carrots, "answer") + words.coverage.stage(cheese, "publish");
  assert.match(said, /panel-axis-1 and panel-axis-2 is better/);
  assert.match(said, /acetic-acid, hydrogen-sulfide and lactic-acid is better/);
});

Deno.test("a published page explains places, intervals and impressions only where it has them", () => {
  const read = (bench: Bench) =>
    howToRead(studies.publishedCatalogue(bench, { seed, reliability: noise.get(bench)! })).join(
      " ",
    );
  assert.doesNotMatch(read(gauge), /A place such as|Impressions are/);
  assert.match(read(eight), /A place such as .*Numbers behind a value/);
  assert.doesNotMatch(read(cheese), /A place such as|Numbers behind a value/);
  assert.match(read(cheese), /No shoe has a place, since the noise of the scores is unknown/);
  assert.match(read(cheese), /Left out, since too little was read twice: /);
});

Deno.test("ratings in whole points have means with a decimal, so that 5.2 is not 4.9", () => {
  const on = comparedImpression(carrots.settings.attributes[0], carrots.settings);
  assert.equal(measured(5.21, on, { lower: 5.0, upper: 5.4 }), "5.2 points");
});

Deno.test("a catalogue of unknown noise is not told in halves, and one reference shoe is an instrument, counted apart", () => {
  const of = (bench: Bench, metric: string) =>
    catalogueWords(
      studies.catalogueStanding(bench, { metric, reliability: noise.get(bench)! }),
    );
  assert.doesNotMatch(of(carrots, "panel-axis-1").notes.join(" "), /Told in/);
  const rebound = of(eight, "forefoot-rebound");
  assert.match(rebound.notes.join(" "), /a reference shoe of the bench: an instrument, so/);
  assert.match(rebound.alt, /of 7 shoes and 1 reference shoe, from/);
});

Deno.test("who may be first is told by tests only where there are any, and in English", () => {
  const of = (bench: Bench) =>
    bestWords(studies.bestShoes(bench, { seed, reliability: noise.get(bench)! }));
  assert.doesNotMatch(of(cheese).notes.join(" "), /for all tests together/);
  assert.match(of(eight).notes[0], /^A shoe may be first unless another is shown/);
});

Deno.test("makers with one line each share no scatter of others, and intervals that are not there don't hold", () => {
  const { notes } = makerWords(
    studies.makerStanding(eight, { on: { metric: "mass" }, seed, reliability: noise.get(eight)! }),
  );
  assert.doesNotMatch(notes.join(" "), /other makers' lines|hold together/);
});

Deno.test("whether a shoe runs short is open only where its limits reach past half a step below", () => {
  const fit = studies.labelFit(eight, { asked: "short", reliability: noise.get(eight)! });
  const open =
    fit.shoes.filter(({ word, lower }) =>
      word === "can't tell" && (lower === null || lower < -fit.half_step_mm)
    ).length;
  assert.ok(open < fit.cant_tell, "one can't be told for running long");
  assert.match(labelFitWords(fit).sentence, new RegExp(`for ${open} it can't be told`));
});

Deno.test("a claim not seen blind says so in the answer's headline, as the review's does", () => {
  const { sentence } = linkWords(
    studies.metricLink(cheese, {
      metric: "hydrogen-sulfide",
      attribute: "taste",
      seed,
    }),
  );
  assert.match(sentence, /^Yes: .*; not yet seen blind\.$/);
});

Deno.test("a shoe whose noise is unknown is not said not to stand out", () => {
  const { sentence } = profileWords(
    studies.shoeProfile(cheese, {
      shoe: "cheese-24",
      reliability: noise.get(cheese)!,
      seed,
    }),
  );
  assert.match(sentence, /^Whether none cheese-24 stands out can't be told/);
});

Deno.test("two metrics are not said to rise together for what shoes of a line and a maker share, and no instrument counts", () => {
  const pair = studies.metricPair(eight, {
    metrics: ["mass", "forefoot-rebound"],
    reliability: noise.get(eight)!,
    seed,
  });
  assert.ok(pair.shoes.every(({ shoe_id }) => shoe_id !== REFERENCE));
  assert.match(metricPairWords(pair).sentence, /over 7 shoes, 7 lines and 7 makers/);
  const strong = { ...pair, spearman: { ...pair.spearman, estimate: 0.5, lower: 0.2, upper: 0.8 } };
  assert.match(metricPairWords({ ...strong, p: 0.01 }).sentence, /rise together/);
  assert.match(
    metricPairWords({ ...strong, p: 0.2 }).sentence,
    /^Can't tell .* resemble each other/,
  );
});

Deno.test("a frame that a filter left without a row sorts to a frame without a row", async () => {
  const empty = await show.frame([], { columns: ["price", "mass"] });
  assert.deepEqual(records.frameRows(empty.sortValues("price", { ascending: false }).head(8)), []);
});

Deno.test("a picture's headline counts no shoe that can't be told, where there is none", () => {
  const list = studies.shortlist(eight, {
    conditions: [{ kind: "at most", metric: "mass", value: 380 }],
    reliability: noise.get(eight)!,
    seed,
  });
  const alt = `${chartAlt(charts.shortlist(list))} ${charts.shortlist(list).outerHTML}`;
  assert.doesNotMatch(alt, /for 0 shoes/);
});

Deno.test("a bench that asks testers nothing is told to say what they are asked before cards are printed", () => {
  assert.match(
    words.coverage.stage(gauge, "review"),
    /Say in "attributes" of bench\.json .* --cards/,
  );
  const asked = { ...eight, impressions: [] };
  assert.doesNotMatch(words.coverage.stage(asked, "review"), /"attributes"/);
});
