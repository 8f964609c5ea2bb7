/**
 * How often does the repeatability study claim something on benches where nothing was planted?
 *
 * Run: deno run -A tests/benchmarks/false_alarms_repeatability.ts [benches = 200]
 *
 * Makes invented benches without slips, of shoes drawn at random, and counts those on which a drift, a step
 * between rigs, an order effect or an outlying trial is claimed; and how often the limits of the ICC of
 * the published mean hold the value the bench was made with.
 */
import { writeDemo } from "../../data-demo/make_demo.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";

type Variances = Record<"shoe" | "operator" | "session" | "shoe:session" | "residual", number>;

const [benches = 200] = Deno.args.map(Number);
const claims = {
  drift: 0,
  "rig step": 0,
  "order effect": 0,
  "outlying trial": 0,
  "divided shoe": 0,
};
let [charts, signals, flags] = [0, 0, 0];
const coverage = new Map<string, { inside: number; below: number; above: number }>();
for (let seed = 1; seed <= benches; seed++) {
  const dir = await Deno.makeTempDir();
  await writeDemo(dir, { seed, slips: "none", standing: "drawn" });
  const bench = await loadBench(dir);
  const truth = JSON.parse(await Deno.readTextFile(`${dir}/truth.json`));
  await Deno.remove(dir, { recursive: true });

  const drift = referenceDrift(bench);
  const drifting = drift.rigs.some(({ verdict }) =>
    verdict !== "no drift" && verdict !== "can't tell"
  );
  if (drifting) claims.drift++;
  if (drift.steps.some(({ kind, found }) => kind === "rig" && found)) claims["rig step"]++;
  charts += drift.charts.length;
  signals += drift.charts.filter((chart) => chart.signals.length > 0).length;

  const { metrics } = trialReliability(bench, { seed, resamples: 400 });
  if (metrics.some(({ order_test }) => order_test.found)) claims["order effect"]++;
  const flagged = metrics.reduce((total, { outliers }) => total + outliers.length, 0);
  if (flagged > 0) claims["outlying trial"]++;
  flags += flagged;
  for (const { metric, icc_mean, trials_per_visit: k } of metrics) {
    const made: Variances | undefined = truth.metrics[metric]?.variances;
    if (made === undefined || icc_mean.lower === null || icc_mean.upper === null) continue;
    const { shoe, operator, session, "shoe:session": visit, residual } = made;
    const icc = shoe / (shoe + operator + session + visit + residual / k);
    const tally = coverage.get(metric) ?? { inside: 0, below: 0, above: 0 };
    tally[icc < icc_mean.lower ? "below" : icc > icc_mean.upper ? "above" : "inside"]++;
    coverage.set(metric, tally);
  }

  const panel = panelAgreement(bench, { seed, resamples: 100, attributes: ["grip", "speed"] });
  if (panel.attributes.some(({ divided }) => divided.some(({ found }) => found))) {
    claims["divided shoe"]++;
  }
}

console.log(`${benches} benches with nothing planted; claimed on`);
for (const [name, count] of Object.entries(claims)) {
  console.log(`  ${name.padEnd(16)} ${count} (${(100 * count / benches).toFixed(1)}%)`);
}
console.log(`${flags} trials flagged in all`);
console.log(
  `${
    (100 * signals / charts).toFixed(1)
  }% of ${charts} charts had a signal for a person to look at`,
);
console.log(
  "95% limits of the ICC of the published mean: share that held the truth; truth below, above",
);
for (const [metric, { inside, below, above }] of coverage) {
  const all = inside + below + above;
  console.log(
    `  ${metric.padEnd(28)} ${(100 * inside / all).toFixed(1)}%  ${below}, ${above} of ${all}`,
  );
}
