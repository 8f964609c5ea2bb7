import assert from "node:assert/strict";
import { loadBench } from "../lib/records/load_bench.ts";
import { assertClose } from "./assert_close.ts";

const path = (name: string) => new URL(`references/${name}`, import.meta.url).pathname;
const reference = async (name: string) =>
  JSON.parse(await Deno.readTextFile(`${path(name)}/reference.json`));

const sizes = {
  "bench-gauge": { shoes: 10, trials: 90, impressions: 0 },
  "bench-resistivity": { shoes: 5, trials: 300, impressions: 0 },
  "bench-cheese": { shoes: 30, trials: 90, impressions: 30 },
  "bench-carrots": { shoes: 12, trials: 24, impressions: 4944 },
};

for (const [name, { shoes, trials, impressions }] of Object.entries(sizes)) {
  Deno.test(`${name} loads as a bench with ${shoes} shoes and ${trials} trials`, async () => {
    const bench = await loadBench(path(name));
    assert.deepEqual(
      [bench.shoes.length, bench.trials.length, bench.impressions.length],
      [shoes, trials, impressions],
    );
    assert.equal(bench.settings.invented, false);
  });
}

Deno.test("the cheeses as loaded give the published correlations of acids and taste", async () => {
  const bench = await loadBench(path("bench-cheese"));
  const { published, computed } = await reference("bench-cheese");
  const taste = new Map(bench.impressions.map(({ shoe_id, rating }) => [shoe_id, rating!]));
  for (const { id } of bench.metrics) {
    const pairs = bench.trials.filter(({ metric_id }) => metric_id === id)
      .map(({ shoe_id, value }) => [value!, taste.get(shoe_id)!]);
    const found = correlation(pairs);
    assertClose(found, published.pearson[id], { within: 5e-8 });
    assertClose(found, computed.pearson[id], { within: 1e-12 });
  }
});

Deno.test("the gauge parts as loaded give the published mean squares' components", async () => {
  const { trials } = await loadBench(path("bench-gauge"));
  const { published, computed } = await reference("bench-gauge");
  const values = trials.map(({ value }) => value!);
  const between = spread(trials.map(({ shoe_id }) => shoe_id), values);
  const sessions = spread(trials.map(({ session_id }) => session_id), values);
  const all = spread(values.map((_, i) => String(i)), values);
  const residual = (all - between - sessions) / 78;
  assertClose(residual, published.components.residual, { within: 5e-6 });
  assertClose(residual, computed.components.residual, { within: 1e-12 });
  assertClose((between / 9 - residual) / 9, published.components.shoe, { within: 5e-6 });
  assertClose((sessions / 2 - residual) / 30, published.components.operator, { within: 5e-6 });
});

Deno.test("probe 2362's days as loaded scatter as the handbook prints", async () => {
  const { trials } = await loadBench(path("bench-resistivity"));
  const { published, computed } = await reference("bench-resistivity");
  const own = trials.filter(({ metric_id }) => metric_id === published.metric);
  const values = own.map(({ value }) => value!);
  const cells = spread(own.map(({ shoe_id, session_id }) => shoe_id + session_id), values);
  const all = spread(values.map((_, i) => String(i)), values);
  const residual = (all - cells) / 50;
  assertClose(Math.sqrt(residual), published.day_to_day_sd.pooled, { within: 5e-6 });
  assertClose(residual, computed.components[published.metric].residual, { within: 1e-12 });
});

Deno.test("the carrots' nine missing ratings are counted and kept", async () => {
  const { impressions, counts } = await loadBench(path("bench-carrots"));
  const { computed } = await reference("bench-carrots");
  assert.equal(counts["impressions.csv"].missing, 9);
  for (const [attribute, { ratings }] of Object.entries<{ ratings: number }>(computed)) {
    const given = impressions.filter((one) => one.attribute === attribute && one.rating !== null);
    assert.equal(given.length, ratings);
  }
});

/** Sum of squares between groups. */
function spread(groups: readonly string[], values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const sums = new Map<string, { sum: number; n: number }>();
  groups.forEach((group, i) => {
    const { sum, n } = sums.get(group) ?? { sum: 0, n: 0 };
    sums.set(group, { sum: sum + values[i] - mean, n: n + 1 });
  });
  return [...sums.values()].reduce((total, { sum, n }) => total + sum * sum / n, 0);
}

function correlation(pairs: readonly (readonly number[])[]): number {
  const mean = (k: number) => pairs.reduce((sum, pair) => sum + pair[k], 0) / pairs.length;
  const centre = [mean(0), mean(1)];
  const product = (a: number, b: number) =>
    pairs.reduce((sum, pair) => sum + (pair[a] - centre[a]) * (pair[b] - centre[b]), 0);
  return product(0, 1) / Math.sqrt(product(0, 0) * product(1, 1));
}
