import assert from "node:assert/strict";
import { parse } from "csv-parse/sync";
import { DEMO_SEED, makeDemo, writeDemo } from "../data-demo/make_demo.ts";
import { loadBench } from "../lib/records/load_bench.ts";
import { assertClose } from "./assert_close.ts";

const folder = new URL("../data-demo/", import.meta.url);
const files = makeDemo();
const table = (name: string): Record<string, string>[] =>
  parse(files.get(name)!, { columns: true }) as Record<string, string>[];
const distinct = (rows: Record<string, string>[], column: string) =>
  new Set(rows.map((row) => row[column]));
const truth = JSON.parse(files.get("truth.json")!);

Deno.test("makeDemo() gives the same bytes for the same seed, and others for another", () => {
  assert.deepEqual(makeDemo({ seed: DEMO_SEED }), files);
  const other = makeDemo({ seed: 7 });
  assert.deepEqual([...other.keys()], [...files.keys()]);
  assert.notEqual(other.get("trials.csv"), files.get("trials.csv"));
});

Deno.test("the demo folder holds what its seed makes, byte for byte", async () => {
  for (const [name, text] of files) {
    assert.equal(await Deno.readTextFile(new URL(name, folder)), text, name);
  }
});

Deno.test("the demo folder loads without an error, and its lamp readings all come out in degrees Celsius", async () => {
  const bench = await loadBench(folder.pathname);
  assert.equal(bench.settings.invented, true);
  assert.equal(bench.shoes.length, 50);
  assert.deepEqual(bench.counts["trials.csv"].missing, truth.trials.lost);
  assert.deepEqual([bench.rules.length, bench.proposals.length], [2, 3]);
  const lamp = bench.trials.filter(({ metric_id }) => metric_id === "upper-lamp-temperature");
  const inFahrenheit = lamp.filter(({ given_unit, value }) =>
    given_unit !== "Cel" && value !== null
  );
  assert.ok(inFahrenheit.length > 30);
  for (const { value } of inFahrenheit) assert.ok(value! > 45 && value! < 90, `${value}`);
});

Deno.test("a bench that the demo's script draws from any of twenty other seeds loads without an error, with all its worn pairs", async () => {
  for (let seed = 1; seed <= 20; seed++) {
    const dir = await Deno.makeTempDir();
    try {
      await writeDemo(dir, { seed });
      const { trials } = await loadBench(dir);
      const worn = trials.filter(({ hours_played }) => (hours_played ?? 0) > 0);
      assert.equal(new Set(worn.map(({ shoe_id, session_id }) => shoe_id + session_id)).size, 6);
    } finally {
      await Deno.remove(dir, { recursive: true });
    }
  }
});

Deno.test("the demo's README explains every column and every metric", async () => {
  const readme = await Deno.readTextFile(new URL("README.md", folder));
  for (const [name, text] of files) {
    if (!name.endsWith(".csv")) continue;
    const section = readme.split(`## ${name}`)[1].split("\n## ")[0];
    for (const column of text.split("\n")[0].split(",")) {
      assert.match(section, new RegExp(`\\b${column}\\b`), `${name} ${column}`);
    }
  }
  const metrics = JSON.parse(files.get("metrics.json")!) as { id: string; unit: string }[];
  for (const { id, unit } of metrics) assert.ok(readme.includes(`| \`${id}\` | ${unit} |`), id);
});

Deno.test("the demo is a bench of 50 shoes over five quarters with two of each crew and rig", () => {
  const shoes = table("shoes.csv");
  const sessions = table("sessions.csv");
  assert.equal(shoes.length, 50);
  assert.equal(distinct(shoes, "shoe_id").size, 50);
  assert.equal(distinct(sessions, "operator").size, 2);
  assert.equal(distinct(sessions, "rig").size, 2);
  const quarter = (date: string) =>
    `${date.slice(0, 4)}Q${Math.ceil(Number(date.slice(5, 7)) / 3)}`;
  const quarters = new Set(sessions.map(({ date }) => quarter(date)));
  assert.deepEqual([...quarters], ["2025Q3", "2025Q4", "2026Q1", "2026Q2", "2026Q3"]);
  assert.ok(JSON.parse(files.get("metrics.json")!).length >= 12);
  const editions = shoes.filter(({ maker, model }) => maker === "Tolmeck" && model === "Brindlet");
  assert.deepEqual(editions.map(({ edition }) => edition), ["1", "2", "3"]);
});

