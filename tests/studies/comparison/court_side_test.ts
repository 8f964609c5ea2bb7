import assert from "node:assert/strict";
import { courtSide } from "../../../lib/studies/comparison/court_side.ts";
import { panelValues } from "../../../lib/studies/panel/panel_values.ts";
import { askedShoes } from "../../../lib/studies/shoes/asked_shoes.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const ratings = [[7, 5, 8], [8, 4, 7], [6, 6, 9], [9, 5, 8]].flatMap((row, t) =>
  row.map((rating, s) => [`t${t}`, `s${s}`, rating] as const)
);
const bench = smallBench([], { ratings });

// Quantiles of the normal distribution as any handbook has them.
Deno.test("limits of a shoe on court lie 1.96 standard errors about its value at 95%, 1.645 at 90%", () => {
  const [attribute] = bench.settings.attributes;
  const shoes = askedShoes(bench, ["s0", "s1", "s2"]);
  const panel = panelValues(bench, attribute.id);
  for (const [confidence, quantile] of [[0.95, 1.959964], [0.9, 1.644854]] as const) {
    const { values } = courtSide(bench, attribute, { shoes, confidence });
    assert.equal(values.length, 3);
    for (const { shoe_id, value } of values) {
      const error = panel.shoes.find((row) => row.shoe_id === shoe_id)!.standard_error!;
      assert.ok(error > 0);
      assertClose((value.upper! - value.lower!) / 2, quantile * error, { relative: 1e-6 });
      assertClose((value.upper! + value.lower!) / 2, value.estimate!, { relative: 1e-12 });
    }
  }
});

// Everybody rated every shoe, so that nobody's leniency moves a mean: 7.5, 5 and 8.
Deno.test("shoes that all testers rated have their mean ratings as values, with the count of ratings and testers", () => {
  const [attribute] = bench.settings.attributes;
  const shoes = askedShoes(bench, ["s0", "s1", "s2"]);
  const { values } = courtSide(bench, attribute, { shoes, confidence: 0.95 });
  [7.5, 5, 8].forEach((mean, s) => assertClose(values[s].value.estimate, mean, { within: 1e-9 }));
  assert.deepEqual(values.map(({ readings, occasions }) => [readings, occasions]), [
    [4, 4],
    [4, 4],
    [4, 4],
  ]);
});
