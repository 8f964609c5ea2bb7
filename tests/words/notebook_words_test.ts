import assert from "node:assert/strict";
import { loadBench } from "../../lib/records/load_bench.ts";
import { benchCoverage } from "../../lib/studies/coverage/bench_coverage.ts";
import { benchSummary } from "../../lib/words/coverage/bench_summary.ts";
import { metricRows, trialRows } from "../../lib/words/coverage/bench_tables.ts";
import { comparedValueRows, shortlistRows } from "../../lib/words/comparison/answer_rows.ts";
import { chosenMetric, chosenShoe, shoeOnMetric } from "../../lib/words/chosen_names.ts";
import { comparisonWords } from "../../lib/words/comparison/comparison_sentence.ts";
import { comparisonSummary } from "../../lib/words/comparison/comparison_summary.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { predictionSummary } from "../../lib/words/prediction/prediction_summary.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { inertText, notebookSummary } from "../../lib/words/summary_words.ts";
import {
  modelTerms,
  panelTerms,
  predictionTerms,
  repeatabilityTerms,
} from "../../lib/words/glossary.ts";
import {
  componentRows,
  flaggedRows,
  metricFigureRows,
} from "../../lib/words/repeatability/trial_tables.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { trialSummary } from "../../lib/words/repeatability/trial_summary.ts";
import { assertClose } from "../assert_close.ts";
import { smallBench } from "../studies/small_bench.ts";

const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const reliability = trialReliability(demo, { seed: 1, resamples: 200 });
const studyOf = (id: string) => reliability.metrics.find(({ metric }) => metric === id)!;
const panel = panelAgreement(demo, { seed: 1, resamples: 200 });
const prediction = courtPrediction(demo, {
  reliability,
  panel,
  seed: 1,
  resamples: 300,
  permutations: 1000,
});
const bare = { ...smallBench([]), shoes: [], sessions: [], rules: [] };

Deno.test("componentRows() gives SDs whose squares are the study's variances", () => {
  const study = studyOf("tilt-slip-dry");
  const rows = componentRows(reliability, "tilt-slip-dry");
  assert.equal(rows.length, study.components.length);
  rows.forEach((row, place) => {
    const { variance, lower, upper, levels } = study.components[place];
    assertClose(Number(row["SD, °"]) ** 2, variance, { within: 5e-3 });
    assertClose(Number(row["at least"]) ** 2, lower!, { within: 5e-3 });
    if (upper === null) assert.equal(row["at most"], "can't tell");
    else assertClose(Number(row["at most"]) ** 2, upper, { within: 5e-3 });
    assert.match(String(row["seen in"]), new RegExp(`^${levels} \\p{L}+s?$`, "u"));
  });
});

Deno.test("metricFigureRows() and flaggedRows() name the metric's unit, and explain every figure", () => {
  const figures = metricFigureRows(reliability, "tilt-slip-dry");
  assert.equal(figures[0].figure, "Repeatability SD, °");
  assert.ok(figures.every((row) => String(row["what it says"]).length > 20));
  const [flagged] = flaggedRows(demo, reliability, "tilt-slip-dry");
  assert.equal(flagged["line in trials.csv"], 2210);
  assert.equal(flagged["value, °"], 30.3);
  assert.ok(Number(flagged["in SDs"]) > Number(flagged["chance allows, in SDs"]));
});

Deno.test("metricRows() and trialRows() write differences in their own decimals, and no dash for what is known", () => {
  const rows = metricRows(demo);
  const of = (id: string) => rows.find(({ metric }) => metric === id)!;
  assert.equal(of("mass")["difference that matters"], "20");
  assert.equal(of("friction-dry")["difference that matters"], "0.06");
  assert.equal(of("friction-dry").unit, "no unit");
  assert.equal(of("inside-width").better, "neither");
  const [trial] = trialRows(demo, "tolmeck-steddle-1", "mass");
  assert.ok("value, g" in trial);
  assert.equal(trial.excluded, "no");
});

