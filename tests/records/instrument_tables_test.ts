import assert from "node:assert/strict";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { convertSize } from "../../lib/metrics/convert_size.ts";
import { keptTrials, otherSizeVisits, visitsOf, wornTrials } from "../../lib/records/selection.ts";
import { benchFolder, small } from "./bench_folder.ts";

const header = "session_id,shoe_id,metric_id,trial,value,unit,pair,hours_played,excluded,note\n";
const mass = (rows: string) => ({ "trials.csv": header + rows });

async function problemsOf(changes: Readonly<Record<string, unknown>>) {
  await using folder = await benchFolder(changes);
  const { problems } = await inspectBench(folder.dir);
  return problems.map(({ file, line, column, found, fix, severity }) => ({
    where: `${file} ${line} ${column}`,
    found,
    fix,
    severity,
  }));
}

Deno.test("a value of <1 or >60 is kept as a bound in the metric's unit, never as a number", async () => {
  await using folder = await benchFolder(mass(
    "s1,alder,mass,1,<0.25,kg,1,,,\ns1,alder,mass,2,> 300,g,1,,,\ns1,alder,mass,3,301,g,1,,,\n",
  ));
  const bench = await loadBench(folder.dir);
  assert.deepEqual(
    bench.trials.map(({ value, bound }) => [value, bound]),
    [[null, { below: 250 }], [null, { above: 300 }], [301, null]],
  );
  assert.equal(keptTrials(bench, "mass").length, 1);
  assert.deepEqual(bench.counts["trials.csv"], { read: 3, kept: 3, missing: 0, excluded: 0 });
});

Deno.test("a bound takes a decimal comma where the file keeps to it, and '<' alone is an error on its line", async () => {
  await using folder = await benchFolder({
    "trials.csv": header.replaceAll(",", ";") + "s1;alder;mass;1;<250,5;g;1;;;\n",
  });
  assert.deepEqual((await loadBench(folder.dir)).trials[0].bound, { below: 250.5 });
  const [problem] = await problemsOf(mass("s1,alder,mass,1,<,g,1,,,\n"));
  assert.equal(problem.where, "trials.csv 2 value");
  assert.equal(problem.severity, "error");
});

Deno.test("a bound outside what is plausible is an error, as a number there is", async () => {
  const [problem] = await problemsOf(mass("s1,alder,mass,1,<7,g,1,,,\n"));
  assert.match(problem.found, /<7 g/);
  assert.equal(problem.severity, "error");
});

Deno.test("readings of a pair played for longer than fresh_hours are kept apart; a reference shoe's count", async () => {
  await using folder = await benchFolder(mass(
    "s1,birch,mass,1,310,g,1,,,\ns2,birch,mass,1,290,g,1,20,,\ns2,birch,mass,2,311,g,2,1.5,,\n" +
      "s2,alder,mass,1,300,g,1,200,,\n",
  ));
  const bench = await loadBench(folder.dir);
  assert.deepEqual(keptTrials(bench, "mass").map(({ value }) => value), [310, 311, 300]);
  assert.deepEqual(wornTrials(bench, "mass").map(({ value }) => value), [290]);
});

Deno.test("two pairs of a shoe in one session are two visits", async () => {
  await using folder = await benchFolder(mass(
    "s1,birch,mass,1,310,g,1,,,\ns1,birch,mass,2,311,g,1,,,\ns1,birch,mass,1,320,g,2,,,\n",
  ));
  const visits = visitsOf(await loadBench(folder.dir), "mass");
  assert.deepEqual(visits.map(({ pair, values }) => [pair, values]), [[1, [310, 311]], [2, [320]]]);
});

Deno.test("hours that go down are an error on their line, hours told in a note only a warning", async () => {
  const down = await problemsOf(mass(
    "s1,birch,mass,1,310,g,1,20,,\ns2,birch,mass,1,311,g,1,12,,\n",
  ));
  assert.deepEqual(down.map(({ where, found }) => [where, found]), [[
    "trials.csv 3 hours_played",
    "12 h",
  ]]);
  assert.match(down[0].fix, /pair/);
  const noted = await problemsOf(mass("s1,birch,mass,1,310,g,1,,,after 20 h on clay\n"));
  assert.deepEqual(noted.map(({ where, severity }) => [where, severity]), [[
    "trials.csv 2 hours_played",
    "warning",
  ]]);
});

Deno.test("a pair twice, of an unknown shoe, or without the size that others have is an error on its line", async () => {
  const pairs = "shoe_id,pair,size\nbirch,1,42\nbirch,1,42\nbirch,2,42.5\nbirch,3,\nelm,1,42\n";
  const found = await problemsOf({ "pairs.csv": pairs });
  assert.deepEqual(found.map(({ where }) => where), [
    "pairs.csv 3 pair",
    "pairs.csv 5 size",
    "pairs.csv 6 shoe_id",
  ]);
});

