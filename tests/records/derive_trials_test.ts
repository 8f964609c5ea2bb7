import assert from "node:assert/strict";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { assertClose } from "../assert_close.ts";
import { benchFolder, small } from "./bench_folder.ts";

const [rebound, mass] = small["metrics.json"];
const energy = {
  ...rebound,
  id: "heel-energy-return",
  unit: "%",
  plausible: { low: 5, high: 95 },
  derive: { from: rebound.id, by: "reboundEnergyReturn", with: { drop_height_cm: 100 } },
};
const atReference = {
  ...mass,
  id: "mass-at-reference",
  derive: { from: "mass", by: "massAtReferenceSize", with: { reference_size: 42 } },
};

async function says(changes: Record<string, unknown>): Promise<string[]> {
  await using folder = await benchFolder(changes);
  return (await inspectBench(folder.dir)).problems.map(problemInWords);
}

Deno.test("loadBench() appends a derived trial for each it comes from, in the derived metric's unit", async () => {
  await using folder = await benchFolder({ "metrics.json": [...small["metrics.json"], energy] });
  const { trials } = await loadBench(folder.dir);
  const derived = trials.filter(({ metric_id }) => metric_id === energy.id);
  assert.equal(derived.length, 3);
  assertClose(derived[0].value, 48.5, { within: 1e-12 }); // 48.5 cm of 100 cm, in %
  assertClose(derived[1].value, 48.1, { within: 1e-12 }); // given as 481 mm
  assert.equal(derived[2].value, null);
  assert.deepEqual(derived.map(({ line, given_unit }) => [line, given_unit]), [
    [2, "cm"],
    [3, "mm"],
    [4, "cm"],
  ]);
});

Deno.test("loadBench() takes a shoe's own size before the one in metrics.json, and warns where there is none", async () => {
  await using folder = await benchFolder({
    "metrics.json": [...small["metrics.json"], atReference],
    "shoes.csv": "shoe_id,maker,model,size\nalder,T,Alder,\nbirch,T,Birch,42\n",
    "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit,excluded\n" +
      "s1,birch,mass,1,300,g,\ns1,alder,mass,1,310,g,\ns2,birch,mass,1,320,g,wet\n",
  });
  const { trials, warnings } = await loadBench(folder.dir);
  const derived = trials.filter(({ metric_id }) => metric_id === atReference.id);
  assertClose(derived[0].value, 300, { within: 1e-9 }); // its size is the reference size
  assert.equal(derived[1].value, null);
  assert.equal(derived[2].excluded, "wet");
  assert.deepEqual(warnings.map(problemInWords), [
    'shoes.csv, column "size": found no size for alder, expected one, as mass-at-reference is computed with it. These shoes go without that metric.',
  ]);
});

Deno.test("loadBench() derives from a derived metric, whatever their order in the file", async () => {
  const tilt = { ...rebound, id: "tilt", unit: "deg", plausible: { low: 0, high: 90 } };
  const friction = {
    ...tilt,
    id: "friction",
    unit: "1",
    plausible: { low: 0, high: 3 },
    derive: { from: "tilt", by: "frictionFromTilt", with: {} },
  };
  const again = {
    ...tilt,
    id: "tilt-again",
    derive: { from: "friction", by: "tiltFromFriction", with: {} },
  };
  await using folder = await benchFolder({
    "metrics.json": [again, friction, tilt, ...small["metrics.json"]],
    "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit\ns1,birch,tilt,1,40,deg\n",
  });
  const { trials } = await loadBench(folder.dir);
  assertClose(trials.find(({ metric_id }) => metric_id === "friction")?.value, 0.83909963117728, {
    relative: 1e-12,
  }); // tan 40°
  assertClose(trials.find(({ metric_id }) => metric_id === "tilt-again")?.value, 40, {
    relative: 1e-12,
  });
});

Deno.test("inspectBench() places what is wrong with a derivation in metrics.json", async () => {
  const withDerive = (derive: unknown, more = {}) => ({
    "metrics.json": [...small["metrics.json"], { ...energy, ...more, derive }],
  });
  const { derive } = energy;
  assert.match(
    (await says(withDerive({ ...derive, by: "reboundEnergyReturns" })))[0],
    /^metrics\.json line \d+, at "heel-energy-return\.derive\.by": found "reboundEnergyReturns", expected a function of the metric library\. Write reboundEnergyReturn if that is meant/,
  );
  assert.match(
    (await says(withDerive({ ...derive, from: "rebound" })))[0],
    /derive\.from": found "rebound", expected a metric of metrics\.json/,
  );
  assert.match(
    (await says(withDerive({ ...derive, from: energy.id })))[0],
    /expected a metric that does not in turn come from this one/,
  );
  assert.match(
    (await says(withDerive({ ...derive, from: "mass" })))[0],
    /found mass in g, expected a metric of length, as reboundEnergyReturn takes rebound_height_cm/,
  );
  assert.match(
    (await says(withDerive({ ...derive, with: {} })))[0],
    /derive\.with\.drop_height_cm": found nothing, expected this constant\. It is the height the ball falls from/,
  );
  assert.match(
    (await says(withDerive({ ...derive, with: { drop_height_cm: "tall" } })))[0],
    /found "tall", expected a number/,
  );
  assert.match(
    (await says(withDerive({ ...derive, with: { drop_height_cm: 100, mood: 1 } })))[0],
    /derive\.with\.mood": found an unknown constant/,
  );
  assert.match(
    (await says(withDerive(derive, { unit: "N" })))[0],
    /heel-energy-return\.unit": found "N", expected a unit of number, as reboundEnergyReturn gives 1/,
  );
});

Deno.test("inspectBench() names the trial whose derived value cannot be or is not plausible", async () => {
  const found = await says({
    "metrics.json": [...small["metrics.json"], {
      ...energy,
      plausible: { low: 5, high: 48.2 },
      derive: { ...energy.derive, with: { drop_height_cm: 60 } },
    }],
    "trials.csv":
      "session_id,shoe_id,metric_id,trial,value,unit\ns1,birch,heel-rebound-height,1,70,cm\ns1,birch,heel-rebound-height,2,30,cm\n",
  });
  assert.equal(found.length, 2);
  assert.match(
    found[0],
    /^trials\.csv line 2, column "value": found "70 cm", expected a reading that heel-energy-return can be computed from/,
  );
  assert.match(
    found[1],
    /^trials\.csv line 3, column "value": found "30 cm", which makes heel-energy-return of 50 %, expected a reading that heel-energy-return can be computed from \(5 to 48\.2 is plausible\)/,
  );
});

Deno.test("inspectBench() refuses readings of a metric that is computed", async () => {
  const [first] = await says({
    "metrics.json": [...small["metrics.json"], energy],
    "trials.csv":
      "session_id,shoe_id,metric_id,trial,value,unit\ns1,birch,heel-energy-return,1,50,%\n",
  });
  assert.match(
    first,
    /line 2, column "metric_id": found "heel-energy-return", expected a metric that is read on the bench/,
  );
});
