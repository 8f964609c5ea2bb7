import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import type { MetricReliability } from "../../lib/studies/repeatability/trial_reliability.ts";

/** The demo's folder. */
export const demoDir = new URL("../../data-demo", import.meta.url).pathname;

/** The demo with its noise as it was planted, so that tests of rules need no study of repeatability. */
export async function demoWithPlantedNoise(): Promise<
  { bench: Bench; reliability: { metrics: MetricReliability[] } }
> {
  const truth = JSON.parse(await Deno.readTextFile(`${demoDir}/truth.json`));
  const metrics = Object.entries(truth.metrics).map(([metric, about]) => ({
    metric,
    components: Object.entries((about as { variances: Record<string, number> }).variances).map(
      ([source, variance]) => ({ source, variance }),
    ),
  }));
  return {
    bench: await loadBench(demoDir),
    reliability: { metrics: metrics as unknown as MetricReliability[] },
  };
}

/** The same bench, half of whose shoes were never read on a metric. */
export function withoutHalf(bench: Bench, metric: string): Bench {
  const half = new Set(bench.shoes.filter((_, index) => index % 2 === 0).map((s) => s.shoe_id));
  return {
    ...bench,
    trials: bench.trials.filter((row) => row.metric_id !== metric || !half.has(row.shoe_id)),
  };
}
