import assert from "node:assert/strict";
import { loadBench, records } from "../../../lib/mod.ts";
import { assertClose } from "../../assert_close.ts";
import { benchFolder, small } from "../../records/bench_folder.ts";

Deno.test("records.shoeTable() has a row a shoe with means of visits, the panel's values and features", async () => {
  await using folder = await benchFolder();
  const [alder, birch] = records.shoeTable(await loadBench(folder.dir));
  assert.deepEqual([alder.shoe_id, alder.maker, alder.line, alder.reference, birch.reference], [
    "alder",
    "Tarnwick",
    "Tarnwick Alder",
    true,
    false,
  ]);
  assertClose(alder["heel-rebound-height"] as number, 48.3, { within: 1e-9 }); // 48.5 cm and 481 mm; one lost
  // Visits count alike: 11 oz on one day, 312 g on the other; 377 g is excluded.
  assertClose(birch.mass as number, (11 * 28.349523125 + 312) / 2, { within: 1e-9 });
  assert.deepEqual([alder.mass, birch["heel-rebound-height"], birch["sole-temperature"]], [
    null,
    null,
    null,
  ]);
  assert.deepEqual([alder.energy, birch.energy], [7.5, null]);
  assert.deepEqual([alder["wide-toe-box"], birch["wide-toe-box"]], ["yes", "no"]);
});

Deno.test("records.shoeTable() counts visits and testers when asked, and tells names apart that meet", async () => {
  await using folder = await benchFolder({
    "bench.json": {
      ...small["bench.json"],
      attributes: [{ id: "mass", title: "Mass, felt", better: "higher" }],
    },
    "impressions.csv":
      "date,tester,shoe_id,attribute,rating\n2026-01-20,t1,alder,mass,4\n2026-01-20,t2,alder,mass,6\n",
    "features.csv": "shoe_id,feature_id,present\nalder,mass,unknown\n",
    "rules/index-1.json": null,
    "proposals/more-rebound.json": null,
  });
  const [alder, birch] = records.shoeTable(await loadBench(folder.dir), { counts: true });
  assert.deepEqual([alder["rated mass"], alder["rated mass testers"], alder["feature mass"]], [
    5,
    2,
    "unknown",
  ]);
  assert.deepEqual([birch["mass visits"], birch["rated mass"], birch["rated mass testers"]], [
    2,
    null,
    0,
  ]);
  assert.equal(birch["feature mass"], null);
});

Deno.test("records.trialTable() and impressionTable() keep every row, joined with session, shoe and tester", async () => {
  await using folder = await benchFolder();
  const bench = await loadBench(folder.dir);
  const trials = records.trialTable(bench);
  assert.equal(trials.length, bench.trials.length);
  const { value, unit, date, operator, model, excluded } = trials.at(-1)!;
  assert.deepEqual([value, unit, date, operator, model, excluded], [
    377,
    "g",
    "2026-02-10",
    "ben",
    "Birch",
    "scale not level",
  ]);
  const [first, second] = records.impressionTable(bench);
  assert.deepEqual([first.rating, first.model, first.tester_style, first.tester_mass_kg], [
    7.5,
    "Alder",
    "baseline",
    72,
  ]);
  assert.equal(second.rating, null);
});

Deno.test("shoeTable() refuses an option that it does not have", async () => {
  const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
  assert.throws(() => records.shoeTable(bench, { count: true } as unknown as { counts: boolean }), {
    name: "RangeError",
    message: /records\.shoeTable has no option "count". Did you mean "counts"/,
  });
});
