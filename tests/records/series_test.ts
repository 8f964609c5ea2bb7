import assert from "node:assert/strict";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { benchUntil } from "../../lib/records/quarters.ts";
import { assertClose } from "../assert_close.ts";
import { benchFolder, small } from "./bench_folder.ts";

const [rebound] = small["metrics.json"];
const HEAD = "session_id,shoe_id,series_id,trial,at,at_unit,value,unit,excluded\n";

function metric(id: string, unit: string, derive: unknown, high = 1000) {
  return { ...rebound, id, unit, plausible: { low: 0, high }, smallest_difference: null, derive };
}
const cooling = metric("cooling", "s", {
  from: "cooling-curve",
  by: "coolingTimeConstant",
  with: { ambient_celsius: 20 },
});

/** A curve that follows Newton's law with τ = 100 s in a room of 20 °C, at half minutes and in °F. */
const curve = [0, 0.5, 1, 2, 4].map((minutes) => {
  const celsius = 20 + 50 * Math.exp(-minutes * 60 / 100);
  return `s1,birch,cooling-curve,1,${minutes},min,${celsius * 9 / 5 + 32},°F,\n`;
}).join("");

async function valuesOf(metrics: readonly unknown[], files: Record<string, string>) {
  await using folder = await benchFolder({
    "metrics.json": [...small["metrics.json"], ...metrics],
    ...files,
  });
  const bench = await loadBench(folder.dir);
  const ids = (metrics as { id: string }[]).map(({ id }) => id);
  return { bench, trials: bench.trials.filter(({ metric_id }) => ids.includes(metric_id)) };
}

async function says(metrics: readonly unknown[], files: Record<string, string>) {
  await using folder = await benchFolder({
    "metrics.json": [...small["metrics.json"], ...metrics],
    ...files,
  });
  return (await inspectBench(folder.dir)).problems.map(problemInWords);
}

Deno.test("loadBench() makes a cooling constant of a curve read in minutes and °F", async () => {
  const { bench, trials } = await valuesOf([cooling], { "series.csv": HEAD + curve });
  assert.equal(trials.length, 1);
  assertClose(trials[0].value, 100, { within: 1e-6 }); // the law it was made from
  assert.deepEqual([trials[0].shoe_id, trials[0].trial, trials[0].line], ["birch", 1, 2]);
  assert.deepEqual([bench.series[0].at_unit, bench.series[0].unit], ["min", "[degF]"]);
  assert.deepEqual(bench.series[0].at, [0, 0.5, 1, 2, 4]);
  assert.deepEqual(bench.counts["series.csv"], { read: 5, kept: 5, missing: 0, excluded: 0 });
  assert.match(bench.sha256["series.csv"], /^[0-9a-f]{64}$/);
  assert.equal(benchUntil(bench, "2026-01-09").series.length, 0);
});

Deno.test("loadBench() takes load and deflection either way round, and only the way out for a stiffness", async () => {
  // Out: 0, 10, 20 N at 0, 5, 10 mm; back: 20, 8, 0 N. Areas by hand: 100 and 90 N mm.
  const loop = [[0, 0], [10, 5], [20, 10], [8, 5], [0, 0]];
  const metrics = [
    metric("loss", "%", { from: "loop", by: "hysteresisLoss", with: {} }),
    metric("stiffness", "N/mm", {
      from: "loop",
      by: "bendingStiffness",
      with: { line: "through-origin" },
    }),
  ];
  for (const way of ["load at", "deflection at"]) {
    const rows = loop.map(([load, deflection]) =>
      way === "load at"
        ? `s1,birch,loop,1,${load},N,${deflection / 10},cm,\n`
        : `s1,birch,loop,1,${deflection},mm,${load},N,\n`
    );
    const { trials } = await valuesOf(metrics, { "series.csv": HEAD + rows.join("") });
    assertClose(trials[0].value, 10, { within: 1e-9 });
    assertClose(trials[1].value, 2, { within: 1e-9 });
  }
});

