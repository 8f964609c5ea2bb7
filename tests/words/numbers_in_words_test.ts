import assert from "node:assert/strict";
import { coverageChart } from "../../lib/charts/coverage_chart.ts";
import { mdcChart } from "../../lib/charts/mdc_chart.ts";
import { panelAgreementChart } from "../../lib/charts/panel_agreement_chart.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { reliabilityChart } from "../../lib/charts/reliability_chart.ts";
import { benchCoverage } from "../../lib/studies/coverage/bench_coverage.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { reviewSummary } from "../../lib/words/review/review_summary.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { comparisonChart } from "../../lib/charts/comparison_chart.ts";
import { editionChart } from "../../lib/charts/edition_chart.ts";
import { fitChart } from "../../lib/charts/fit_chart.ts";
import { indexChart } from "../../lib/charts/index_chart.ts";
import { metricPairChart } from "../../lib/charts/metric_pair_chart.ts";
import { shortlistChart } from "../../lib/charts/shortlist_chart.ts";
import { standingChart } from "../../lib/charts/standing_chart.ts";
import type { SvgElement } from "../../lib/charts/draw.ts";
import { CantAnswer } from "../../lib/records/cant_answer.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { catalogueStanding } from "../../lib/studies/comparison/catalogue_standing.ts";
import { editionHistory } from "../../lib/studies/comparison/edition_history.ts";
import { footFit } from "../../lib/studies/comparison/foot_fit.ts";
import { metricPair } from "../../lib/studies/comparison/metric_pair.ts";
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { shortlist } from "../../lib/studies/comparison/shortlist.ts";
import { indexScores } from "../../lib/studies/index/index_scores.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { retestPlan } from "../../lib/studies/retest/retest_plan.ts";
import { type Answer, tellAnswer } from "../../lib/words/comparison/tell_answer.ts";
import { indexSentence } from "../../lib/words/index/index_sentence.ts";
import { planSentence } from "../../lib/words/retest/retest_words.ts";
import { textBoxes } from "../charts/text_boxes.ts";
import { designs, inventedBench } from "../benchmarks/no_difference_pairs.ts";
import { namesIn, unfoundNumbers } from "./numbers_in_words.ts";
import { misplacedNumbers, namesOfThings } from "./numbers_of_what.ts";

const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const few = demo.shoes.filter(({ maker }) => maker === "Pavrico" || maker === "Tolmeck").slice(0, 8)
  .map(({ shoe_id }) => shoe_id);
const benches: Readonly<Record<string, Bench>> = {
  "the demo": demo,
  "eight shoes of it": {
    ...demo,
    shoes: demo.shoes.filter(({ shoe_id }) => few.includes(shoe_id)),
    trials: demo.trials.filter(({ shoe_id }) => few.includes(shoe_id)),
    impressions: demo.impressions.filter(({ shoe_id }) => few.includes(shoe_id)),
    features: demo.features.filter(({ shoe_id }) => few.includes(shoe_id)),
    settings: { ...demo.settings, reference_shoes: [] },
  },
  "a bench where nothing is true": inventedBench(designs[1], 3, 0),
};

