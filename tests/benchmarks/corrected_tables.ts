/**
 * How far do the values of the demo lie off the truth, as read and corrected to the reference shoes?
 *
 *     deno run -A --config tests/deno.json tests/benchmarks/corrected_tables.ts [benches [metric]]
 *
 * Metric by metric, each with only its own correction in force: root mean square about `truth.json`, and the
 * share of 95% intervals that hold it, of single values and of differences of two shoes. First of the demo,
 * then over benches that its script draws from other seeds. With a metric: how the share that holds scatters from
 * bench to bench, since a correction's error moves all values of a bench together.
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
  /** Mean over shoes of how far the values lie off: what all share. */
  readonly level: number;
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
    level: mean(rows.map(({ off }) => off)),
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

/** A bench that the demo's script draws, with its truth. */
async function drawnDemo(
  seed: number,
): Promise<{ readonly bench: Bench; readonly truth: DemoTruth }> {
  const dir = await Deno.makeTempDir();
  try {
    await writeDemo(dir, { seed });
    const truth: DemoTruth = JSON.parse(await Deno.readTextFile(`${dir}/truth.json`));
    return { bench: await loadBench(dir), truth };
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

/** Each metric as read and corrected, averaged over demos drawn from `seeds`. */
async function tables(seeds: readonly number[]) {
  const found = new Map<string, { read: TableAgainstTruth[]; brought: TableAgainstTruth[] }>();
  for (const seed of seeds) {
    const { bench, truth } = await drawnDemo(seed);
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

/** How do the corrected tables of single benches scatter? In the order of `seeds`. */
export async function correctedTables(
  seeds: readonly number[],
  metric: string,
): Promise<readonly TableAgainstTruth[]> {
  const found: TableAgainstTruth[] = [];
  for (const seed of seeds) {
    const { bench, truth } = await drawnDemo(seed);
    found.push(againstTruth(corrected(bench, metric), metric, truth)!);
  }
  return found;
}

/** How often does a bench hold as few values as the demo does, or fewer, and how far is its shared level off? */
async function printScatter(seeds: readonly number[], metric: string): Promise<void> {
  const [demo] = await correctedTables([DEMO_SEED], metric);
  const others = await correctedTables(seeds, metric);
  const sorted = others.map(({ held }) => held).toSorted((a, b) => a - b);
  const percent = (share: number) => (100 * share).toFixed(1);
  const at = (share: number) => percent(sorted[Math.floor(share * (sorted.length - 1))]);
  const few = others.filter(({ held }) => held <= demo.held);
  const size = (some: readonly TableAgainstTruth[]) =>
    mean(some.map(({ level }) => Math.abs(level))).toFixed(3);
  console.log(
    `${metric}: the demo holds ${percent(demo.held)}%, level ${
      demo.level.toFixed(3)
    }; ${others.length} others ${percent(mean(sorted))}%, 5 to 95% of them ${at(0.05)} to ${
      at(0.95)
    }; as few as the demo or fewer ${
      percent(few.length / others.length)
    }%; mean size of the level there ${size(few)}, of the others ${
      size(others.filter((one) => !few.includes(one)))
    }; by independent errors ${percent(binomialBelow(demo))}%`,
  );
}

/** Chance that as few of a bench's values or fewer hold, if each held by itself in 95%. */
function binomialBelow({ shoes, held }: TableAgainstTruth): number {
  let [term, total] = [0.05 ** shoes, 0];
  for (let k = 0; k <= Math.round(held * shoes); k++) {
    total += term;
    term *= (shoes - k) / (k + 1) * 0.95 / 0.05;
  }
  return total;
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 0);
  const seeds = benches === 0
    ? [DEMO_SEED]
    : Array.from({ length: benches }, (_, i) => DEMO_SEED + 1 + i);
  if (Deno.args[1] !== undefined) {
    await printScatter(seeds, Deno.args[1]);
    Deno.exit(0);
  }
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