Deno.test("loadBench() leaves lost and excluded points out of their reading, and keeps an excluded reading as one", async () => {
  const smoke = metric("clearing", "s", {
    from: "smoke",
    by: "halfClearingTime",
    with: { model: "interpolated" },
  });
  const rows = [
    "s1,birch,smoke,1,0,s,80,%,",
    "s1,birch,smoke,1,10,s,60,%,",
    "s1,birch,smoke,1,15,s,NA,%,",
    "s1,birch,smoke,1,17,s,5,%,door opened",
    "s1,birch,smoke,1,20,s,30,%,",
    "s2,birch,smoke,1,0,s,80,%,lamp off",
    "s2,birch,smoke,1,10,s,60,%,lamp off",
  ];
  const { bench, trials } = await valuesOf([smoke], {
    "series.csv": HEAD + rows.join("\n") + "\n",
  });
  assertClose(trials[0].value, 10 + 10 * 20 / 30, { within: 1e-9 }); // between 60 and 30, at 40
  assert.deepEqual([trials[1].value, trials[1].excluded], [null, "lamp off"]);
  assert.deepEqual(bench.counts["series.csv"], { read: 7, kept: 3, missing: 1, excluded: 3 });
});

Deno.test("inspectBench() names the line of a point that can't be: units, order, unknown names", async () => {
  const rows = (...more: string[]) => ({ "series.csv": HEAD + curve + more.join("\n") + "\n" });
  const cases: [string, RegExp][] = [
    [
      "s2,birch,cooling-curve,1,0,s,30,g,",
      /^series\.csv line 7, column "unit": found "g", expected a unit of temperature, as cooling-curve is in \[degF\]/,
    ],
    [
      "s1,birch,cooling-curve,1,3,min,30,°F,",
      /^series\.csv line 7, column "at": found "3 min", expected a time after the point before it, 4/,
    ],
    ["s9,birch,cooling-curve,1,0,s,30,°C,", /line 7, column "session_id": found "s9"/],
    ["s2,birhc,cooling-curve,1,0,s,30,°C,", /line 7, column "shoe_id".*Write birch/],
    ["s2,birch,cooling-curve,1,,s,30,°C,", /line 7, column "at": found nothing/],
    ["s2,birch,cooling-curve,1,0,sex,30,°C,", /line 7, column "at_unit": found "sex"/],
  ];
  for (const [row, expected] of cases) {
    const found = await says([cooling], rows(row));
    assert.match(found[0], expected);
  }
});

Deno.test("inspectBench() warns with the line where a series gives no value, and says why", async () => {
  const one = await says([cooling], {
    "series.csv": HEAD + "s1,birch,cooling-curve,1,0,s,60,°C,\n",
  });
  assert.match(
    one[0],
    /^series\.csv line 2, column "value": found cooling-curve of birch, 1 point, expected a reading that cooling can be computed from \(one point makes no curve\)/,
  );
  const rising = [30, 40, 50, 60].map((celsius, i) =>
    `s1,birch,cooling-curve,1,${i},s,${celsius},°C,\n`
  );
  const { trials, bench } = await valuesOf([cooling], { "series.csv": HEAD + rising.join("") });
  assert.deepEqual(trials.map(({ value }) => value), [null]);
  assert.match(problemInWords(bench.warnings[0]), /line 2.*4 points.*can be computed from \(.+\)/);
});

