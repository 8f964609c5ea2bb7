/** Loading and checking trials: 50,000 rows, and a million with a hundred planted bad ones. */
import { loadBench } from "../../lib/records/load_bench.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { benchFolder, small } from "../records/bench_folder.ts";
import { benchmark } from "./work.ts";

const METRICS = 12;
const SHOES = 200;
const TRIALS = 5;

/** A bench of so many trials; every `badEvery`-th row has one of four faults. */
async function manyTrials(rows: number, badEvery = 0) {
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

const BAD_EVERY = 10_000;
const wanted = Deno.args.join(" ");
const folders: { readonly dir: string }[] = [];
addEventListener("unload", () => {
  for (const { dir } of folders) Deno.removeSync(dir, { recursive: true });
});
/** Made before anything is timed, and only if it is asked for. */
const folderOf = async (id: string, rows: number, badEvery?: number) => {
  if (wanted.startsWith("list") || (wanted.startsWith("measure") && wanted !== `measure ${id}`)) {
    return "";
  }
  const folder = await manyTrials(rows, badEvery);
  folders.push(folder);
  return folder.dir;
};
const thousands = await folderOf("F 50,000", 50_000);
const million = await folderOf("F", 1_000_000, BAD_EVERY);
const badLines = Array.from({ length: 100 }, (_, i) => (i + 1) * BAD_EVERY + 1);
/** Lines of trials.csv in which something is wrong, ascending. */
async function linesFound(): Promise<number[]> {
  const { problems } = await inspectBench(million);
  const lines = problems.filter(({ file }) => file === "trials.csv").map(({ line }) => line);
  return [...new Set(lines)].filter((line) => line !== null).sort((a, b) => a - b);
}

await benchmark(
  import.meta.main,
  {
    id: "F 50,000",
    title: "Load and check 50,000 trials",
    goal: { first: 500, warm: 500 },
    calls: 5,
    run: () => loadBench(thousands),
  },
  {
    id: "F",
    title: "Check 1,000,000 trials, 100 of them bad",
    goal: { first: 6000, warm: 6000 },
    calls: 0,
    goal_mib: 400,
    run: () => inspectBench(million),
    agreement: async () => {
      const found = await linesFound();
      return {
        against: "the planted lines",
        gap: badLines.filter((line) => !found.includes(line)).length +
          found.filter((line) => !badLines.includes(line)).length,
        allowed: 0,
      };
    },
    inR: {
      script: "load_trials.R",
      inputs: { folder: [[million]] },
      numbers: linesFound,
      allowed: 0,
    },
  },
);