Deno.test("an empty name chooses the first metric with a trial and its most read shoe, a wrong one is refused", () => {
  assert.equal(chosenMetric(demo, ""), "heel-rebound");
  assert.equal(chosenMetric(demo, "mass"), "mass");
  assert.equal(chosenMetric(demo, "masse"), "mass"); // one slip of a letter
  assert.throws(() => chosenMetric(demo, "massive"), /There is no metric "massive".*mass/);
  const most = chosenShoe(demo, "", "mass");
  assert.ok(demo.settings.reference_shoes.includes(most), most);
  assert.throws(() => chosenShoe(demo, "nobody", "mass"), /There is no shoe "nobody"/);
  assert.equal(
    shoeOnMetric(demo, "tolmeck-steddle-1", "tilt-slip-dry"),
    "Tolmeck Steddle 1 on tilt at slip (dry court)",
  );
  assert.throws(() => chosenShoe(bare, "", "height"), /no shoe yet: add one to shoes\.csv/);
  assert.throws(
    () => chosenMetric({ ...bare, metrics: [] }, ""),
    /no metric yet: add one to metrics\.json/,
  );
});

Deno.test("benchSummary() counts what counts, and says of an empty bench what to add first", () => {
  const { know, act } = benchSummary(demo, benchCoverage(demo, { quarter: "2026Q3" }));
  const kept = demo.trials.filter(({ excluded }) => excluded === null).length;
  assert.match(know[0], new RegExp(`\\(invented data\\): 50 shoes, 13 metrics, ${kept} trials`));
  assert.match(act[0], /^Look up 5 readings/);
  assert.match(
    act[1],
    /^Fill the gaps: 22 shoes lack forefoot bending stiffness, and 1 more metric has gaps\.$/,
  );
  const empty = benchSummary(bare, benchCoverage(bare, { quarter: "2026Q1" }));
  assert.match(empty.act.join(" "), /shoes\.csv.*trials\.csv.*impressions\.csv.*rules\//);
  const once = smallBench([{ shoe: "a", session: "s", values: [3] }]);
  assert.match(
    benchSummary(once, benchCoverage(once, { quarter: "2026Q1" })).act.join(" "),
    /one reading shows no scatter/,
  );
});

Deno.test("trialSummary() leads with what the metric is good for, and sends to the rig that drifts", () => {
  const drift = referenceDrift(demo);
  const heel = trialSummary(studyOf("heel-rebound"), { drift });
  assert.match(heel.know[0], /^Heel rebound is fit for groups only: compare groups of shoes/);
  assert.match(heel.know[3], /bench-b falls by .* the bench drifts/);
  assert.match(heel.act[0], /Check the rig/);
  assert.match(heel.act[1], /Correct to the reference shoes \(MDC 2\.3 → 0\.89 cm\)/);
  assert.doesNotMatch(heel.act.join(" "), /More trials a visit won't help/);
  const wear = trialSummary(studyOf("outsole-wear"), { drift });
  assert.match(wear.act.join(" "), /More trials a visit won't help/);
  const tilt = trialSummary(studyOf("tilt-slip-dry"), { drift });
  assert.match(tilt.act[0], /1 trial that stands out, first line 2210/);
  assert.match(tilt.act[1], /Take \d+ trials a visit instead of 5, to rank single shoes/);
  const lamp = trialSummary(studyOf("upper-lamp-temperature"));
  assert.match(lamp.act.join(" "), /Don't publish it/);
  const [one] = trialReliability(smallBench([{ shoe: "a", session: "s", values: [3] }]), {
    seed: 1,
  }).metrics;
  const { know, act } = trialSummary(one);
  assert.match(
    know[0],
    /^Of height nobody can tell yet .*only 1 reading/,
  );
  assert.match(act.join(" "), /Read each shoe at least twice in a visit/);
});

Deno.test("every word of statistics is explained with this bench's own number", () => {
  const terms = repeatabilityTerms(reliability);
  const lamp = studyOf("upper-lamp-temperature").icc_mean.estimate!.toFixed(2);
  assert.match(
    terms,
    new RegExp(`_ICC_: .* down to ${lamp} \\(upper temperature under the lamp\\)`),
  );
  const heel = studyOf("heel-rebound").mdc.mean_across_sessions.estimate!.toPrecision(2);
  assert.match(terms, new RegExp(`_MDC_: .* Here ${heel} cm on heel rebound\\.`));
  assert.equal(terms.split("\n").length, 5);
  const panel = panelAgreement(demo, { seed: 1, resamples: 200 });
  assert.match(
    panelTerms(panel),
    /_Kendall's W_: .* Here 0\.\d\d \(0\.\d\d to 0\.\d\d\) on grip\./,
  );
  const words = predictionTerms(prediction);
  for (const word of ["Rank correlation", "Interval", "Ceiling", "Without noise", "Given mass"]) {
    assert.match(
      words,
      new RegExp(`_${word}_: .* Here .* for tilt at slip \\(dry court\\) and grip`),
    );
  }
  assert.match(words, /p &lt; 0\.001 among 72 pairs|p = 0\.\d+ among 72 pairs/);
  assert.match(modelTerms(prediction), /Here [^ ]+ \(.*\) for grip, .* for comfort\./);
});

Deno.test("words of a bench without numbers are explained without them", () => {
  assert.doesNotMatch(repeatabilityTerms({ metrics: [], confidence: 0.95 }), /Here/);
  assert.doesNotMatch(panelTerms({ attributes: [] }), /Here/);
  assert.doesNotMatch(predictionTerms({ pairs: [] }), /Here/);
  assert.doesNotMatch(modelTerms({ attributes: [] }), /Here/);
});

Deno.test("predictionSummary() counts every pair once, and asks for shoes where nothing can be said", () => {
  const { know, act } = predictionSummary(prediction);
  const [counts] = know[0].split(".");
  const numbers = [...counts.matchAll(/\d+/g)].map(([text]) => Number(text));
  assert.equal(numbers[0], numbers.slice(1).reduce((sum, count) => sum + count, 0), know[0]);
  assert.ok(know.some((line) => /^Grip is predicted by tilt at slip/.test(line)));
  assert.match(act.join(" "), /only for shoes and courts like those tested/);
  const none = predictionSummary({ pairs: [], attributes: [], unsettled: [], warnings: [] });
  assert.match(none.know[0], /Nothing was both benched and played in/);
  assert.match(none.act[0], /Have the panel rate shoes/);
});

Deno.test("comparisonSummary() says how many visits would settle what can't be told", () => {
  const comparison = shoeComparison(demo, {
    shoes: ["pavrico-orbinel-3", "ellvarn-talvec-3"],
    metrics: ["tilt-slip-dry", "heel-rebound", "mass"],
    attributes: ["grip"],
    reliability,
  });
  const { know, act } = comparisonSummary(comparison);
  assert.equal(know[0], comparisonWords(comparison).sentence);
  assert.match(know.join(" "), /no safety rating/);
  const heel = comparison.comparisons.find(({ metric }) => metric === "heel-rebound")!;
  const { estimate, lower, upper } = heel.difference;
  const half = (upper! - lower!) / 2;
  // One visit of each so far: the half-length falls with the root of the visits.
  const needed = Math.ceil((half / Math.max(Math.abs(estimate!), 1.5 - Math.abs(estimate!))) ** 2);
  assert.match(
    act.join("\n"),
    new RegExp(`^Heel rebound: can't tell; about ${needed} visits of each`, "m"),
  );
  assert.match(act.join("\n"), /^Grip on court: can't tell; .*testers/m);
  const [values] = comparedValueRows(comparison);
  assert.match(
    String(values["Orbinel 3"]),
    /^37\.0° \(4 trials\)$/,
  );
});

Deno.test("shortlistRows() calls no chance certain", () => {
  const shoe = { name: "A", word: "on the list", probability: 0.9996, conditions: [] };
  const rows = (probability: number) =>
    shortlistRows(
      {
        shoes: [{ ...shoe, probability }],
        asked: [],
      } as unknown as Parameters<typeof shortlistRows>[0],
    );
  assert.equal(rows(0.9996)[0]["chance, %"], ">99");
  assert.equal(rows(0.0004)[0]["chance, %"], "<1");
  assert.equal(rows(0.5)[0]["chance, %"], "50");
});

Deno.test("a name from the data stays text in a summary, in every reader of Markdown", () => {
  assert.equal(inertText("[x](y) <b> & *"), "\\[x\\](y) &lt;b\\> &amp; \\*");
  assert.match(
    notebookSummary(["a"], []).markdown,
    /- a\n\n## What to do next\n\n- Nothing is pressing/,
  );
});