Deno.test("inspectBench() places a derivation from a series that can't be done", async () => {
  const file = { "series.csv": HEAD + curve };
  const withDerive = (change: object, unit = "s") =>
    says([{ ...cooling, unit, derive: { ...cooling.derive as object, ...change } }], file);
  assert.match(
    (await withDerive({ from: "coolingcurve" }))[0],
    /derive\.from": found "coolingcurve", expected a series of series\.csv\. Write cooling-curve/,
  );
  assert.match(
    (await withDerive({ by: "reboundEnergyReturn" }))[0],
    /derive\.by".*expected a function that takes a series/,
  );
  assert.match((await withDerive({ from: "mass" }))[0], /takes a series of series\.csv/);
  assert.match(
    (await withDerive({ by: "hysteresisLoss", with: {} }, "%"))[0],
    /found cooling-curve, \[degF\] at min, expected a series of force at length/,
  );
  assert.match(
    (await withDerive({ with: {} }))[0],
    /ambient_celsius": found nothing, expected this constant/,
  );
  assert.match(
    (await withDerive({ with: { ambient_celsius: "cold" } }))[0],
    /found "cold", expected a number, or fitted/,
  );
  assert.match((await withDerive({}, "g"))[0], /unit": found "g", expected a unit of time/);
});

const both = {
  "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit,pair,excluded\n" +
    "s1,birch,heel-rebound-height,1,48,cm,,\ns1,birch,heel-rebound-height,2,52,cm,,\n" +
    "s1,birch,heel-rebound-height,3,80,cm,,bounced off the rim\n" +
    "s1,birch,toe-rebound,1,400,mm,,\ns2,birch,toe-rebound,1,40,cm,,\n" +
    "s1,birch,mass,1,250,g,,\n",
};
const toe = { ...rebound, id: "toe-rebound" };

Deno.test("loadBench() makes ratio, difference and mean of two metrics from the means of a visit that has both", async () => {
  const from = [rebound.id, toe.id];
  const made = await valuesOf([
    toe,
    metric("ratio", "%", { from, by: "ratio" }),
    metric("difference", "mm", { from, by: "difference" }),
    metric("mean", "cm", { from, by: "mean" }),
    metric("per-mass", "1", { from: [rebound.id, "mass"], by: "ratio" }),
    metric("log", "1", { from: "mass", by: "log" }),
  ], both);
  const values = (id: string) =>
    made.trials.filter(({ metric_id }) => metric_id === id).map(({ value }) => value!);
  // Means of the visit s1: 50 cm (80 cm is excluded) and 40 cm; s2 has no heel.
  for (
    const [id, value] of [
      ["ratio", 125],
      ["difference", 100],
      ["mean", 45],
      ["per-mass", 0.2],
      ["log", 5.521460917862246], // R 4.2.2: log(250)
    ] as const
  ) {
    assert.equal(values(id).length, 1, id);
    assertClose(values(id)[0], value, { within: 1e-9 });
  }
});

Deno.test("inspectBench() refuses two metrics that don't go together, and warns where no visit has both", async () => {
  const of = (derive: object, unit: string) => says([toe, metric("made", unit, derive)], both);
  const from = [rebound.id, "mass"];
  assert.match(
    (await of({ from, by: "difference" }, "cm"))[0],
    /found mass in g, expected metrics of length/,
  );
  assert.match(
    (await of({ from, by: "ratio" }, "%"))[0],
    /unit": found %, expected 1, for cm per g/,
  );
  assert.match(
    (await of({ from: [rebound.id], by: "ratio" }, "1"))[0],
    /found 1 metrics, expected 2/,
  );
  assert.match(
    (await of({ from, by: "reboundEnergyReturn" }, "%"))[0],
    /expected one of ratio, difference, mean/,
  );
  assert.match(
    (await of({ from: [rebound.id, "masss"], by: "ratio" }, "1"))[0],
    /found "masss".*Write mass/,
  );
  assert.match(
    (await of({ from: ["sole-temperature", rebound.id], by: "ratio" }, "1"))[0],
    /sole-temperature, whose 0 is not "none"/,
  );
  const apart = {
    "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit\n" +
      "s1,birch,mass,1,250,g\ns2,birch,heel-rebound-height,1,48,cm\n",
  };
  const warned = await says([metric("made", "1", { from, by: "ratio" })], apart);
  assert.match(
    warned[0],
    /^metrics\.json line \d+, at "made\.derive\.from": found no visit with heel-rebound-height and mass, expected a session in which a pair was benched on both/,
  );
});
