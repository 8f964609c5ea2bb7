/**
 * How often does `courtPrediction` claim what is not so, and miss what is?
 *
 * Benches are made whole, from trials and single ratings, with the demo's own design (48 rated shoes, 12
 * metrics of which one is young, six testers who each rated a part), loaded from files and studied with
 * the study's own defaults. Run: deno run --allow-read --allow-write
 * tests/benchmarks/court_prediction_truth.ts [benches]
 */
import { makeDemo } from "../../data-demo/make_demo.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { type RandomStream, randomStream } from "../../lib/statistics/random_stream.ts";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";

const benches = Number(Deno.args[0] ?? 200);
const options = { models: false, resamples: 2000, permutations: 2000 };

type Truth = {
  readonly metrics: Record<string, { mean: number; variances: { shoe: number } }>;
  readonly panel: {
    mean: number;
    sd_shoe: number;
    sd_tester_shoe: number;
    sd_residual: number;
    testers: Record<string, { leniency: number; range: number }>;
  };
  readonly shoes: Record<string, { metrics: Record<string, number> }>;
};

async function simulatedBench(seed: number): Promise<{ bench: Bench; truth: Truth }> {
  const dir = await Deno.makeTempDir();
  const files = makeDemo({ seed, slips: "none", court: "unrelated", standing: "drawn" });
  for (const [name, text] of files) {
    const path = `${dir}/${name}`;
    await Deno.mkdir(path.slice(0, path.lastIndexOf("/")), { recursive: true });
    await Deno.writeTextFile(path, text);
  }
  const bench = await loadBench(dir);
  await Deno.remove(dir, { recursive: true });
  return { bench, truth: JSON.parse(files.get("truth.json")!) };
}

/** The same bench, rated anew so that each attribute's true standing goes by rho with its driver's. */
function driven(
  bench: Bench,
  { metrics, panel, shoes }: Truth,
  drivers: Readonly<Record<string, string>>,
  rho: number,
  random: RandomStream,
): Bench {
  const felt = new Map<string, number>();
  for (const shoe of Object.keys(shoes)) {
    for (const [attribute, driver] of Object.entries(drivers)) {
      const { mean, variances } = metrics[driver];
      const z = (shoes[shoe].metrics[driver] - mean) / Math.sqrt(variances.shoe);
      felt.set(`${shoe} ${attribute}`, rho * z + Math.sqrt(1 - rho * rho) * random.normal());
    }
  }
  const { min, max, step } = bench.settings.rating;
  const noise = Math.hypot(panel.sd_tester_shoe, panel.sd_residual);
  return {
    ...bench,
    impressions: bench.impressions.map((row) => {
      if (row.rating === null) return row;
      const { leniency, range } = panel.testers[row.tester];
      const value = panel.mean + leniency +
        range * panel.sd_shoe * felt.get(`${row.shoe_id} ${row.attribute}`)! +
        noise * random.normal();
      return { ...row, rating: Math.min(max, Math.max(min, Math.round(value / step) * step)) };
    }),
  };
}

const percent = (hits: number, all: number) => {
  const share = hits / all;
  const error = Math.sqrt(share * (1 - share) / all);
  return `${(100 * share).toFixed(1)}% of ${all} (standard error ${(100 * error).toFixed(1)})`;
};

const nothing = { attributes: 0, claimed: 0, pairs: 0, hints: 0 };
const rhos = [0.3, 0.5, 0.6, 0.7];
const planted = rhos.map(() => ({ all: 0, found: 0, first: 0 }));
const intervals = rhos.map(() =>
  [] as { driver: string; z: number; lower: number; upper: number }[]
);
for (let index = 0; index < benches; index++) {
  const { bench, truth } = await simulatedBench(1000 + index);
  const none = courtPrediction(bench, { ...options, seed: index });
  for (const { predicts, hints } of none.attributes) {
    nothing.attributes++;
    nothing.claimed += predicts.length > 0 ? 1 : 0;
    nothing.hints += hints.length;
  }
  nothing.pairs += none.pairs.filter((pair) => pair.derived_from === null).length;

  // Drivers are metrics that every shoe has; each attribute gets another, in turn over the benches.
  const metrics = bench.metrics.filter(({ derive, introduced }) =>
    derive === null && introduced < "2026-01-01"
  );
  const drivers = Object.fromEntries(
    bench.settings.attributes.map(({ id }, a) => [
      id,
      metrics[(index * bench.settings.attributes.length + a) % metrics.length].id,
    ]),
  );
  rhos.forEach((rho, k) => {
    const random = randomStream(index, 77, k);
    const study = courtPrediction(driven(bench, truth, drivers, rho, random), {
      ...options,
      seed: index,
    });
    for (const [attribute, driver] of Object.entries(drivers)) {
      const own = study.pairs.filter((pair) =>
        pair.attribute === attribute && pair.derived_from === null
      );
      const pair = own.find(({ metric }) => metric === driver)!;
      const size = Math.abs(pair.spearman.estimate!);
      planted[k].all++;
      planted[k].found += pair.claim === "predicts" ? 1 : 0;
      planted[k].first += own.every(({ metric, spearman }) =>
          metric === driver || Math.abs(spearman.estimate ?? 0) < size
        )
        ? 1
        : 0;
      const { estimate, lower, upper } = pair.spearman;
      intervals[k].push({ driver, z: Math.atanh(estimate!), lower: lower!, upper: upper! });
    }
  });
}
console.log(
  `Nothing true: a *predicts* on ${percent(nothing.claimed, nothing.attributes)} attributes`,
);
console.log(`Nothing true: a hint on ${percent(nothing.hints, nothing.pairs)} pairs`);
rhos.forEach((rho, k) => {
  const { all, found, first } = planted[k];
  const meanOf = (rows: readonly { z: number }[]) =>
    Math.tanh(rows.reduce((sum, { z }) => sum + z, 0) / rows.length);
  // Noise differs from metric to metric, and with it what is left of the true correlation.
  const byDriver = Map.groupBy(intervals[k], ({ driver }) => driver);
  const held = [...byDriver.values()].flatMap((rows) => {
    const seen = meanOf(rows);
    return rows.filter(({ lower, upper }) => lower <= seen && seen <= upper);
  }).length;
  console.log(
    `True rho ${rho}, seen as ${meanOf(intervals[k]).toFixed(2)} through the noise: found ${
      percent(found, all)
    }, ranked first ${percent(first, all)}, interval holds what is seen of its driver on average ${
      percent(held, all)
    }`,
  );
});

// Against the known rank correlation of normal pairs: rho = 6/π·asin(r/2), ratings in steps as well.
for (const n of [24, 48]) {
  for (const rho of [0, 0.3, 0.6, 0.8]) {
    const r = 2 * Math.sin(Math.PI * rho / 6);
    const random = randomStream(3, n, Math.round(10 * rho));
    const runs = 10 * benches;
    let held = 0;
    for (let run = 0; run < runs; run++) {
      const x = Array.from({ length: n }, () => random.normal());
      const y = x.map((value) => r * value + Math.sqrt(1 - r * r) * random.normal());
      const [[{ lower, upper }]] = rankCorrelationGrid([x], [y], {
        resamples: 1000,
        permutations: 0,
        seed: run,
      }).cells;
      if (lower! <= rho && rho <= upper!) held++;
    }
    console.log(`BCa, ${n} shoes, rank correlation ${rho}: holds it in ${percent(held, runs)}`);
  }
}