Deno.test("both reference shoes are benched in every session of the demo, and nobody rates them", () => {
  const references = JSON.parse(files.get("bench.json")!).reference_shoes as string[];
  const trials = table("trials.csv");
  assert.equal(references.length, 2);
  for (const shoe of references) {
    const sessions = distinct(trials.filter(({ shoe_id }) => shoe_id === shoe), "session_id");
    assert.equal(sessions.size, table("sessions.csv").length);
  }
  const rated = distinct(table("impressions.csv"), "shoe_id");
  assert.ok(references.every((shoe) => !rated.has(shoe)));
});

Deno.test("no reading or impression of the demo has the key of another", () => {
  const keys = (name: string, columns: string[]) =>
    table(name).map((row) => columns.map((column) => row[column]).join("|"));
  const trialKeys = keys("trials.csv", [
    "session_id",
    "shoe_id",
    "metric_id",
    "pair",
    "side",
    "trial",
  ]);
  assert.equal(new Set(trialKeys).size, trialKeys.length);
  const cards = keys("impressions.csv", ["date", "tester", "shoe_id", "attribute"]);
  assert.equal(new Set(cards).size, cards.length);
});

Deno.test("the demo loses trials, excludes trials with reasons and mixes two units of temperature", () => {
  const trials = table("trials.csv");
  const lost = trials.filter(({ value }) => ["", "NA", "n/a", "—"].includes(value));
  const excluded = trials.filter(({ excluded }) => excluded !== "");
  assert.equal(lost.length, truth.trials.lost);
  assert.equal(excluded.length, truth.trials.excluded);
  assert.ok(lost.length > 20 && excluded.length > 20);
  const lamp = trials.filter(({ metric_id }) => metric_id === "upper-lamp-temperature");
  assert.deepEqual([...distinct(lamp, "unit")].sort(), ["Cel", "[degF]"]);
});

Deno.test("the late metric of the demo is read from its introduction on, and reaches some older shoes", () => {
  const { metric, shoes_read } = truth.introduced_late;
  const dates = new Map(table("sessions.csv").map(({ session_id, date }) => [session_id, date]));
  const trials = table("trials.csv");
  const when = trials.filter(({ metric_id }) => metric_id === metric)
    .map(({ session_id }) => dates.get(session_id)!);
  assert.ok(when.every((date) => date >= "2026-02-14"));
  const firstSeen = (shoe: string) =>
    dates.get(trials.find(({ shoe_id }) => shoe_id === shoe)!.session_id)!;
  const older = (shoes_read as string[]).filter((shoe) => firstSeen(shoe) < "2026-01-01");
  assert.ok(older.length >= 4, `${older.length} older shoes`);
  assert.ok(shoes_read.length < 35);
});

Deno.test("six testers rate 31 to 48 shoes each on six attributes, some twice, all on the scale", () => {
  const cards = table("impressions.csv");
  for (const [tester, { shoes }] of Object.entries<{ shoes: number }>(truth.panel.testers)) {
    const own = cards.filter((card) => card.tester === tester);
    assert.equal(distinct(own, "shoe_id").size, shoes);
    assert.equal(distinct(own, "attribute").size, 6);
  }
  assert.equal(Object.keys(truth.panel.testers).length, 6);
  assert.ok(truth.panel.pairs_rated_twice > 15);
  for (const { rating } of cards) {
    if (rating === "NA") continue;
    assert.ok(Number(rating) >= 1 && Number(rating) <= 10 && Number(rating) * 2 % 1 === 0, rating);
  }
});

Deno.test("every slip in the truth stands on the line of trials.csv that the truth names", () => {
  const lines = files.get("trials.csv")!.split("\n");
  assert.equal(truth.slips.length, 5);
  for (const slip of truth.slips) {
    const cells = lines[slip.line - 1].split(",");
    const { session_id, shoe_id, metric_id, trial, value, side } = slip;
    assert.deepEqual(
      [cells[0], cells[1], cells[2], Number(cells[3]), cells[4], cells[7]],
      [session_id, shoe_id, metric_id, trial, value, side],
    );
    assert.notEqual(value, slip.was);
  }
});

