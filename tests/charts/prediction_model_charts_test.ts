import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { predictionInfluenceChart } from "../../lib/charts/prediction_influence_chart.ts";
import { predictionModelChart } from "../../lib/charts/prediction_model_chart.ts";
import { predictionSharesChart } from "../../lib/charts/prediction_shares_chart.ts";
import {
  predictionAllSharesChart,
  predictionModelsChart,
  predictionScattersChart,
} from "../../lib/charts/prediction_stacks.ts";
import { shoesToSettleChart } from "../../lib/charts/shoes_to_settle_chart.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { claimedPairs, foretoldAttributes } from "../../lib/words/prediction/prediction_tables.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const bench = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const study = courtPrediction(bench, { resamples: 500, permutations: 500, modelResamples: 100 });
const claimed = claimedPairs(study);
const long = "A rather long and winding name of a metric or an impression <b>&";

for (const width of [340, 360, 640, 1000]) {
  Deno.test(`charts of models, influence and open pairs are without a fault at ${width} px`, () => {
    for (const attribute of study.attributes) {
      assert.deepEqual(chartFaults(predictionSharesChart(attribute, { width })), []);
      for (const model of ["ridge", "nnls"] as const) {
        assert.deepEqual(chartFaults(predictionModelChart(attribute, { width, model })), []);
      }
      const renamed = {
        title: long,
        model: {
          ...attribute.model!,
          shares: {
            ...attribute.model!.shares,
            metrics: attribute.model!.shares.metrics.map((row) => ({ ...row, title: long })),
          },
        },
      };
      assert.deepEqual(chartFaults(predictionSharesChart(renamed, { width })), []);
      assert.deepEqual(chartFaults(predictionModelChart(renamed, { width })), []);
    }
    const wordy = claimed.map((pair) => ({ ...pair, metric_title: long }));
    for (const pairs of [claimed, wordy, study.pairs]) {
      assert.deepEqual(chartFaults(predictionInfluenceChart(pairs, { width })), []);
    }
    assert.deepEqual(chartFaults(shoesToSettleChart(study, { width })), []);
    const renamed = {
      attributes: study.attributes.map((row) => ({ ...row, title: long })),
      unsettled: study.unsettled.map((row) => ({
        ...row,
        shoes: row.shoes === null ? null : row.shoes * 8,
      })),
    };
    assert.deepEqual(chartFaults(shoesToSettleChart(renamed, { width })), []);
    assert.deepEqual(chartFaults(predictionScattersChart(claimed, { width })), []);
    assert.deepEqual(chartFaults(predictionModelsChart(study.attributes, { width })), []);
    assert.deepEqual(chartFaults(predictionAllSharesChart(study.attributes, { width })), []);
  });
}

Deno.test("charts without anything to show say so in words", () => {
  const none = courtPrediction({ ...bench, trials: [], impressions: [] });
  const charts = [
    predictionInfluenceChart([]),
    predictionScattersChart([]),
    predictionSharesChart(none.attributes[0]),
    predictionModelChart(none.attributes[0]),
    predictionModelsChart(none.attributes),
    predictionAllSharesChart([]),
    shoesToSettleChart({ unsettled: [], attributes: [] }),
    shoesToSettleChart(none),
  ];
  for (const chart of charts) {
    assert.deepEqual(chartFaults(chart), []);
    assert.ok(textBoxes(chart).length > 0);
    assert.doesNotMatch(chartAlt(chart), /NaN|undefined|Infinity/);
  }
});

Deno.test("predictionInfluenceChart() names the shoe that moves each pair most", () => {
  const words = textBoxes(predictionInfluenceChart(claimed)).map(({ text }) => text).join("\n");
  for (const { influence, points } of claimed) {
    const { name } = points.find(({ shoe_id }) => shoe_id === influence.shoe_id)!;
    assert.ok(words.includes(`without ${name}`), name);
  }
  assert.match(
    chartAlt(predictionInfluenceChart(claimed)),
    new RegExp(`none of ${claimed.length} correlations turns its sign`),
  );
});

Deno.test("shoesToSettleChart() counts what each impression leaves open", () => {
  const words = textBoxes(shoesToSettleChart(study)).map(({ text }) => text);
  for (const { cannot_tell } of study.attributes) {
    assert.ok(words.includes(`${cannot_tell.length} open`));
  }
  assert.match(chartAlt(shoesToSettleChart(study)), /^\d+ pairs .* are open with 48 shoes/);
});

Deno.test("the stacks hold one chart for each thing there is to show", () => {
  const foretold = foretoldAttributes(study);
  assert.ok(foretold.length >= 2);
  const headings = textBoxes(predictionModelsChart(foretold)).map(({ text }) => text)
    .filter((text) => text.endsWith("foretold and felt"));
  assert.equal(headings.length, foretold.length);
});

Deno.test("stacked charts stand side by side where the width allows, and in no more than it", () => {
  const foretold = foretoldAttributes(study);
  const [narrow, wide] = [640, 960].map((width) => predictionModelsChart(foretold, { width }));
  const size = (chart: typeof narrow, name: string) => Number(chart.getAttribute(name));
  assert.equal(size(narrow, "width"), 640);
  assert.ok(size(wide, "width") <= 960 && size(wide, "width") > 900);
  assert.ok(size(wide, "height") < 0.65 * size(narrow, "height"));
  assert.deepEqual(chartFaults(wide), []);
});

Deno.test("predictionSharesChart() with few rows says how many metrics more there are, and how small", () => {
  const [attribute] = foretoldAttributes(study);
  const words = textBoxes(predictionSharesChart(attribute, { rows: 3 })).map(({ text }) => text);
  const { metrics } = attribute.model!.shares;
  assert.ok(words.includes(metrics[2].title) && !words.includes(metrics[3].title));
  const rest = `${metrics.length - 3} more metrics have ${
    Math.round(100 * metrics[3].share)
  }% or less each.`;
  assert.ok(words.join(" ").includes(rest), rest);
});
