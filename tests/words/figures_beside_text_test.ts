import assert from "node:assert/strict";
import { charts, loadBench, studies, words } from "bench-to-court";
import { chartAlt } from "../../lib/charts/figure.ts";
import { fitChart } from "../../lib/charts/fit_chart.ts";
import { fitWords } from "../../lib/words/comparison/fit_words.ts";
import { shortlistChart } from "../../lib/charts/shortlist_chart.ts";
import { benchSummary } from "../../lib/words/coverage/bench_summary.ts";
import { driftFound, rigChange, rigSentence } from "../../lib/words/drift/drift_sentences.ts";
import { agreementSentence } from "../../lib/words/panel/panel_words.ts";
import { modelSentence } from "../../lib/words/prediction/prediction_sentences.ts";
import { toldPlan } from "../../lib/words/retest/retest_words.ts";
import { sayReason } from "../../lib/words/reasons.ts";
import { textBoxes } from "../charts/text_boxes.ts";
import { smallBench } from "../studies/small_bench.ts";

/** What stands twice on a page, in a sentence and in a picture or a table, is one figure. */
const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const seed = 1;
const reliability = studies.trialReliability(demo, { seed, resamples: 200 });
const prediction = studies.courtPrediction(demo, {
  reliability,
  seed,
  resamples: 200,
  permutations: 500,
});

const numbers = (text: string) => text.match(/\d+(\.\d+)?/g) ?? [];
const drawnTexts = (chart: Parameters<typeof textBoxes>[0]) =>
  textBoxes(chart).map(({ text }) => text);

Deno.test("the MDC of two sessions beside a row of figure 3 is the table's, and the one of one session is named so", () => {
  const table = words.repeatability.rows(reliability);
  const drawn = drawnTexts(charts.mdc(reliability));
  let seen = 0;
  for (const { title, mdc } of reliability.metrics) {
    const [two] = numbers(
      String(table.find(({ metric }) => metric === title)!["MDC of two means"]),
    );
    if (mdc.mean_across_sessions.estimate === null) continue;
    const alt = chartAlt(
      charts.mdc({
        ...reliability,
        metrics: reliability.metrics.filter((one) => one.title === title),
      }),
    );
    const [, one, told] = /MDC ([\d.]+)[^,]* in one session, ([\d.]+) in two/.exec(alt)!;
    assert.equal(told, two, title);
    assert.ok(
      drawn.some((text) => text.includes(`MDC ${one}`) && text.includes(`${two} in two`)),
      title,
    );
    seen++;
  }
  assert.ok(seen >= 10, `${seen} metrics`);
});

