import assert from "node:assert/strict";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { coverageChart } from "../../lib/charts/coverage_chart.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { inventedCoverage } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";
import { coverageSentence } from "../../lib/words/coverage/coverage_sentence.ts";

for (const width of [340, 360, 640, 1000]) {
  Deno.test(`coverageChart() keeps 45 shoes and 11 metrics legible at ${width} px`, () => {
    const chart = coverageChart(inventedCoverage(), { width, invented: true });
    assert.deepEqual(chartFaults(chart), []);
  });
}

Deno.test("coverageChart() gives each state a shape of its own", () => {
  const chart = coverageChart(inventedCoverage());
  const [group] = [...chart.querySelectorAll("g")].filter((element) =>
    [...element.childNodes].length === 45 * 11
  );
  const shapes = new Map<string, number>();
  for (const mark of group.querySelectorAll("path")) {
    const shape = `${mark.getAttribute("d")} ${mark.getAttribute("fill") === "none"}`;
    shapes.set(shape, (shapes.get(shape) ?? 0) + 1);
  }
  const { cells } = inventedCoverage();
  const counts = [...Map.groupBy(cells, ({ state }) => state).values()].map(({ length }) => length);
  assert.deepEqual([...shapes.values()].sort(), counts.sort());
});

Deno.test("coverageChart() says in its alt text what was added and how much is missing", () => {
  const coverage = inventedCoverage();
  const alt = chartAlt(coverageChart(coverage));
  assert.ok(alt.startsWith(coverageSentence(coverage)));
  assert.ok(alt.includes(`${coverage.totals.cells_missing} cells are missing`));
});

Deno.test("coverageChart() says in words that there is nothing, and draws one shoe", () => {
  const empty = inventedCoverage(0);
  assert.deepEqual(textBoxes(coverageChart(empty)).map(({ text }) => text), [
    "Nothing to show: the bench has no shoes yet.",
  ]);
  assert.deepEqual(chartFaults(coverageChart(inventedCoverage(1), { width: 340 })), []);
});

Deno.test("coverageChart() keeps names inert, apart and inside at any length", () => {
  const coverage = inventedCoverage(4);
  const shoes = coverage.shoes.map((shoe, index) => ({
    ...shoe,
    name: `<b>&"${"Courtside Comfort ".repeat(5)}${index}`,
  }));
  const metrics = coverage.metrics.map((metric) => ({
    ...metric,
    title: `<i>${metric.title} measured again and again`,
  }));
  const chart = coverageChart({ ...coverage, shoes, metrics }, { width: 340 });
  assert.deepEqual(chartFaults(chart), []);
  assert.doesNotMatch(chartSvg(chart), /<b>|<i>/);
  const names = textBoxes(chart).map(({ text }) => text).filter((text) => text.includes("<b"));
  assert.equal(new Set(names).size, 4);
});