Deno.test("calibrations come in the metric's unit with their uncertainty; another dimension is an error", async () => {
  const columns = "date,rig,metric_id,reference_value,reading,unit,reference_uncertainty\n";
  await using folder = await benchFolder({
    "calibrations.csv": columns + "2026-01-11,rig-1,mass,0.5,0.5002,kg,0.00005\n" +
      "2026-01-11,rig-1,sole-temperature,122,123.8,[degF],0.9\n",
  });
  const { calibrations } = await loadBench(folder.dir);
  assert.equal(calibrations[0].reference_value, 500);
  assert.ok(Math.abs(calibrations[0].reference_uncertainty! - 0.05) < 1e-9);
  assert.ok(Math.abs(calibrations[1].reference_value - 50) < 1e-9);
  assert.ok(Math.abs(calibrations[1].reference_uncertainty! - 0.5) < 1e-9);
  const found = await problemsOf({
    "calibrations.csv": columns +
      "2026-01-11,rig-9,mass,500,501,cm,\n2026-01-11,rig-9,mass,1,1,g,\n",
  });
  assert.deepEqual(found.map(({ where, severity }) => [where, severity]), [
    ["calibrations.csv 2 unit", "error"],
    ["calibrations.csv 3 rig", "warning"],
  ]);
});

Deno.test("a rig that no reference shoe was benched on is a warning; so is correcting without one an error", async () => {
  const sessions =
    "session_id,date,operator,rig\ns1,2026-01-10,ann,rig-1\ns2,2026-02-10,ben,rig-2\n";
  const found = await problemsOf({ "sessions.csv": sessions });
  assert.deepEqual(found.map(({ found, severity }) => [found, severity]), [[
    'no reading of a reference shoe on "rig-2"',
    "warning",
  ]]);
  const bench = { ...small["bench.json"], reference_shoes: [], corrected_metrics: ["mass", "mas"] };
  const wrong = await problemsOf({ "bench.json": bench });
  assert.deepEqual(wrong.map(({ severity }) => severity), ["error", "error"]);
  assert.match(wrong.map(({ fix }) => fix).join(), /mass/);
});

Deno.test("readings of a pair in another size stand apart, unless the metric is size_free; half sizes are sizes", async () => {
  const trials = "session_id,shoe_id,metric_id,trial,value,unit,pair\n" +
    ["1,312", "1,314", "2,320", "3,322", "4,313"].map((cells, i) => {
      const [pair, value] = cells.split(",");
      return `s1,birch,mass,${i + 1},${value},g,${pair}\n`;
    }).join("");
  const files = {
    "trials.csv": trials,
    "shoes.csv": "shoe_id,maker,model,size_system,size\nalder,Tarnwick,Alder,,\n" +
      "birch,Tarnwick,Birch,us-men,11\n",
    "pairs.csv": "shoe_id,pair,size_system,size\nbirch,1,us-men,11\nbirch,2,us-men,11.5\n" +
      `birch,3,eu,46\nbirch,4,eu,${convertSize(11, { from: "us-men", to: "eu" }).nearest_label}\n`,
  };
  const kept = async (size_free: boolean) => {
    await using folder = await benchFolder({
      ...files,
      "metrics.json": small["metrics.json"].map((metric) =>
        metric.id === "mass" ? { ...metric, size_free } : metric
      ),
    });
    const bench = await loadBench(folder.dir);
    const pairs = (visits: readonly { readonly pair: number }[]) => visits.map(({ pair }) => pair);
    return [pairs(visitsOf(bench, "mass")), pairs(otherSizeVisits(bench, "mass"))];
  };
  assert.deepEqual(await kept(false), [[1, 4], [2, 3]]);
  assert.deepEqual(await kept(true), [[1, 2, 3, 4], []]);
});

Deno.test("a session without the temperature that a metric depends on is a warning that names both", async () => {
  const metrics = small["metrics.json"].map((metric) =>
    metric.id === "mass" ? { ...metric, depends_on: ["temperature_c"] } : metric
  );
  assert.deepEqual(await problemsOf({ "metrics.json": metrics }), []);
  const sessions = "session_id,date,operator,rig,temperature_c\n" +
    "s1,2026-01-10,ann,rig-1,21\ns2,2026-02-10,ben,rig-1,\n";
  const [one, ...more] = await problemsOf({ "metrics.json": metrics, "sessions.csv": sessions });
  assert.deepEqual(more, []);
  assert.deepEqual(one, {
    where: "sessions.csv null temperature_c",
    found: "nothing in 1 of 2 sessions, such as s2",
    fix: "Write it down each session: without it nobody can tell the room from the shoe.",
    severity: "warning",
  });
});