Deno.test("figure 7 counts the pairs and the claims that the text counts, with a metric that is computed from another too", () => {
  const [first] = prediction.pairs;
  const computed = prediction.pairs.map((pair) =>
    pair.metric === first.metric ? { ...pair, derived_from: "another" } : pair
  );
  for (const pairs of [prediction.pairs, computed]) {
    const text = words.prediction.finding({ ...prediction, pairs });
    const alt = chartAlt(charts.predictionGrid(pairs));
    const count = (of: string, pattern: RegExp) => pattern.exec(of)?.[1] ?? "none";
    assert.equal(count(alt, /Of (\d+) pairs?/), count(text, /Of (\d+) pairs?/));
    assert.equal(count(alt, /(\d+) predicts?:/), count(text, /(\d+) holds? up/));
    assert.equal(
      count(alt, /(\d+) goe?s? with a stronger/),
      count(text, /(\d+) goe?s? with a stronger/),
    );
    assert.equal(count(alt, /(\d+) shows? no sign/), count(text, /(\d+) shows? no sign/));
    assert.equal(count(alt, /for (\d+) these data can't/), count(text, /for (\d+) these/));
  }
});

Deno.test("what a score is said to come from is its largest term, and 'most' is said of more than half only", () => {
  const scores = studies.indexScores(demo, { reliability, seed });
  const alt = chartAlt(charts.contributions(scores));
  const [first] = scores.shoes.filter(({ score }) => score !== null);
  const largest = first.terms.reduce((most, term) =>
    (term.points ?? 0) > (most.points ?? 0) ? term : most
  );
  assert.ok(
    alt.includes(
      `of its terms ${largest.metric} brings the most points: ${largest.points!.toFixed(2)}`,
    ),
    alt,
  );
  assert.doesNotMatch(alt, /most of it/);

  const sure = prediction.attributes.find(({ model }) => model?.reason === null)!;
  const model = sure.model!;
  const shared = (share: number) =>
    modelSentence({
      ...sure,
      model: {
        ...model,
        ridge: { ...model.ridge, r2: { ...model.ridge.r2, estimate: 0.5, lower: 0.3, upper: 0.6 } },
        shares: {
          ...model.shares,
          r2: 0.6,
          metrics: [{ ...model.shares.metrics[0], share, lower: share / 2, upper: 0.6 }],
        },
      },
    });
  assert.match(shared(0.31), /Most of what is explained goes to/);
  assert.match(shared(0.29), /The largest part of what is explained goes to/);

  const [metric] = reliability.metrics.filter(({ drift_noise }) => drift_noise.corrected !== null);
  const caused = (drift: number) =>
    words.repeatability.finding([{
      ...metric,
      drift_noise: {
        ...metric.drift_noise,
        drift_found: true,
        in_force: "as read",
        largest: "drift",
        causes: { drift, visits: 1, trials: 1 },
      },
    }]);
  assert.match(caused(2.1), /Most of the noise of/);
  assert.match(caused(1.9), /The largest part of the noise of/);
});

Deno.test("the states of a shortlist and of a fit add up to the shoes that are asked about, in picture and sentence", () => {
  const conditions = [{ kind: "best share" as const, metric: "mass", share: 1 / 3 }];
  const list = studies.shortlist(demo, { conditions, reliability, seed });
  const keyed = (chart: Parameters<typeof textBoxes>[0], start: RegExp) =>
    drawnTexts(chart).filter((text) => start.test(text)).map((text) =>
      Number(/: (\d+)$/.exec(text)![1])
    );
  const states = keyed(shortlistChart(list), /^(on the list|can't tell|off it).*: \d+$/);
  assert.equal(states.length, 3);
  assert.equal(states.reduce((a, b) => a + b), list.shoes.length);

  const wide = studies.footFit(demo, { foot_length_mm: 272, foot_width_mm: 104, reliability });
  const lacking = {
    ...wide,
    shoes: wide.shoes.map((shoe, i) => i % 5 === 0 ? { ...shoe, width_room_mm: null } : shoe),
  };
  for (const fit of [wide, lacking, studies.footFit(demo, { foot_length_mm: 272, reliability })]) {
    const chart = fitChart(fit);
    const marked = keyed(chart, /^(length fits|can't tell|another size|too narrow): \d+$/);
    const fits = fit.shoes.filter(({ word }) => word === "length fits").length;
    assert.equal(marked[0], fits, "as many as fit are marked or counted");
    assert.equal(marked.reduce((a, b) => a + b), fit.shoes.length);
    const undrawn = fit.foot.width_mm === null
      ? 0
      : fit.shoes.filter(({ width_room_mm }) => width_room_mm === null).length;
    const noted = /Not drawn: (\d+) shoes/.exec(drawnTexts(chart).join(" "));
    assert.equal(Number(noted?.[1] ?? 0), undrawn);
    const said = /^(\d+) of \d+ shoes have the length/.exec(fitWords(fit).sentence);
    if (said !== null) assert.equal(Number(said[1]), fits);
  }
});

Deno.test("how far one rig reads below another is one figure in sentence and table, and another way of asking says so", () => {
  const drift = studies.referenceDrift(demo);
  const found = drift.steps.filter((step) => step.found);
  assert.ok(found.length > 1);
  for (const step of found) {
    const [row] = words.drift.stepRows({ steps: [step] });
    const said = words.drift.sentence({ ...drift, rigs: [], steps: [step] });
    const figure = numbers(String(row["reads more by"]))[0];
    assert.ok(
      new RegExp(`reads ${figure}\\D.* (below|above) ${step.from} on the same shoes`).test(said),
      said,
    );
  }
  for (const by of ["rig", "operator"] as const) {
    for (const { id } of demo.metrics) {
      const paired = studies.pairedSources(demo, id, { by });
      if (paired.bias.estimate === null) continue;
      assert.match(
        words.repeatability.pairedSentence(paired),
        /on \d+ shoes? that both benched within \d+ days/,
      );
    }
  }
});

Deno.test("the slope of a drift is one figure wherever it is told", () => {
  const { rigs } = studies.referenceDrift(demo);
  const claimed = rigs.filter((rig) => rig.claimed);
  assert.ok(claimed.length > 0);
  for (const rig of claimed) {
    assert.ok(rigSentence(rig).startsWith(rigChange(rig)));
    assert.ok(driftFound(rigs).includes(rigChange(rig)));
  }
});

Deno.test("the panel's finding, its sentences and its figure give one reliability, for one number of testers", () => {
  const panel = studies.panelAgreement(demo, { seed, resamples: 200 });
  const alt = chartAlt(charts.panelAgreement(panel));
  for (const attribute of panel.attributes) {
    const said = agreementSentence(attribute);
    assert.ok(alt.includes(said));
    const [, testers, share] = /panel value of (\d+) testers, leniency taken out, (\d+)%/.exec(
      said,
    )!;
    assert.equal(Number(testers), attribute.testers_per_shoe);
    assert.equal(Number(share), Math.round(100 * attribute.value_reliability.estimate!));
  }
  const finding = words.panel.finding(panel);
  const ranked = panel.attributes.toSorted((a, b) =>
    b.value_reliability.estimate! - a.value_reliability.estimate!
  );
  for (const attribute of [ranked[0], ranked.at(-1)!]) {
    assert.ok(
      finding.includes(attribute.value_reliability.estimate!.toFixed(2)),
      `${attribute.title}: ${finding}`,
    );
  }
});

Deno.test("a review asks to look up as many readings as inspect lists and as it flags, on a full bench and on an empty one", () => {
  const count = (text: string) => Number(/Look up (\d+) reading/.exec(text)?.[1] ?? 0);
  const listed = new Set(
    demo.warnings.filter(({ file, column }) => file === "trials.csv" && column === "value").map((
      { line },
    ) => line),
  );
  const coverage = studies.benchCoverage(demo, { quarter: "2026Q3" });
  assert.ok(listed.size > 0);
  assert.equal(count(benchSummary(demo, coverage).act.join(" ")), listed.size);
  const drift = studies.referenceDrift(demo);
  const scores = studies.indexScores(demo, { reliability, seed });
  const flagged = new Set([
    ...listed,
    ...reliability.metrics.flatMap(({ outliers }) => outliers.map(({ line }) => line)),
  ]);
  const review = words.review.summary({
    coverage,
    reliability,
    drift,
    prediction,
    scores,
    warnings: demo.warnings,
  });
  assert.equal(count(review.act.join(" ")), flagged.size);

  const empty = smallBench([]);
  const nothing = {
    ...empty,
    warnings: [{ ...demo.warnings[0], file: "rules", column: null, line: null }],
  };
  const said = benchSummary(nothing, studies.benchCoverage(nothing, { quarter: "2026Q1" })).act
    .join(" ");
  assert.doesNotMatch(said, /reading/);
});

Deno.test("a visit on a metric outside the index takes no share of its variance, and says why", () => {
  const plan = toldPlan(studies.retestPlan(demo, { slots: 10, reliability }));
  const outside = plan.visits.filter(({ gain }) => !gain.in_force);
  assert.ok(outside.length > 0);
  const title = (metric: string) =>
    demo.metrics.find(({ id }) => id === metric)!.title.toLowerCase();
  for (
    const { metric, index_variance_share: share, index_variance_share_reason: reason } of outside
  ) {
    assert.equal(share, null);
    assert.equal(sayReason(reason!), `${title(metric)} is no part of the index in force`);
  }
  const indexed = studies.retestPlan(demo, { slots: 10, reliability, metrics: ["heel-rebound"] });
  for (const visit of toldPlan(indexed).visits) {
    assert.equal(visit.index_variance_share, visit.gain.index_variance);
    assert.equal(visit.index_variance_share_reason, null);
  }
  const unruled = toldPlan(studies.retestPlan(demo, { slots: 3, reliability, rule: null }));
  for (const visit of unruled.visits) {
    assert.equal(visit.index_variance_share, null);
    assert.deepEqual(visit.index_variance_share_reason, { code: "no-rule" });
  }
});