/** Every answer that the bench has to a few questions of each kind, with its picture. */
function answersOf(bench: Bench): { readonly answer: Answer; readonly chart: SvgElement }[] {
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const shoes = bench.shoes.map(({ shoe_id }) => shoe_id);
  const metrics = bench.metrics.filter(({ derive }) => derive === null).map(({ id }) => id);
  const attributes = bench.settings.attributes.slice(0, 2).map(({ id }) => id);
  const questions: (() => { readonly answer: Answer; readonly chart: SvgElement })[] = [
    ...[[1, 4], [0, 3, 5], [2, 4, 5, 6]].map((places) => () => {
      const answer = shoeComparison(bench, {
        shoes: places.map((place) => shoes[place]),
        attributes,
        reliability,
      });
      return { answer, chart: comparisonChart(answer) };
    }),
    ...metrics.map((metric) => () => {
      const answer = shoeComparison(bench, {
        shoes: shoes.slice(3, 5),
        metrics: [metric],
        reliability,
      });
      return { answer, chart: comparisonChart(answer) };
    }),
    ...metrics.flatMap((metric) =>
      [[], [2], [1, 5]].map((places) => () => {
        const asked = places.map((place) => shoes[place]);
        const answer = catalogueStanding(bench, { metric, shoes: asked, reliability });
        return { answer, chart: standingChart(answer) };
      })
    ),
    ...metrics.slice(1).map((metric) => () => {
      const answer = metricPair(bench, { metrics: [metrics[0], metric], reliability, seed: 1 });
      return { answer, chart: metricPairChart(answer) };
    }),
    ...metrics.flatMap((metric) =>
      shoes.slice(0, 8).map((shoe) => () => {
        const answer = editionHistory(bench, { shoe, metric, reliability });
        return { answer, chart: editionChart(answer) };
      })
    ),
    ...metrics.map((metric) => () => {
      const answer = shortlist(bench, {
        conditions: [{ kind: "best share", metric, share: 1 / 3 }],
        reliability,
        seed: 1,
      });
      return { answer, chart: shortlistChart(answer) };
    }),
    ...[null, 104].map((foot_width_mm) => () => {
      const answer = footFit(bench, { foot_length_mm: 272, foot_width_mm, reliability });
      return { answer, chart: fitChart(answer) };
    }),
  ];
  return questions.flatMap((question) => {
    try {
      return [question()];
    } catch (error) {
      if (error instanceof CantAnswer) return [];
      throw error;
    }
  });
}

/** What the words of a comparison add up: pairs that differ, by enough to feel or not. */
function sums(answer: Answer): number[] {
  return answer.question === "comparison"
    ? [answer.comparisons.filter(({ word }) => word.startsWith("differ")).length]
    : [];
}

for (const [name, bench] of Object.entries(benches)) {
  Deno.test(`every number that an answer says is one of its result: ${name}`, () => {
    const names = namesIn(bench);
    const answers = answersOf(bench);
    assert.ok(answers.length > 8, `${answers.length} answers`);
    const wrong = answers.flatMap(({ answer, chart }) => {
      const { sentence, alt, notes } = tellAnswer(answer);
      const drawn = textBoxes(chart).map(({ text }) => text).filter((text) =>
        /[a-z]{3}/i.test(text)
      );
      return [sentence, alt, ...notes, ...drawn].flatMap((text) =>
        unfoundNumbers(text, answer, { names }).map((at) => `${answer.question}: …${at}…`)
      );
    });
    assert.deepEqual([...new Set(wrong)], []);
    const things = namesOfThings(bench);
    const misplaced = answers.flatMap(({ answer }) => {
      const { sentence, alt } = tellAnswer(answer);
      return [sentence, alt].flatMap((text) =>
        misplacedNumbers(text, answer, things, sums(answer)).map((at) =>
          `${answer.question}: …${at}…`
        )
      );
    });
    assert.deepEqual([...new Set(misplaced)], [], "numbers of another shoe or metric");
  });

  Deno.test(`every number that the index and a plan say is one of their result: ${name}`, () => {
    const names = namesIn(bench);
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    const scores = indexScores(bench, { reliability, seed: 1 });
    const plan = retestPlan(bench, { reliability, slots: 12 });
    const settled = (plan.expected.open_pairs_before ?? 0) - (plan.expected.open_pairs_after ?? 0);
    const drawn = textBoxes(indexChart(scores)).map(({ text }) => text)
      .filter((text) => /[a-z]{3}/i.test(text));
    const wrong = [
      ...[indexSentence(scores), ...drawn].flatMap((text) =>
        unfoundNumbers(text, scores, {
          names,
          also: [scores.shoes.filter(({ reference }) => !reference).length],
        })
      ),
      ...unfoundNumbers(planSentence(plan), plan, { names, also: [settled] }),
    ];
    assert.deepEqual(wrong, []);
  });
}

