import assert from "node:assert/strict";
import { intraclassCorrelation } from "../../lib/statistics/intraclass_correlation.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { varianceComponentIntervals } from "../../lib/statistics/variance_component_intervals.ts";
import { varianceComponents } from "../../lib/statistics/variance_components.ts";
import { sayReason } from "../../lib/words/reasons.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns } from "./outside_reference.ts";

function data(path: string, terms: string[]) {
  const { value, ...factors } = csvColumns(path);
  return { value: value.map(Number), factors, terms };
}

Deno.test("varianceComponentIntervals() on a balanced one-way layout gives Williams', chi-squared and F limits", () => {
  const rail = data("data/rail.csv", ["rail"]);
  const { components, shares } = varianceComponentIntervals(rail);
  // Mean squares 1862.1 and 16.1667 with 5 and 12 degrees of freedom; R 4.2.2:
  // SSB*(1 - qf(.975,5,12)/F)/(3*qchisq(.975,5)), SSB*(1 - qf(.025,5,12)/F)/(3*qchisq(.025,5)),
  // SSW/qchisq(c(.975,.025),12)
  assertClose(components.rail.lower, 233.676609540923, { relative: 1e-9 });
  assertClose(components.rail.upper, 3728.73796231556, { relative: 1e-9 });
  assertClose(components.residual.lower, 8.31309902225811, { relative: 1e-9 });
  assertClose(components.residual.upper, 44.052978405397, { relative: 1e-9 });
  const table = [...new Set(rail.factors.rail)].map((id) =>
    rail.value.filter((_, i) => rail.factors.rail[i] === id)
  );
  const icc = intraclassCorrelation(table, { form: "ICC(1,1)" });
  assertClose(shares.rail.estimate, icc.estimate!, { relative: 1e-9 });
  assertClose(shares.rail.lower, icc.lower!, { relative: 1e-9 });
  assertClose(shares.rail.upper, icc.upper!, { relative: 1e-9 });
});

Deno.test("varianceComponentIntervals() by bootstrap comes close to the exact limits where both exist", () => {
  // Thirty shoes read five times; one reading moved to a shoe of its own makes the layout unbalanced.
  const random = randomStream(3);
  const value: number[] = [];
  const shoe: string[] = [];
  for (let s = 0; s < 30; s++) {
    const level = 2 * random.normal();
    for (let t = 0; t < 5; t++) {
      value.push(level + random.normal());
      shoe.push(`s${s}`);
    }
  }
  const exact = varianceComponentIntervals({ value, factors: { shoe }, terms: ["shoe"] });
  const nearly = varianceComponentIntervals(
    { value: value.slice(1), factors: { shoe: shoe.slice(1) }, terms: ["shoe"] },
    { draws: 4000 },
  );
  assert.match(nearly.components.shoe.method, /bootstrap/);
  for (const name of ["shoe", "residual"]) {
    for (const key of ["lower", "upper"] as const) {
      assertClose(nearly.components[name][key], exact.components[name][key]!, { relative: 0.06 });
      assertClose(nearly.shares[name][key], exact.shares[name][key]!, { relative: 0.06 });
    }
  }
});

Deno.test("varianceComponentIntervals() gives a boundary component a limit above 0 and none below", () => {
  const gauge = data("data/gauge-20x3x2.csv", ["part", "operator", "part:operator"]);
  const { components, shares } = varianceComponentIntervals(gauge);
  const { estimate, lower, upper, warnings } = components["part:operator"];
  assert.deepEqual([estimate, lower], [0, 0]);
  assert.ok(upper! > 0.01 && upper! < 1);
  assert.match(sayReason(warnings[0]), /boundary/);
  assert.ok(shares.part.lower! > 0.75 && shares.part.upper! <= 1);
  const one = varianceComponentIntervals(data("data/dyestuff2.csv", ["batch"]));
  assert.deepEqual([one.components.batch.estimate, one.components.batch.lower], [0, 0]);
  assert.ok(one.components.batch.upper! > 1);
});

Deno.test("varianceComponentIntervals() brackets every estimate, repeats by its seed, and scales with the unit", () => {
  const made = data("../unbalanced-mixed.csv", ["shoe", "operator", "session", "shoe:session"]);
  const run = (seed: number, scale = 1) =>
    varianceComponentIntervals({ ...made, value: made.value.map((v) => scale * v) }, {
      seed,
      draws: 300,
    });
  const first = run(1);
  assert.deepEqual(first, run(1));
  assert.notDeepEqual(first, run(2));
  const { components } = varianceComponents(made);
  for (const [name, found] of Object.entries(first.components)) {
    assertClose(found.estimate, components[name]!, { relative: 1e-9 });
    assert.ok(found.lower! <= found.estimate!);
    if (found.upper !== null) assert.ok(found.estimate! <= found.upper);
    assertClose(run(1, 10).components[name].lower, 100 * found.lower!, { relative: 1e-6 });
    const share = first.shares[name];
    assert.ok(0 <= share.lower! && share.lower! <= share.estimate!);
    assert.ok(share.estimate! <= share.upper! && share.upper! <= 1);
  }
});

Deno.test("varianceComponentIntervals() gives a reason where there is no estimate", () => {
  const shoe = ["a", "a", "b", "b"];
  for (const value of [[1, 1, 1, 1], [1, 1, 2, 2]]) {
    const { components } = varianceComponentIntervals({
      value,
      factors: { shoe },
      terms: ["shoe"],
    });
    assert.equal(components.shoe.estimate, null);
    assert.match(sayReason(components.shoe.estimate_reason!), /readings/);
  }
  assert.throws(
    () => varianceComponentIntervals({ value: [1, 2], factors: {}, terms: [] }, { draws: -1 }),
    { name: "RangeError", message: /-1/ },
  );
});
