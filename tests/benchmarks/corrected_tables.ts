/**
 * How far do the values of the demo lie off the truth, as read and corrected to the reference shoes?
 *
 *     deno run -A --config tests/deno.json tests/benchmarks/corrected_tables.ts [benches]
 *
 * Metric by metric, each with only its own correction in force: root mean square about `truth.json`, and the
 * share of 95% intervals that hold it, of single values and of differences of two shoes. First of the demo,
 * then over benches that its script draws from other seeds.
 */
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { tQuantile } from "../../lib/statistics/distributions.ts";
import { correctionVariance } from "../../lib/studies/drift/reference_correction.ts";
import { pairNoise } from "../../lib/studies/repeatability/pair_noise.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { publishedVisits } from "../../lib/studies/shoes/published_visits.ts";
import { DEMO_SEED, writeDemo } from "../../data-demo/make_demo.ts";

/** What is read of a demo's truth.json. */
export type DemoTruth = {
  readonly shoes: Readonly<Record<string, { readonly metrics: Readonly<Record<string, number>> }>>;
  readonly drift: { readonly metric: string } | null;
  readonly order_effect: { readonly metric: string; readonly slope_per_trial: number } | null;
};

/** A table of one metric's values against the truth. */
export type TableAgainstTruth = {
  readonly shoes: number;
  /** Root mean square about the truth, in the metric's unit. */
  readonly rms: number;
  /** Share of single values, and of differences of two, whose 95% interval holds the truth. */
  readonly held: number;
  readonly differences_held: number;
  /** Root mean square over shoes of the correction's own standard error; 0 as read. */
  readonly correction_sd: number;
  readonly correction_freedom: number | null;
};

/** Sets a metric's published values against the truth; null where the truth has no such metric. */
export function againstTruth(
  bench: Bench,
  metric: string,
  { shoes: truth, order_effect }: DemoTruth,
): TableAgainstTruth | null {
  const [about] = trialReliability(bench, { seed: 1, metrics: [metric], resamples: 100 }).metrics;
  // The truth is that of a first trial; a published mean is of several, and a paper that loads up is in it.
  const order = order_effect?.metric === metric ? order_effect.slope_per_trial : 0;
  const rows = [...Map.groupBy(publishedVisits(bench, metric), ({ shoe_id }) => shoe_id)]
    .filter(([shoe]) => truth[shoe]?.metrics[metric] !== undefined)
    .map(([shoe, visits]) => ({
      visits,
      off: mean(
        visits.map(({ values, trials }) =>
          mean(values) - order * mean(trials.map(({ trial }) => trial - 1))
        ),
      ) - truth[shoe].metrics[metric],
    }));
  if (rows.length === 0) return null;
  const reach = (noise: ReturnType<typeof pairNoise>) =>
    tQuantile(0.975, noise!.freedom) * Math.sqrt(noise!.variance);
  const held = rows.map(({ visits, off }) => Math.abs(off) <= reach(pairNoise(visits, [], about)));
  const differences = rows.flatMap((a, i) =>
    rows.slice(i + 1).map((b) =>
      Math.abs(a.off - b.off) <= reach(pairNoise(a.visits, b.visits, about))
    )
  );
  const { correction } = rows[0].visits[0];
  return {
    shoes: rows.length,
    rms: Math.sqrt(mean(rows.map(({ off }) => off ** 2))),
    held: mean(held.map(Number)),
    differences_held: mean(differences.map(Number)),
    correction_sd: correction === null
      ? 0
      : Math.sqrt(mean(rows.map(({ visits }) =>
        correctionVariance(
          correction,
          visits.map((visit) => ({ visit, weight: 1 / visits.length })),
        )
      ))),
    correction_freedom: correction?.freedom ?? null,
  };
}

/** The bench with one metric corrected to the reference shoes. */
export function corrected(bench: Bench, metric: string): Bench {
  return { ...bench, settings: { ...bench.settings, corrected_metrics: [metric] } };
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Pairs benched after play are not pooled with fresh ones; under another seed one may come back as if new. */
async function leaveOutWorn(path: string): Promise<void> {
  const lines = (await Deno.readTextFile(path)).split("\n");
  const hours = lines[0].split(",").indexOf("hours_played");
  const kept = lines.filter((line, i) => i === 0 || !(Number(line.split(",")[hours]) > 0));
  await Deno.writeTextFile(path, kept.join("\n"));
}

/** Each metric as read and corrected, averaged over demos drawn from `seeds`. */
async function tables(seeds: readonly number[]) {
  const found = new Map<string, { read: TableAgainstTruth[]; brought: TableAgainstTruth[] }>();
  for (const seed of seeds) {
    const dir = await Deno.makeTempDir();
    await writeDemo(dir, { seed });
    await leaveOutWorn(`${dir}/trials.csv`);
    const bench = await loadBench(dir);
    const truth: DemoTruth = JSON.parse(await Deno.readTextFile(`${dir}/truth.json`));
    await Deno.remove(dir, { recursive: true });
    for (const { id } of bench.metrics) {
      const [read, brought] = [bench, corrected(bench, id)].map((of) =>
        againstTruth(of, id, truth)
      );
      if (read === null || brought === null) continue;
      const own = found.get(id) ?? { read: [], brought: [] };
      found.set(id, own);
      own.read.push(read);
      own.brought.push(brought);
    }
  }
  return found;
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 0);
  const seeds = benches === 0
    ? [DEMO_SEED]
    : Array.from({ length: benches }, (_, i) => DEMO_SEED + 1 + i);
  const rms = (all: readonly TableAgainstTruth[]) =>
    Math.sqrt(mean(all.map((one) => one.rms ** 2))).toPrecision(3);
  const share = (all: readonly TableAgainstTruth[], of: "held" | "differences_held") =>
    (100 * mean(all.map((one) => one[of]))).toFixed(1);
  for (const [metric, { read, brought }] of await tables(seeds)) {
    console.log(
      `| ${metric} | ${rms(read)} | ${rms(brought)} | ${share(read, "held")}, ${
        share(brought, "held")
      } | ${share(read, "differences_held")}, ${share(brought, "differences_held")} |`,
    );
  }
}
