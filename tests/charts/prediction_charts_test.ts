import assert from "node:assert/strict";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { predictionScatterChart } from "../../lib/charts/prediction_scatter_chart.ts";
import { inventedPair, inventedPairs, nothing, shoeNames } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const pairs = inventedPairs();

for (const width of [340, 360, 640, 1000]) {
  Deno.test(`predictionGridChart() keeps 55 pairs legible at ${width} px`, () => {
    const chart = predictionGridChart(pairs, { width, invented: true });
    assert.deepEqual(chartFaults(chart), []);
  });

  Deno.test(`predictionScatterChart() keeps its names apart at ${width} px`, () => {
    for (const shoes of [1, 2, 8, 45]) {
      const pair = inventedPair(0, 1, { shoes });
      const names = shoeNames(shoes).map(({ shoe_id }) => shoe_id);
      assert.deepEqual(chartFaults(predictionScatterChart(pair, { width })), []);
      assert.deepEqual(chartFaults(predictionScatterChart(pair, { width, names })), []);
    }
  });
}

Deno.test("predictionGridChart() writes each claim as often as it was made, wide and narrow", () => {
  for (const width of [360, 640]) {
    const words = textBoxes(predictionGridChart(pairs, { width })).map(({ text }) => text);
    for (const claim of ["predicts", "hint", "no sign of it", "can't tell"]) {
      const made = pairs.filter((pair) =>
        pair.claim === claim && pair.spearman.estimate !== null
      ).length;
      // Once more in the key.
      assert.equal(words.filter((word) => word === claim).length, made + 1, `${claim} at ${width}`);
    }
    assert.equal(words.filter((word) => word === "no estimate").length, 1);
  }
});

Deno.test("predictionGridChart() counts the claims in its alt text and names those that predict", () => {
  const alt = chartAlt(predictionGridChart(pairs));
  const predicts = pairs.filter(({ claim }) => claim === "predicts");
  assert.ok(
    alt.startsWith(`Of 55 pairs of a metric and an impression, ${predicts.length} predict:`),
  );
  for (const { metric_title } of predicts) assert.ok(alt.includes(metric_title));
});

Deno.test("prediction charts say in words that there is nothing", () => {
  const [line] = textBoxes(predictionGridChart([]));
  assert.match(line.text, /no shoe has both/);
  const empty = {
    ...pairs[0],
    points: [],
    spearman: nothing({
      code: "too-few-with-both",
      needed: 3,
      found: 0,
      metric: "mass",
      attribute: "speed",
    }),
    n: 0,
  };
  assert.match(textBoxes(predictionScatterChart(empty))[0].text, /No shoe has both/);
  assert.deepEqual(chartFaults(predictionGridChart([empty], { width: 340 })), []);
});

Deno.test("predictionScatterChart() draws no estimate as words, and equal values without a fault", () => {
  const pair = inventedPair(0, 1, { shoes: 6 });
  const points = pair.points.map((point) => ({
    ...point,
    metric_value: 5,
    panel_value: 3,
    panel_low: 3,
    panel_high: 3,
  }));
  const flat = {
    ...pair,
    points,
    spearman: nothing({
      code: "constant-pair",
      which: "x",
      shoes: 5,
      metric: "mass",
      attribute: "speed",
    }),
  };
  const chart = predictionScatterChart(flat);
  assert.deepEqual(chartFaults(chart), []);
  assert.ok(textBoxes(chart).some(({ text }) => text.startsWith("no estimate: all 5 shoes")));
  assert.match(chartAlt(chart), /no rank correlation \(all 5 shoes read the same on mass\)/);
});

Deno.test("predictionScatterChart() names the shoe that matters and few of those furthest out", () => {
  const pair = inventedPair(0, 1);
  const words = textBoxes(predictionScatterChart(pair)).map(({ text }) => text);
  const names = new Set(pair.points.map(({ name }) => name));
  const shown = words.filter((word) => names.has(word)).length;
  assert.ok(shown >= 4 && shown <= 9, `${shown} named`);
  const influential = pair.points.find(({ shoe_id }) => shoe_id === pair.influence.shoe_id)!;
  assert.ok(words.includes(influential.name));
});

Deno.test("prediction charts keep hostile and long names inert and inside", () => {
  const title = `<b>&"${"Static friction ".repeat(5)}`;
  const hostile = pairs.map((pair) => ({
    ...pair,
    metric_title: `${title}${pair.metric}`,
    attribute_title: `<i>${pair.attribute_title} after a long and tiring match`,
    points: pair.points.map((point) => ({ ...point, name: `<b>${point.name} ${title}` })),
  }));
  for (const width of [340, 640]) {
    const charts = [
      predictionGridChart(hostile, { width }),
      predictionScatterChart(hostile[0], { width }),
    ];
    for (const chart of charts) {
      assert.deepEqual(chartFaults(chart), []);
      assert.doesNotMatch(chartSvg(chart), /<b>|<i>/);
    }
  }
});
