import assert from "node:assert/strict";
import { parse } from "csv-parse/sync";
import { tQuantile } from "../../../lib/statistics/distributions.ts";
import { weatherEffects } from "../../../lib/studies/drift/weather_effects.ts";
import { weatherRows, weatherSentence } from "../../../lib/words/drift/weather_words.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import inR from "../../references/weather.json" with { type: "json" };
import { assertClose } from "../../assert_close.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";
import { driftingBench, ownNormals } from "./drifting_bench.ts";

type Room = { readonly temperature_c: number | null; readonly humidity_pct: number | null };

function benchIn(visits: readonly SmallVisit[], room: (session: string) => Room) {
  const bench = smallBench(visits, { references: ["ref-1", "ref-2"] });
  const sessions = bench.sessions.map((session) => ({ ...session, ...room(session.session_id) }));
  return { ...bench, sessions };
}

type Row =
  & Record<"shoe" | "session" | "date" | "rig" | "value", string>
  & Record<keyof Room, string>;
const rows: Row[] = parse(
  await Deno.readTextFile(new URL("../../references/weather.csv", import.meta.url)),
  { columns: true },
);
const rooms = new Map(rows.map((row) => [row.session, {
  temperature_c: Number(row.temperature_c),
  humidity_pct: Number(row.humidity_pct),
}]));
const visits = [...Map.groupBy(rows, ({ shoe, session }) => `${shoe} ${session}`).values()].map(
  (own): SmallVisit => ({ ...own[0], values: own.map(({ value }) => Number(value)) }),
);
const warm = benchIn(visits, (session) => rooms.get(session)!);

Deno.test("slopes over temperature and humidity and their standard errors are those of R's lmer", () => {
  const { effects } = weatherEffects(warm);
  for (const effect of effects) {
    const { slope, standard_error, freedom } = inR[effect.of];
    assert.equal(effect.sessions, inR.sessions);
    assertClose(effect.slope.estimate!, slope, { within: 1e-5 });
    // Satterthwaite's freedom, but no more than sessions leave: less one level, three of rigs and time, two of weather.
    const reach = effect.slope.upper! - effect.slope.estimate!;
    const spare = inR.sessions - 6;
    assertClose(reach / tQuantile(0.975, Math.min(freedom, spare)), standard_error, {
      within: 1e-5,
    });
  }
});

Deno.test("a planted slope is found, in its size, over the range seen, and humidity is not claimed with it", () => {
  const study = weatherEffects(warm);
  const [temperature, humidity] = study.effects;
  assert.deepEqual([temperature.found, humidity.found, study.tested], [true, false, 2]);
  assert.ok(temperature.slope.lower! < 0.25 && temperature.slope.upper! > 0.25);
  const range = temperature.to! - temperature.from!;
  assertClose(temperature.over_range.estimate!, range * temperature.slope.estimate!, {
    within: 1e-9,
  });
  assert.match(weatherSentence(study), /^Height rises by .* of temperature\./);
  assert.deepEqual(weatherRows(study).map((row) => row.claimed), ["yes", "no"]);
});

Deno.test("without weather, or with one weather for all, nothing is said but why", () => {
  const none = weatherEffects(benchIn(visits, () => ({ temperature_c: null, humidity_pct: null })));
  assert.equal(none.tested, 0);
  assert.ok(none.effects.every(({ sessions_without }) => sessions_without === 18));
  assert.match(weatherSentence(none), /can't be told/);
  const same = weatherEffects(benchIn(visits, () => ({ temperature_c: 21, humidity_pct: 40 })));
  assert.deepEqual(same.effects.map(({ p_reason }) => p_reason!.code), [
    "not-told-apart",
    "not-told-apart",
  ]);
  assert.deepEqual(lostValues([none, same]), []);
});

Deno.test("a room that does nothing is claimed on few of 200 benches, as sessions share luck of their own", () => {
  let claimed = 0;
  for (let seed = 1; seed <= 200; seed++) {
    const normal = ownNormals(1000 + seed);
    const luck = new Map<string, number>();
    const room = new Map<string, Room>();
    const drawn = driftingBench(seed, {}).visits.map((visit) => {
      if (!luck.has(visit.session)) {
        luck.set(visit.session, 0.5 * normal());
        room.set(visit.session, {
          temperature_c: 20 + 3 * normal(),
          humidity_pct: 50 + 9 * normal(),
        });
      }
      return { ...visit, values: visit.values.map((value) => value! + luck.get(visit.session)!) };
    });
    const { effects } = weatherEffects(benchIn(drawn, (session) => room.get(session)!));
    if (effects.some(({ found }) => found)) claimed++;
  }
  // 5% of 200 is 10; 19 is what chance would exceed once in 300.
  assert.ok(claimed <= 19, `${claimed} of 200`);
});

Deno.test("the interval of the demo's lamp test holds the planted slope over the room's warmth", async () => {
  const folder = new URL("../../../data-demo/", import.meta.url);
  const { weather } = JSON.parse(await Deno.readTextFile(new URL("truth.json", folder)));
  const { effects } = weatherEffects(await loadBench(folder.pathname), {
    metrics: [weather.metric],
  });
  const { slope } = effects.find(({ of }) => of === "temperature_c")!;
  assert.ok(slope.lower! < weather.slope_per_degree && weather.slope_per_degree < slope.upper!);
});
