import assert from "node:assert/strict";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { indexRecalibration } from "../../lib/studies/index/index_recalibration.ts";
import { indexScores } from "../../lib/studies/index/index_scores.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { unfitWeights } from "../../lib/studies/proposal/proposals_on_file.ts";
import { ruleProposal } from "../../lib/studies/proposal/rule_proposal.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { uncertaintyBudget } from "../../lib/studies/budget/uncertainty_budget.ts";
import type { CourtPrediction, UnsettledPair } from "../../lib/studies/prediction/types.ts";
import * as words from "../../lib/words/mod.ts";
import { namesIn, unfoundNumbers } from "./numbers_in_words.ts";
import { misplacedNumbers, namesOfThings } from "./numbers_of_what.ts";

/**
 * The markdown that the notebooks write, apart from the review's and the answers': each number in it is found in
 * the result that it is about, in a row of the metric, impression or shoe that its sentence names. Cells with text of
 * their own are no claims.
 */
const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const few = demo.shoes.filter(({ maker }) => maker === "Pavrico" || maker === "Tolmeck").slice(0, 8)
  .map(({ shoe_id }) => shoe_id);
const ofFew = <Row extends { readonly shoe_id: string }>(rows: readonly Row[]) =>
  rows.filter(({ shoe_id }) => few.includes(shoe_id));
const benches: Readonly<Record<string, Bench>> = {
  "the demo": demo,
  "eight shoes of it": {
    ...demo,
    shoes: ofFew(demo.shoes),
    trials: ofFew(demo.trials),
    impressions: ofFew(demo.impressions),
    features: ofFew(demo.features),
  },
};

type Said = readonly [about: string, text: string, result: unknown, also?: readonly number[]];

function saidIn(bench: Bench): readonly Said[] {
  const seed = 1;
  const reliability = trialReliability(bench, { seed, resamples: 100 });
  const drift = referenceDrift(bench);
  const panel = panelAgreement(bench, { seed, resamples: 100 });
  const prediction = courtPrediction(bench, {
    reliability,
    panel,
    seed,
    resamples: 200,
    permutations: 300,
  });
  const scores = indexScores(bench, { reliability, seed });
  const recalibration = indexRecalibration(bench, { reliability, scores, seed });
  const unfit = unfitWeights(bench.rules.at(-1)!, reliability.metrics);
  const shares = [true, false].map((bad) =>
    unfit.filter(({ verdict }) => (verdict === "not fit to publish") === bad)
      .reduce((sum, { share }) => sum + share, 0)
  );
  return [
    ...reliability.metrics.flatMap((study) => {
      const budget = uncertaintyBudget(bench, study.metric, { reliability, seed });
      return [
        ["trials", words.repeatability.summary(study, { drift }).markdown, [
          study,
          drift.rigs.filter(({ metric }) => metric === study.metric),
        ]],
        ["budget", words.budget.calibrations(budget).join(" "), budget],
        ["struck", words.budget.struck(budget), budget],
      ] as const;
    }),
    ["prediction", words.prediction.summary(prediction).markdown, toldOf(prediction)],
    ["grid", words.prediction.finding(prediction), prediction],
    ["repeatability", words.repeatability.finding(reliability.metrics), reliability],
    ["drift", words.drift.sentence(drift), drift],
    ["steps", words.drift.noSteps(drift), drift],
    ["panel", words.panel.finding(panel), panel],
    ["recalibration", words.index.recalibrationSummary(recalibration).markdown, recalibration],
    ["weights", words.index.recalibrationFinding(recalibration), recalibration],
    ["unfit", words.proposal.unfitSentence(unfit, bench.rules.at(-1)!), unfit, shares],
    ...bench.proposals.flatMap((proposal) => {
      const verdict = ruleProposal(bench, proposal, { reliability, seed });
      return [
        ["proposal", words.proposal.summary(verdict).markdown, [verdict, proposal]],
        ...Object.values(words.proposal.paragraphs(bench, verdict))
          .filter((text) => typeof text === "string")
          .map((text) => ["paragraph", text, [verdict, proposal]] as const),
      ] as const;
    }),
  ];
}

