/**
 * How long, and in how much memory, does a million trials take to load and check?
 *
 * `deno bench -A tests/benchmarks/load_trials.bench.ts`. The rows are made in a folder of their own;
 * peak memory is that of a fresh process that loads them, read from the system where it tells.
 */
import { loadBench } from "../../lib/records/load_bench.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { benchFolder, small } from "../records/bench_folder.ts";

const METRICS = 12;
const SHOES = 200;
const TRIALS = 5;

/** A bench of about so many trials; every `badEvery`-th row has one of five faults. */
export async function manyTrials(rows: number, badEvery = 0) {
  const metrics = Array.from({ length: METRICS }, (_, i) => ({
    ...small["metrics.json"][0],
    id: `metric-${i}`,
  }));
  const sessionCount = Math.ceil(rows / (SHOES * METRICS * TRIALS));
  const shoes = Array.from({ length: SHOES }, (_, i) => `shoe-${i},Maker ${i % 9},Model ${i}`);
  const sessions = Array.from({ length: sessionCount }, (_, i) => `s${i},2026-01-10,ann`);
  const folder = await benchFolder({
    "bench.json": { ...small["bench.json"], reference_shoes: [] },
    "metrics.json": metrics,
    "shoes.csv": ["shoe_id,maker,model", ...shoes, ""].join("\n"),
    "sessions.csv": ["session_id,date,operator", ...sessions, ""].join("\n"),
    "features.csv": null,
    "impressions.csv": null,
    "testers.csv": null,
    "rules/index-1.json": null,
    "proposals/more-rebound.json": null,
    "trials.csv": null,
  });
  using file = await Deno.create(`${folder.dir}/trials.csv`);
  const encoder = new TextEncoder();
  let lines = ["session_id,shoe_id,metric_id,trial,value,unit,pair,side,excluded,note"];
  for (let row = 0; row < rows; row++) {
    const trial = row % TRIALS + 1;
    const metric = Math.floor(row / TRIALS) % METRICS;
    const shoe = Math.floor(row / TRIALS / METRICS) % SHOES;
    const session = Math.floor(row / TRIALS / METRICS / SHOES);
    let [shoeId, value, unit] = [`shoe-${shoe}`, (45 + noise(row)).toFixed(2), "cm"];
    if (badEvery > 0 && row % badEvery === badEvery - 1) {
      const fault = Math.floor(row / badEvery) % 4;
      if (fault === 0) value = `${value} cm`;
      if (fault === 1) shoeId = "shoe-unknown";
      if (fault === 2) unit = "g";
      if (fault === 3) value = "4500";
    }
    lines.push(`s${session},${shoeId},metric-${metric},${trial},${value},${unit},1,,,`);
    if (lines.length === 20_000) {
      await file.write(encoder.encode(lines.join("\n") + "\n"));
      lines = [];
    }
  }
  await file.write(encoder.encode(lines.join("\n") + "\n"));
  return folder;
}

// Near enough to normal for a bench, and the same in every run.
function noise(row: number): number {
  let sum = 0;
  for (let i = 1; i <= 4; i++) sum += (Math.imul(row * 4 + i, 2654435761) >>> 0) / 2 ** 32 - 0.5;
  return sum;
}

if (import.meta.main && Deno.args[0] === "measure") {
  const started = performance.now();
  const { problems, counts } = await inspectBench(Deno.args[1]);
  const seconds = (performance.now() - started) / 1000;
  const status = await Deno.readTextFile("/proc/self/status").catch(() => "");
  const peak = Number(/VmHWM:\s*(\d+)/.exec(status)?.[1] ?? NaN) / 1024;
  console.log(JSON.stringify({ seconds, peak_mib: peak, problems: problems.length, counts }));
} else {
  const folders = {
    thousands: await manyTrials(50_000),
    million: await manyTrials(1_000_000, 10_000),
  };
  addEventListener("unload", () => {
    for (const { dir } of Object.values(folders)) Deno.removeSync(dir, { recursive: true });
  });
  const fresh = await new Deno.Command(Deno.execPath(), {
    args: ["run", "-A", import.meta.url, "measure", folders.million.dir],
  }).output();
  console.log(`a million rows in a fresh process: ${new TextDecoder().decode(fresh.stdout)}`);
  console.log(new TextDecoder().decode(fresh.stderr));

  Deno.bench("load and check 50,000 trials", { n: 5 }, async () => {
    await loadBench(folders.thousands.dir);
  });
  Deno.bench("check 1,000,000 trials with 100 bad rows", { n: 1, warmup: 0 }, async () => {
    await inspectBench(folders.million.dir);
  });
}