Deno.test("every reading of the demo lies within its metric's plausible range, slips included", () => {
  const metrics = JSON.parse(files.get("metrics.json")!) as {
    id: string;
    plausible: { low: number; high: number };
  }[];
  const ranges = new Map(metrics.map(({ id, plausible }) => [id, plausible]));
  for (const { metric_id, value, unit } of table("trials.csv")) {
    if (["", "NA", "n/a", "—"].includes(value)) continue;
    const reading = unit === "[degF]" ? (Number(value) - 32) / 1.8 : Number(value);
    const { low, high } = ranges.get(metric_id)!;
    assert.ok(reading >= low && reading <= high, `${metric_id} ${value} ${unit}`);
  }
});

Deno.test("the demo's true correlations are exactly the planted ones, and 0 for the null metrics", () => {
  const { attributes } = truth;
  assertClose(attributes.grip.correlation["tilt-slip-dry"], 0.85, { within: 1e-5 });
  assertClose(attributes.liveliness.correlation["forefoot-rebound"], 0.8, { within: 1e-5 });
  assertClose(attributes.ventilation.correlation["smoke-clearing"], -0.75, { within: 1e-5 });
  for (
    const { correlation } of Object.values<{ correlation: Record<string, number> }>(attributes)
  ) {
    for (const metric of truth.null_metrics) assertClose(correlation[metric], 0, { within: 1e-5 });
  }
  for (const value of Object.values<number>(attributes.comfort.correlation)) {
    assertClose(value, 0, { within: 1e-5 });
  }
});

Deno.test("a simulated bench without slips and with an unrelated court has neither, and random correlations", () => {
  const other = JSON.parse(
    makeDemo({ seed: 3, slips: "none", court: "unrelated", standing: "drawn" }).get("truth.json")!,
  );
  assert.deepEqual([other.drift, other.order_effect, other.slips], [null, null, []]);
  assert.equal(other.null_attributes.length, 6);
  const found = Math.abs(other.attributes.grip.correlation["tilt-slip-dry"]);
  assert.ok(found > 1e-3 && found < 0.5, `${found}`);
});

Deno.test("by the demo's true values the good proposal orders speed better by far, the useless one worse", () => {
  type Rule = {
    terms: { metric: string; weight: number; scaling: { low: number; high: number } }[];
  };
  type Truth = { metrics: Record<string, number>; attributes: Record<string, number> | null };
  const shoes = Object.values<Truth>(truth.shoes).filter(({ attributes }) => attributes !== null);
  const speed = shoes.map(({ attributes }) => attributes!.speed);
  const order = ({ terms }: Rule) => {
    const scores = shoes.map(({ metrics }) =>
      terms.reduce((sum, { metric, weight, scaling: { low, high } }) => {
        const share = (metrics[metric] - low) / (high - low);
        return sum + weight * Math.min(1, Math.max(0, share));
      }, 0)
    );
    return correlation(ranks(scores), ranks(speed));
  };
  const rule = (name: string) => JSON.parse(files.get(name)!);
  const inForce = order(rule("rules/speed-index-2.json"));
  const good = order(rule("proposals/weigh-what-players-feel.json").rule);
  const useless = order(rule("proposals/reward-the-toe-guard.json").rule);
  assert.ok(good - inForce > 0.2, `gain ${good - inForce}`);
  assert.ok(useless - inForce < -0.2, `gain ${useless - inForce}`);
});

function ranks(values: number[]): number[] {
  return values.map((value) => values.filter((other) => other < value).length);
}

function correlation(x: number[], y: number[]): number {
  const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [mx, my] = [mean(x), mean(y)];
  const product = (a: number[], ma: number, b: number[], mb: number) =>
    a.reduce((sum, value, i) => sum + (value - ma) * (b[i] - mb), 0);
  return product(x, mx, y, my) / Math.sqrt(product(x, mx, x, mx) * product(y, my, y, my));
}