/** What words about predictions may quote: no shoe's point, no list of a correlation without each shoe. */
function toldOf(prediction: CourtPrediction): unknown {
  const plain = JSON.parse(JSON.stringify(
    prediction,
    (key, value) =>
      key === "points" ||
        Array.isArray(value) && value.length > 4 && value.every((one) => typeof one !== "object")
        ? undefined
        : value,
  ));
  return [plain, prediction.unsettled.map(inRoundNumbers)];
}

/** Numbers of shoes and lines as a plan writes them: two digits, rounded up. */
function inRoundNumbers(
  { metric, attribute, low, high, lines_low, lines_high }: UnsettledPair,
) {
  const up = (shoes: number | null) =>
    shoes === null || shoes < 100
      ? shoes
      : Math.ceil(shoes / 10 ** (String(Math.floor(shoes)).length - 2)) *
        10 ** (String(Math.floor(shoes)).length - 2);
  return { metric, attribute, round: [low, high, lines_low, lines_high].map(up) };
}

for (const [name, bench] of Object.entries(benches)) {
  Deno.test(`every number that a notebook's words say is one of the rows that its sentence names: ${name}`, () => {
    const names = namesIn(bench);
    const said = saidIn(bench);
    assert.ok(said.length > 30);
    const things = namesOfThings(bench);
    const wrong = said.flatMap(([about, text, result, also = []]) =>
      [
        ...unfoundNumbers(text, result, { names, also }),
        ...misplacedNumbers(text, result, things, also),
      ].map((at) => `${about}: …${at}…`)
    );
    assert.deepEqual([...new Set(wrong)], []);
    for (const [about, text] of said) {
      assert.doesNotMatch(
        text,
        /\b(?:NaN|null|undefined|Infinity)\b|\[object|\.\.(?!\.)| ,|\s\./,
        about,
      );
    }
  });
}

Deno.test("numbers that are three last digits off are noticed in most of these words", () => {
  const bench = benches["eight shoes of it"];
  const [names, things] = [namesIn(bench), namesOfThings(bench)];
  let [moved, noticed] = [0, 0];
  for (const [, text, result, also = []] of saidIn(bench)) {
    const off = text.replace(
      /(?<![\w.])\d+\.\d+(?![\w.])/g,
      (number) =>
        (Number(number) + 3 * 10 ** -number.split(".")[1].length)
          .toFixed(number.split(".")[1].length),
    );
    if (off === text) continue;
    moved++;
    if (
      unfoundNumbers(off, result, { names, also }).length > 0 ||
      misplacedNumbers(off, result, things, also).length > 0
    ) noticed++;
  }
  assert.ok(moved > 20 && noticed > 0.75 * moved, `${noticed} of ${moved}`);
});

Deno.test("most correlations told of another impression are noticed, though the result holds them", () => {
  const bench = benches["the demo"];
  const prediction = courtPrediction(bench, { seed: 1, resamples: 100, permutations: 300 });
  const result = toldOf(prediction);
  const [names, things] = [namesIn(bench), namesOfThings(bench)];
  const { know } = words.prediction.summary(prediction);
  const titles = bench.settings.attributes.map(({ title }) => title);
  let [swapped, noticed] = [0, 0];
  for (const line of know) {
    const own = titles.find((title) => line.startsWith(`${title} is predicted by `));
    if (own === undefined) continue;
    for (const other of titles.filter((title) => title !== own)) {
      const wrong: string = line.replace(own, other);
      assert.deepEqual(unfoundNumbers(wrong, result, { names }), []);
      swapped++;
      if (misplacedNumbers(wrong, result, things).length > 0) noticed++;
    }
  }
  assert.ok(swapped >= 10 && noticed > 0.5 * swapped, `${noticed} of ${swapped}`);
});
