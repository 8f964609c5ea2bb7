/**
 * Does "can be told from it" keep its risk over all shoes and metrics, and does the limit of what may lie between two hold?
 *
 * Benches are invented over and over with a known truth by a generator of its own (`chance.ts`), which shares no code with
 * the kit. One shoe is asked about. Just under half of the others have its true value on every metric; an eighth differ from it
 * on every metric by two true standard errors of a difference; the rest by a spread of four. All, and two references, are
 * benched on the same two days, three trials each, with noise of days, visits and trials of the row's shape, all metrics independent. Printed,
 * in %: equal shoes whose joint p is at most 5%; benches on which any equal shoe is told apart (goal of both at most 6),
 * and by single tests alone, which take half of the risk; shoes two standard errors off that are told apart, and by a single
 * test; limits of the true distance of these that hold it (goal 93), whatever was said of them.
 *
 * Run: deno run --config tests/deno.json -A tests/benchmarks/like_yardstick.ts [benches]
 */
import type { Bench } from "../../lib/records/types.ts";
import { noncentralityLimit } from "../../lib/statistics/noncentral_chi_squared.ts";
import { likeShoes } from "../../lib/studies/questions/like_shoes.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench } from "../studies/small_bench.ts";
import { Chance, type Shape } from "./chance.ts";

export type LikeRow = { readonly shoes: number; readonly metrics: number; readonly shape: Shape };

export const likeRows: readonly LikeRow[] = [
  ...[1, 2, 4, 12].flatMap((metrics) =>
    [6, 12, 40].map((shoes): LikeRow => ({ shoes, metrics, shape: "normal" }))
  ),
  ...(["t(4)", "skewed"] as const).flatMap((shape) =>
    [6, 12, 40].map((shoes): LikeRow => ({ shoes, metrics: 8, shape }))
  ),
];

const sd = { day: 1, visit: 0.5, trial: 0.6 };
/** Of a difference of two shoes that were benched on the same two days. */
const error = Math.sqrt(sd.visit ** 2 + sd.trial ** 2 / 3);

/** One invented bench; how many of its shoes, after the first, equal the first, and how many are two errors off. */
export function likeBench({ shoes, metrics, shape }: LikeRow, seed: number): {
  readonly bench: Bench;
  readonly equal: number;
  readonly off: number;
} {
  const chance = new Chance(seed);
  const equal = Math.floor(shoes / 2) - 1;
  const off = Math.max(1, Math.floor(shoes / 8));
  const parts = Array.from({ length: metrics }, (_, metric) => {
    const days = [0, 1].map(() => sd.day * chance.noise(shape));
    // The last two are references, which are asked about by nobody.
    const truth = Array.from({ length: shoes + 2 }, (_, shoe) => {
      if (shoe <= equal) return 20;
      if (shoe <= equal + off) return 20 + (chance.next() < 0.5 ? -2 : 2) * error;
      return 20 + 4 * error * chance.normal();
    });
    const bench = smallBench(
      days.flatMap((day, session) =>
        truth.map((value, shoe) => {
          const visit = value + day + sd.visit * chance.noise(shape);
          return {
            shoe: `s${shoe}`,
            session: `d${session}`,
            values: [0, 1, 2].map(() => visit + sd.trial * chance.noise(shape)),
          };
        })
      ),
      {
        about: { id: `m${metric}`, title: `Metric ${metric}` },
        references: [`s${shoes}`, `s${shoes + 1}`],
      },
    );
    return {
      ...bench,
      trials: bench.trials.map((row) => ({ ...row, metric_id: `m${metric}` })),
    };
  });
  return {
    bench: {
      ...parts[0],
      metrics: parts.flatMap((part) => part.metrics),
      trials: parts.flatMap((part) => part.trials),
    },
    equal,
    off,
  };
}

/** What is counted over so many benches of a row. */
export function likeCounts(row: LikeRow, benches: number) {
  const found = {
    equal: 0,
    joint: 0,
    anyTold: 0,
    anySingle: 0,
    off: 0,
    offTold: 0,
    offSingle: 0,
    held: 0,
  };
  for (let bench = 1; bench <= benches; bench++) {
    const made = likeBench(row, 7919 * bench + row.shoes + 100 * row.metrics);
    const reliability = trialReliability(made.bench, { seed: bench, resamples: 100 });
    // Fit to publish or not: what is asked is whether the words hold.
    const all = reliability.metrics.map((about) => ({
      ...about,
      verdict: "fit to rank single shoes" as const,
    }));
    const { shoes } = likeShoes(made.bench, { shoe: "s0", reliability: { metrics: all } });
    const place = (id: string) => Number(id.slice(1));
    const equal = shoes.filter(({ shoe_id }) => place(shoe_id) <= made.equal);
    const off = shoes.filter(({ shoe_id }) =>
      place(shoe_id) > made.equal && place(shoe_id) <= made.equal + made.off
    );
    const told = equal.filter(({ word }) => word === "told apart");
    found.equal += equal.length;
    found.joint += equal.filter(({ joint_p }) => joint_p <= 0.05).length;
    if (told.length > 0) found.anyTold++;
    if (told.some(({ differs_on }) => differs_on.length > 0)) found.anySingle++;
    found.off += off.length;
    found.offTold += off.filter(({ word }) => word === "told apart").length;
    found.offSingle += off.filter(({ differs_on }) => differs_on.length > 0).length;
    found.held += off.filter(({ distance, metrics }) =>
      noncentralityLimit(metrics * Math.max(1, distance ** 2), metrics) >= 4 * metrics
    ).length;
  }
  return found;
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 200);
  console.log(
    "shoes × metrics | joint p | any told | by one test | 2 off told | by one | limit held",
  );
  for (const row of likeRows) {
    const started = performance.now();
    const found = likeCounts(row, benches);
    const share = (part: number, of: number) => (100 * part / of).toFixed(1);
    console.log(
      [
        `${row.shoes} × ${row.metrics} ${row.shape}`,
        share(found.joint, found.equal),
        share(found.anyTold, benches),
        share(found.anySingle, benches),
        share(found.offTold, found.off),
        share(found.offSingle, found.off),
        share(found.held, found.off),
        `${((performance.now() - started) / 1000).toFixed(0)} s`,
      ].join(" | "),
    );
  }
}
