import assert from "node:assert/strict";
import { predictionScatterChart } from "../../../lib/charts/prediction_scatter_chart.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { courtPrediction } from "../../../lib/studies/prediction/court_prediction.ts";
import { boundedShoes } from "../../../lib/studies/shoes/published_visits.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { sayWarning } from "../../../lib/words/reasons.ts";
import { assertClose } from "../../assert_close.ts";
import { boundedBench } from "../../benchmarks/bounded_values.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { smallBench } from "../small_bench.ts";

const quick = { resamples: 400, permutations: 400, modelResamples: 100 };

/** Twenty-four shoes whose wear goes with what three testers feel, a third of them below 1.5 mm. */
function feltBench(bound: number): Bench {
  const { bench, truth } = boundedBench(9, { bound });
  const normal = ownNormals(77);
  const ratings = [...truth].flatMap(([shoe, wear]) =>
    ["a", "b", "c"].map((tester) =>
      [
        tester,
        shoe,
        Math.min(10, Math.max(1, Math.round(8 - 1.5 * wear + 0.7 * normal()))),
      ] as const
    )
  );
  const felt = smallBench([], { ratings });
  return {
    ...bench,
    settings: { ...bench.settings, attributes: felt.settings.attributes },
    impressions: felt.impressions,
  };
}

const bench = feltBench(1.5);
const beyond = boundedShoes(bench, "height");
const study = courtPrediction(bench, quick);
const [pair] = study.pairs;

Deno.test("a correlation counts shoes known by a bound, models leave them out, and a warning says both", () => {
  assert.ok(beyond.length >= 5);
  assert.equal(pair.n, 24);
  assert.equal(pair.points.filter(({ bound }) => bound !== undefined).length, beyond.length);
  assert.ok(
    study.warnings.map(sayWarning).some((text) =>
      text.startsWith(`${beyond.length} of 24 shoes ran off the end of the scale of height`)
    ),
  );
  const svg = predictionScatterChart(pair).outerHTML;
  assert.ok(svg.includes(`Arrows: ${beyond.length} shoes that ran off the end of the scale`));
});

testInR(
  "the rank correlation with bounded shoes is R's over ranks by what each is surely above and below",
  () => {
    const values = new Map(
      shoeValues(bench, "height", null).map((row) => [row.shoe_id, row.value]),
    );
    const ends = pair.points.map(({ shoe_id }) => {
      const bound = beyond.find((row) => row.shoe_id === shoe_id)?.bound as
        | { readonly below: number }
        | undefined;
      const value = values.get(shoe_id) ?? null;
      return { low: value ?? -1e9, high: value ?? bound!.below };
    });
    // Surely above: lowest possible at least as high as the other's highest. Two bounds: neither.
    const [[rho]] = inR(`low <- ${rVector(ends.map(({ low }) => low))}
    high <- ${rVector(ends.map(({ high }) => high))}
    above <- outer(low, high, ">=")
    r <- rowSums(above) - colSums(above)
    out(cor(rank(r), rank(${rVector(pair.points.map(({ panel_value }) => panel_value))})))`);
    assertClose(pair.spearman.estimate, rho, { within: 1e-9 });
  },
);

Deno.test("readings and bounds halved alike leave the correlation, its p and its claim as they were", () => {
  const halved = {
    ...bench,
    trials: bench.trials.map((trial) => ({
      ...trial,
      value: trial.value === null ? null : trial.value / 2,
      bound: trial.bound === null
        ? null
        : { below: (trial.bound as { readonly below: number }).below / 2 },
    })),
  };
  const [same] = courtPrediction(halved, quick).pairs;
  assertClose(same.spearman.estimate, pair.spearman.estimate!, { within: 1e-12 });
  assert.deepEqual([same.p, same.claim], [pair.p, pair.claim]);
});
