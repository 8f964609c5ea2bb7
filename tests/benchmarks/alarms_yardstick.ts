/**
 * How often does the bench's side of a review cry wolf, and do its figures of noise hold the truth?
 *
 * Benches are invented over and over by a generator of its own, with nothing planted: no drift, no step, no
 * effect of order, no slip. A row says on how many of 100 benches one is claimed on any of six metrics, and in
 * how many of 100 metrics the 95% limits of the SEM (a mean within a session) and of the MDC across sessions
 * hold what the bench was made with.
 *
 *     deno run --config tests/deno.json -A tests/benchmarks/alarms_yardstick.ts [benches = 200] [row]
 */
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench, type SmallVisit } from "../studies/small_bench.ts";
import { Chance, type Shape } from "./chance.ts";

type Row = { readonly name: string; readonly shape: Shape; readonly trials: number };

const rows: readonly Row[] = [
  { name: "normal noise", shape: "normal", trials: 4 },
  { name: "t(4)", shape: "t(4)", trials: 4 },
  { name: "skewed", shape: "skewed", trials: 4 },
  { name: "one trial a visit", shape: "normal", trials: 1 },
  { name: "one trial a visit, t(4)", shape: "t(4)", trials: 1 },
];

const METRICS = ["m0", "m1", "m2", "m3", "m4", "m5"];
const SHOES = 30;
const SESSIONS = 18;
const SD = { session: 0.2, visit: 0.2, trial: 0.4 };

/** Two references in every session, all other shoes in two of 18; two rigs and two operators that read alike. */
function invent(row: Row, seed: number) {
  const chance = new Chance(seed);
  const shoes = Array.from({ length: SHOES + 2 }, (_, i) => `s${i}`);
  const sessions = Array.from({ length: SESSIONS }, (_, s) => ({
    session: `v${s}`,
    date: new Date(Date.UTC(2025, 0, 10 + 21 * s)).toISOString().slice(0, 10),
    rig: `rig ${s % 2}`,
    operator: chance.next() < 0.5 ? "one" : "two",
  }));
  const read = METRICS.map(() => {
    const truth = shoes.map(() => 20 + chance.normal());
    return sessions.flatMap((session, s): SmallVisit[] => {
      const day = SD.session * chance.noise(row.shape);
      return shoes.flatMap((shoe, i) => {
        const planned = i >= SHOES || i % SESSIONS === s || (5 * i + 7) % SESSIONS === s;
        if (!planned) return [];
        const visit = truth[i] + day + SD.visit * chance.noise(row.shape);
        const values = Array.from(
          { length: row.trials },
          () => visit + SD.trial * chance.noise(row.shape),
        );
        return [{ shoe, ...session, values }];
      });
    });
  });
  const benches = read.map((visits) => smallBench(visits, { references: shoes.slice(SHOES) }));
  return {
    ...benches[0],
    metrics: METRICS.map((id) => ({ ...benches[0].metrics[0], id, title: id })),
    trials: benches.flatMap(({ trials }, m) =>
      trials.map((trial) => ({ ...trial, metric_id: METRICS[m] }))
    ),
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 200);
  const share = (hits: number, of: number) => of === 0 ? "" : (100 * hits / of).toFixed(1);
  console.log("| row | drift | step | order | outlier | SEM holds | MDC holds |");
  console.log("| --- | ----- | ---- | ----- | ------- | --------- | --------- |");
  for (const row of rows.filter(({ name }) => name === (Deno.args[1] ?? name))) {
    const alarms = { drift: 0, step: 0, order: 0, outlier: 0 };
    const held = { sem: [0, 0], mdc: [0, 0] };
    const count = (name: keyof typeof held, truth: number, limits: Limits) => {
      if (limits.lower === null || limits.upper === null) return;
      held[name][0] += Number(limits.lower <= truth && truth <= limits.upper);
      held[name][1]++;
    };
    for (let seed = 1; seed <= benches; seed++) {
      const bench = invent(row, seed);
      const { rigs, steps } = referenceDrift(bench);
      alarms.drift += Number(rigs.some(({ claimed }) => claimed));
      alarms.step += Number(steps.some(({ found }) => found));
      const { metrics } = trialReliability(bench, { seed, resamples: 300 });
      alarms.order += Number(metrics.some(({ order_test }) => order_test.found));
      alarms.outlier += Number(metrics.some(({ outliers }) => outliers.length > 0));
      for (const { sem, mdc } of metrics) {
        const trial = SD.trial ** 2 / row.trials;
        count("sem", Math.sqrt(trial), sem);
        const across = SD.session ** 2 + SD.visit ** 2 + trial;
        count("mdc", 1.959964 * Math.sqrt(2 * across), mdc.mean_across_sessions);
      }
    }
    const figures = [
      ...Object.values(alarms).map((hits) => share(hits, benches)),
      ...Object.values(held).map(([hits, of]) => share(hits, of)),
    ];
    console.log(`| ${row.name} | ${figures.join(" | ")} |`);
  }
}

type Limits = { readonly lower: number | null; readonly upper: number | null };
