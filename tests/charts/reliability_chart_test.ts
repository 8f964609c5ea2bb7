import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { mdcChart } from "../../lib/charts/mdc_chart.ts";
import { reliabilityChart } from "../../lib/charts/reliability_chart.ts";
import { estimate, inventedReliability, nothing } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const result = { metrics: inventedReliability(), confidence: 0.95 };

for (
  const [name, chart] of [["reliabilityChart", reliabilityChart], ["mdcChart", mdcChart]] as const
) {
  for (const width of [340, 360, 640, 1000]) {
    Deno.test(`${name}() keeps eleven metrics legible at ${width} px`, () => {
      assert.deepEqual(chartFaults(chart(result, { width, invented: true })), []);
    });
  }

  Deno.test(`${name}() says 'no estimate' and why, instead of drawing one`, () => {
    const words = textBoxes(chart(result)).map(({ text }) => text);
    assert.ok(
      words.some((text) => text.includes("no estimate: no shoe was read twice")),
    );
  });

  Deno.test(`${name}() says in words that there is no metric, and draws one metric`, () => {
    const empty = chart({ metrics: [], confidence: 0.95 });
    assert.deepEqual(textBoxes(empty).map(({ text }) => text), [
      "No metric to judge: the bench has no trials yet.",
    ]);
    const one = { metrics: result.metrics.slice(9, 10), confidence: 0.95 };
    assert.deepEqual(chartFaults(chart(one, { width: 340 })), []);
  });

  Deno.test(`${name}() keeps a long title inside and inert`, () => {
    const title = `<b>&"${"Outsole abrasion depth ".repeat(6)}`;
    const metrics = result.metrics.map((metric) => ({ ...metric, title }));
    assert.deepEqual(chartFaults(chart({ metrics, confidence: 0.95 }, { width: 340 })), []);
  });

  Deno.test(`${name}() draws limits out of range as an arrowhead at the edge`, () => {
    const wild = estimate(0.2, -3, 7);
    const metrics = result.metrics.map((metric) => ({
      ...metric,
      icc_single: wild,
      icc_mean: wild,
      mdc: { single: wild, mean: estimate(900, 800, 2000), mean_across_sessions: wild },
    }));
    const drawn = chart({ metrics, confidence: 0.95 });
    assert.deepEqual(chartFaults(drawn), []);
    assert.match(drawn.outerHTML, /rotate\(90\)/);
  });
}

Deno.test("reliabilityChart() states each verdict beside its metric and in the alt text", () => {
  const chart = reliabilityChart(result);
  const words = textBoxes(chart).map(({ text }) => text);
  for (const { title, verdict } of result.metrics) {
    const row = textBoxes(chart).find(({ text }) => text === title)!;
    const beside = textBoxes(chart).filter(({ text, top, bottom }) =>
      text === verdict && top < row.bottom && bottom > row.top
    );
    assert.equal(beside.length, 1, title);
    assert.ok(words.includes(verdict));
  }
  const ranking = result.metrics.filter(({ verdict }) => verdict === "fit to rank single shoes");
  assert.ok(
    chartAlt(chart).startsWith(`${ranking.length} of 11 metrics are fit to rank single shoes.`),
  );
});

Deno.test("reliabilityChart() puts the dot where the scale says", () => {
  const [metric] = result.metrics;
  const at = (value: number) => {
    const chart = reliabilityChart({
      metrics: [{
        ...metric,
        icc_mean: estimate(value, value, value),
        icc_single: nothing({ code: "no-fit" }),
      }],
      confidence: 0.95,
    }, { width: 640 });
    return Number([...chart.querySelectorAll("circle")].at(-1)!.getAttribute("cx"));
  };
  // 640 px less two margins of 16 and two of 10 leave 588 for 0 to 1.
  assert.ok(Math.abs(at(0.75) - at(0.25) - 588 / 2) < 0.02);
});

Deno.test("mdcChart() gives the MDC in the metric's unit beside the range of the shoes", () => {
  const [metric] = result.metrics;
  const metrics = [{
    ...metric,
    mdc: {
      ...metric.mdc,
      mean: estimate(0.9, 0.8, 1.1),
      mean_across_sessions: nothing({ code: "no-fit" }),
    },
  }];
  const chart = mdcChart({ metrics, confidence: 0.95 });
  assert.ok(
    textBoxes(chart).some(({ text }) =>
      text === "MDC 0.90 cm in one session, shoes 22.0 to 31.0 cm"
    ),
  );
  assert.match(chartAlt(chart), /Heel rebound height MDC 0\.90 cm/);
});