Deno.test("every number that the review's sentences and pictures say is one of their result", () => {
  const names = namesIn(demo);
  const seed = 1;
  const coverage = benchCoverage(demo, { quarter: "2026Q3" });
  const reliability = trialReliability(demo, { seed, resamples: 200 });
  const drift = referenceDrift(demo);
  const panel = panelAgreement(demo, { seed, resamples: 200 });
  const prediction = courtPrediction(demo, {
    reliability,
    panel,
    seed,
    resamples: 200,
    permutations: 500,
  });
  const scores = indexScores(demo, { reliability, seed });
  const { warnings } = demo;
  const { know, act } = reviewSummary({
    coverage,
    reliability,
    drift,
    prediction,
    scores,
    warnings,
  });
  const readings = new Set([
    ...warnings.map(({ line }) => line),
    ...reliability.metrics.flatMap(({ outliers }) => outliers.map(({ line }) => line)),
  ]).size;
  const everything = { coverage, reliability, drift, prediction, scores, readings };
  const said: readonly (readonly [string, string, unknown])[] = [
    ["coverage", chartAlt(coverageChart(coverage)), coverage],
    ["reliability", chartAlt(reliabilityChart(reliability)), reliability],
    ["mdc", chartAlt(mdcChart(reliability)), reliability],
    ["panel", chartAlt(panelAgreementChart(panel)), panel],
    ["grid", chartAlt(predictionGridChart(prediction.pairs)), prediction.pairs],
    ...[...know, ...act].map((text) => ["summary", text, everything] as const),
  ];
  const wrong = said.flatMap(([about, text, result]) =>
    unfoundNumbers(text, result, { names }).map((at) => `${about}: …${at}…`)
  );
  assert.deepEqual(wrong, []);
  const things = namesOfThings(demo);
  const misplaced = said.flatMap(([about, text, result]) =>
    misplacedNumbers(text, result, things).map((at) => `${about}: …${at}…`)
  );
  assert.deepEqual(misplaced, [], "numbers of another shoe or metric");
});

Deno.test("a number that is right for another shoe or another metric is found out", () => {
  const reliability = trialReliability(demo, { seed: 1, resamples: 100 });
  const things = namesOfThings(demo);
  const answer = shoeComparison(demo, {
    shoes: ["pavrico-orbinel-3", "ellvarn-talvec-3"],
    metrics: ["tilt-slip-dry", "mass"],
    reliability,
  });
  const { alt } = tellAnswer(answer);
  assert.deepEqual(misplacedNumbers(alt, answer, things), []);
  const [one, other] = ["37.0°", "39.4°"];
  assert.ok(alt.includes(one) && alt.includes(other), alt);
  const swapped = alt.replace(one, "#").replace(other, one).replace("#", other);
  assert.ok(misplacedNumbers(swapped, answer, things).length > 0, "two shoes swapped");
  const crossed = alt.replace(
    "Mass of one shoe: Pavrico Orbinel 3 356",
    "Mass of one shoe: Pavrico Orbinel 3 37.0",
  );
  assert.notEqual(crossed, alt);
  assert.equal(misplacedNumbers(crossed, answer, things).length, 1, "a tilt told as a mass");
});

Deno.test("numbers of two things swapped are noticed in most sentences that name them", () => {
  const things = namesOfThings(demo);
  let [swaps, noticed] = [0, 0];
  for (const { answer } of answersOf(demo)) {
    const { alt } = tellAnswer(answer);
    const values = [...alt.matchAll(/ (\d+\.\d+)(?=[° ][^;.]*[,;] [A-Z])/g)].map((m) => m[1]);
    for (let i = 0; i + 1 < values.length; i += 2) {
      if (values[i] === values[i + 1]) continue;
      const swapped = alt.replace(` ${values[i]}`, " #").replace(
        ` ${values[i + 1]}`,
        ` ${values[i]}`,
      )
        .replace(" #", ` ${values[i + 1]}`);
      swaps++;
      if (misplacedNumbers(swapped, answer, things, sums(answer)).length > 0) noticed++;
    }
  }
  assert.ok(swaps > 40 && noticed > 0.8 * swaps, `${noticed} of ${swaps}`);
});

Deno.test("a number that is not in the result is found out, rounded or not", () => {
  const result = { difference: 2.44, shoes: [{ word: "a" }, { word: "a" }, { word: "b" }] };
  assert.deepEqual(unfoundNumbers("2.4 more, 2 of 3 shoes are a", result), []);
  assert.equal(unfoundNumbers("2.5 more", result).length, 1);
  assert.equal(unfoundNumbers("4 of 3 shoes", result).length, 1);
  assert.deepEqual(unfoundNumbers("Model 7 on 2026-01-09", result, { names: ["Model 7"] }), []);
});
