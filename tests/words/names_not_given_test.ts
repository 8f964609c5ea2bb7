import assert from "node:assert/strict";
import { loadBench, studies, words } from "bench-to-court";
import { chartAlt } from "../../lib/charts/figure.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { CantAnswer } from "../../lib/records/cant_answer.ts";
import type { Bench } from "../../lib/records/types.ts";
import { publishedCatalogue } from "../../lib/studies/catalogue/published_catalogue.ts";
import { viewerKinds, viewerQuestion } from "../../lib/studies/questions/viewer_question.ts";
import { shoeName } from "../../lib/studies/shoes/shoe_name.ts";
import { type Answer, tellAnswer } from "../../lib/words/comparison/tell_answer.ts";
import { answerHeadline } from "../../lib/words/comparison/headline.ts";
import { indexSentence } from "../../lib/words/index/index_sentence.ts";
import { toldPlan } from "../../lib/words/retest/retest_words.ts";

/** The demo as an import leaves it where the sheet named no maker for one shoe in three, and no model for one. */
const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const NONE = "not given";
const bench: Bench = {
  ...demo,
  shoes: demo.shoes.map((shoe, i) => ({
    ...shoe,
    maker: i % 3 === 0 ? NONE : shoe.maker,
    model: i === 3 ? NONE : shoe.model,
  })),
};
const seed = 1;
const reliability = studies.trialReliability(bench, { seed, resamples: 100 });
const nameless = bench.shoes[0].shoe_id;

/** As English has it: "the foot's width was not given". */
const said = (text: string) => text.replaceAll("was not given", "");

Deno.test("what an import writes for a maker that the sheet lacks is in no name, headline or sentence", () => {
  const answers: Answer[] = [
    studies.shoeComparison(bench, { shoes: [nameless, bench.shoes[3].shoe_id], reliability }),
    studies.catalogueStanding(bench, { metric: "mass", shoes: [nameless], reliability }),
    studies.footFit(bench, { foot_length_mm: 272, reliability }),
    studies.shortlist(bench, {
      conditions: [{ kind: "best share", metric: "mass", share: 1 / 3 }],
      reliability,
      seed,
    }),
    ...viewerKinds.flatMap((kind) => {
      try {
        return [
          viewerQuestion(bench, {
            kind,
            shoe: nameless,
            metric: "mass",
            attribute: "comfort",
            reliability,
            seed,
          }),
        ];
      } catch (error) {
        if (error instanceof CantAnswer) return [];
        throw error;
      }
    }),
  ];
  assert.ok(answers.length > 10, `${answers.length} answers`);
  for (const answer of answers) {
    const { sentence, alt, notes } = tellAnswer(answer);
    for (const text of [answerHeadline(answer), sentence, alt, ...notes]) {
      assert.ok(!said(text).includes(NONE), `${answer.question}: ${text}`);
    }
  }
  const prediction = studies.courtPrediction(bench, {
    reliability,
    seed,
    resamples: 100,
    permutations: 200,
  });
  const scores = studies.indexScores(bench, { reliability, seed });
  const coverage = studies.benchCoverage(bench, { quarter: "2026Q3" });
  const drift = studies.referenceDrift(bench);
  const plan = toldPlan(studies.retestPlan(bench, { reliability, slots: 10 }));
  const { know, act } = words.review.summary({ coverage, reliability, drift, prediction, scores });
  const page = [
    indexSentence(scores),
    ...know,
    ...act,
    plan.sentence,
    ...plan.visits.flatMap(({ name, settles }) => [name, ...settles]),
    chartAlt(predictionGridChart(prediction.pairs)),
    ...words.prediction.rows(prediction.pairs).flatMap((row) => Object.values(row)).map(String),
    ...publishedCatalogue(bench, { reliability, seed }).shoes.map(({ name }) => name),
  ];
  for (const text of page) assert.ok(!said(text).includes(NONE), text);
});

Deno.test("a shoe without a maker is called by its model, and one without either says so", () => {
  assert.equal(shoeName({ maker: NONE, model: "Orbinel", edition: "3" }), "Orbinel 3");
  assert.equal(shoeName({ maker: NONE, model: NONE, edition: null }), "A shoe without a name");
});

Deno.test("shoes whose maker nobody gave are no maker that is set against others", () => {
  const { makers } = studies.makerStanding(bench, { on: { metric: "mass" }, reliability });
  assert.ok(makers.length > 3);
  assert.ok(makers.every(({ maker }) => maker !== NONE));
});

Deno.test("a claim that rests on shoes without a maker names them so", () => {
  const prediction = studies.courtPrediction(bench, {
    reliability,
    seed,
    resamples: 100,
    permutations: 200,
  });
  const [claimed] = words.prediction.claimedPairs(prediction);
  const text = words.prediction.pairSentence({
    ...claimed,
    rests_on: { shoes: [], lines: [], makers: [NONE] },
  });
  assert.match(text, /rests on the shoes without a maker on record/);
});
