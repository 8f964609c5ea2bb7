import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { inventedPairs } from "./invented_results.ts";
import { textBoxes } from "./text_boxes.ts";

Deno.test("predictionGridChart() does not count a computed metric as further evidence", () => {
  const pairs = inventedPairs();
  const first = pairs.filter(({ metric }) => metric === pairs[0].metric);
  const copies = first.map((pair) => ({
    ...pair,
    metric: "computed",
    metric_title: "Computed",
    derived_from: pair.metric,
  }));
  const counted = (chart: ReturnType<typeof predictionGridChart>) =>
    /Of \d+ pairs [^:.]*/.exec(chartAlt(chart))?.[0];
  assert.notEqual(counted(predictionGridChart(pairs)), undefined);
  assert.equal(
    counted(predictionGridChart([...pairs, ...copies])),
    counted(predictionGridChart(pairs)),
  );
});

Deno.test("predictionGridChart() gives a metric that says nothing a stronger one doesn't a mark and a word of its own", () => {
  const pairs = inventedPairs();
  const [first, ...others] = pairs.filter(({ claim }) => claim === "predicts");
  assert.ok(others.length > 0);
  const along = pairs.map((pair) =>
    pair === first
      ? {
        ...pair,
        goes_with: { metric: others[0].metric, metric_title: others[0].metric_title },
      } as typeof pair
      : pair
  );
  const count = (drawn: typeof pairs, word: string) =>
    textBoxes(predictionGridChart(drawn, { width: 640 })).filter(({ text }) => text === word)
      .length;
  assert.equal(count(along, "predicts"), count(pairs, "predicts") - 1);
  assert.deepEqual([count(along, "goes with"), count(along, "goes with a stronger one")], [1, 1]);
  assert.deepEqual([count(pairs, "goes with"), count(pairs, "goes with a stronger one")], [0, 0]);
});
