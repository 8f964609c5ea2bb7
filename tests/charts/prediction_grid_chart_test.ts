import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { predictionGridChart } from "../../lib/charts/prediction_grid_chart.ts";
import { inventedPairs } from "./invented_results.ts";

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
