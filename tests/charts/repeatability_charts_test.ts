import assert from "node:assert/strict";
import { assertClose } from "../assert_close.ts";
import { componentsChart } from "../../lib/charts/components_chart.ts";
import { dividedShoesChart } from "../../lib/charts/divided_shoes_chart.ts";
import type { SvgElement } from "../../lib/charts/draw.ts";
import { driftChart } from "../../lib/charts/drift_chart.ts";
import { driftRatesChart } from "../../lib/charts/drift_rates_chart.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { leniencyChart } from "../../lib/charts/leniency_chart.ts";
import { orderEffectChart } from "../../lib/charts/order_effect_chart.ts";
import { pairedSourcesChart } from "../../lib/charts/paired_sources_chart.ts";
import { panelAgreementChart } from "../../lib/charts/panel_agreement_chart.ts";
import type { ChartOptions } from "../../lib/charts/theme.ts";
import { trialDotsChart } from "../../lib/charts/trial_dots_chart.ts";
import { trialsNeededChart } from "../../lib/charts/trials_needed_chart.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { metricTrials } from "../../lib/studies/repeatability/metric_trials.ts";
import { orderProfile } from "../../lib/studies/repeatability/order_profile.ts";
import { pairedSources } from "../../lib/studies/repeatability/paired_sources.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { trialsCurve } from "../../lib/studies/repeatability/trials_curve.ts";
import { smallBench } from "../studies/small_bench.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

/** Every chart of these studies for one metric of a bench. */
function allCharts(
  bench: Bench,
  metric: string,
): Record<string, (options: ChartOptions) => SvgElement> {
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const drift = referenceDrift(bench);
  const panel = panelAgreement(bench, { seed: 1, resamples: 100 });
  const attribute = panel.attributes.at(-3) ??
    { title: "Feel", use: [], divided: [] };
  const study = reliability.metrics.find((one) => one.metric === metric)!;
  return {
    trialDotsChart: (o) => trialDotsChart(metricTrials(bench, reliability, metric), o),
    componentsChart: (o) => componentsChart(study, o),
    orderEffectChart: (o) => orderEffectChart(orderProfile(bench, reliability, metric), o),
    trialsNeededChart: (o) => trialsNeededChart(trialsCurve(reliability, metric), o),
    "trialsNeededChart of the MDC": (o) =>
      trialsNeededChart(trialsCurve(reliability, metric), { ...o, of: "mdc" }),
    pairedSourcesChart: (o) =>
      pairedSourcesChart(pairedSources(bench, metric, { by: "operator" }), o),
    "pairedSourcesChart of rigs": (o) =>
      pairedSourcesChart(pairedSources(bench, metric, { by: "rig" }), o),
    driftChart: (o) => driftChart(drift, { ...o, metric }),
    driftRatesChart: (o) => driftRatesChart(drift, o),
    panelAgreementChart: (o) => panelAgreementChart(panel, o),
    leniencyChart: (o) => leniencyChart(attribute, o),
    dividedShoesChart: (o) => dividedShoesChart(attribute, o),
  };
}

const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const tilt = allCharts(demo, "tilt-slip-dry");
const wear = allCharts(demo, "outsole-wear");

for (const name of Object.keys(tilt)) {
  for (const width of [340, 390, 640, 1000]) {
    Deno.test(`${name} of the demo is legible at ${width} px`, () => {
      for (const charts of [tilt, wear]) {
        assert.deepEqual(
          chartFaults(charts[name]({ width, invented: true, provenance: "demo" })),
          [],
        );
      }
    });
  }
}

const long = `<b>&"${"Height over the heel ".repeat(5)}`;
const benches: Record<string, Bench> = {
  "an empty bench": smallBench([], { references: ["a"] }),
  "one trial of one shoe": smallBench([{ shoe: "a", session: "s", values: [3] }], {
    references: ["a"],
    ratings: [["t", "a", 5]],
  }),
  "constant readings and a long title": smallBench(
    ["a", "b", "c"].flatMap((shoe) => [
      { shoe, session: "s", rig: "one", values: [7, 7] },
      { shoe, session: "t", rig: "two", operator: "two", values: [7, 7] },
    ]),
    { references: ["a"], about: { title: long }, ratings: [["t", "a", 5], ["u", "a", 5]] },
  ),
  "a long title and names": smallBench(
    Array.from({ length: 6 }, (_, s) =>
      ["one", "two"].map((session, i) => ({
        shoe: `${"Long Name ".repeat(6)}${s}`,
        session,
        operator: `${"operator ".repeat(4)}${i}`,
        rig: `${"rig ".repeat(8)}${i}`,
        values: [10 + s, 10.4 + s + 0.1 * i, 9.9 + s],
      }))).flat(),
    {
      references: [`${"Long Name ".repeat(6)}0`, `${"Long Name ".repeat(6)}1`],
      about: { title: long },
    },
  ),
};
for (const [name, bench] of Object.entries(benches)) {
  Deno.test(`every chart of ${name} is legible at 340 px and says what is missing`, () => {
    for (const [chart, draw] of Object.entries(allCharts(bench, "height"))) {
      const drawn = draw({ width: 340 });
      assert.deepEqual(chartFaults(drawn), [], chart);
      assert.ok(chartAlt(drawn).length > 20, chart);
      assert.ok(textBoxes(drawn).length > 0, chart);
    }
  });
}

Deno.test("trialDotsChart() names the line of the flagged trial, in words and in the picture", () => {
  const chart = tilt.trialDotsChart({});
  assert.ok(textBoxes(chart).some(({ text }) => text === "line 2210"));
  assert.match(chartAlt(chart), /1 trial stands out/);
});

Deno.test("driftChart() shows the metric that drifts when none is asked for", () => {
  assert.match(chartAlt(driftChart(referenceDrift(demo))), /Heel rebound on bench-b falls/);
});

Deno.test("driftChart() draws every panel on one scale: limits twice as far apart lie twice as far apart", () => {
  const drift = referenceDrift(demo);
  const svg = driftChart(drift, { metric: "heel-rebound" });
  const ys = [...svg.querySelectorAll('[aria-label="rule"][stroke-dasharray] line')].map((line) =>
    Number(line.getAttribute("y1"))
  );
  const panels = drift.charts.filter(({ metric }) => metric === "heel-rebound");
  assert.equal(ys.length, 2 * panels.length);
  const perCm = panels.map(({ lower, upper }, index) =>
    Math.abs(ys[2 * index] - ys[2 * index + 1]) / (upper! - lower!)
  );
  assert.ok(panels.length === 4 && perCm[0] > 5);
  for (const scale of perCm) assertClose(scale, perCm[0], { within: 0.01 });
});

Deno.test("driftChart() says why a visit inside the limits is a signal, where there is one", () => {
  const drift = referenceDrift(demo);
  assert.match(
    driftChart(drift, { metric: "heel-rebound" }).textContent!.replace(/\s+/g, " "),
    /8 signals lie inside the limits: a jump from the visit before/,
  );
});

Deno.test("the same result gives the same picture", () => {
  for (const draw of Object.values(tilt)) assert.equal(draw({}).outerHTML, draw({}).outerHTML);
});
