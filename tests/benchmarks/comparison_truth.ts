/**
 * Do the intervals of answers hold the truth, single and together, whatever the noise looks like?
 *
 * Benches and panels are invented over and over with a known truth by a generator of its own: it shares no
 * code with the kit. A row says in how many of 100 questions: a single interval holds the true difference;
 * all intervals of a question hold together; two equal shoes are called *differ*; the places of three asked
 * shoes all hold the true ones; all ranks of the index hold together.
 *
 * Run: deno run --config tests/deno.json -A tests/benchmarks/comparison_truth.ts [benches]
 */
import type { Bench } from "../../lib/records/types.ts";
import { catalogueStanding } from "../../lib/studies/comparison/catalogue_standing.ts";
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { indexScores } from "../../lib/studies/index/index_scores.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { Chance, type Shape } from "./chance.ts";
import {
  bareImpression,
  bareMetric,
  bareRule,
  bareShoe,
  bareTables,
  bareTrial,
} from "../bare_bench.ts";

/** One kind of bench and panel. */
export type TruthRow = {
  readonly name: string;
  readonly shape: Shape;
  readonly trials: number;
  readonly testers: number;
  /** Testers who wear each shoe. */
  readonly wear: number;
  readonly step: number;
  readonly flat: boolean;
  readonly divided: number;
};

const usual: TruthRow = {
  name: "normal noise",
  shape: "normal",
  trials: 4,
  testers: 6,
  wear: 4,
  step: 0.5,
  flat: false,
  divided: 0,
};

export const truthRows: readonly TruthRow[] = [
  usual,
  { ...usual, name: "t(4)", shape: "t(4)" },
  { ...usual, name: "skewed", shape: "skewed" },
  { ...usual, name: "one trial a visit", trials: 1 },
  { ...usual, name: "ratings of three levels", step: 4.5 },
  { ...usual, name: "two testers", testers: 2, wear: 2 },
  { ...usual, name: "a tester who gives everything the same", flat: true },
  { ...usual, name: "one shoe in ten divides the panel", divided: 0.1 },
];

const SHOES = 20;
const SESSIONS = 8;
const METRICS = ["m0", "m1", "m2"];

type Truth = {
  readonly bench: Bench;
  readonly value: (metric: string, shoe: string) => number;
  readonly felt: (shoe: string) => number;
};

/** Shoes come in twins of one truth; two references are read in every session, all others in two. */
function invent(row: TruthRow, seed: number): Truth {
  const chance = new Chance(seed);
  const shoes = Array.from({ length: SHOES + 2 }, (_, i) => `s${String(i).padStart(2, "0")}`);
  const truth = new Map<string, number>();
  const trials: unknown[] = [];
  for (const metric of METRICS) {
    shoes.forEach((shoe, i) => {
      const twin = i % 2 === 1 && i < SHOES ? truth.get(`${metric} ${shoes[i - 1]}`) : undefined;
      truth.set(`${metric} ${shoe}`, twin ?? 20 + chance.normal());
    });
    for (let s = 0; s < SESSIONS; s++) {
      const session = 0.2 * chance.normal();
      shoes.forEach((shoe, i) => {
        const planned = (i + Math.floor(i / 3)) % SESSIONS === s || (3 * i + 1) % SESSIONS === s;
        if (i < SHOES && !planned) return;
        const visit = 0.2 * chance.noise(row.shape);
        for (let trial = 1; trial <= row.trials; trial++) {
          const value = truth.get(`${metric} ${shoe}`)! + session + visit +
            0.4 * chance.noise(row.shape);
          trials.push({
            ...bareTrial,
            session_id: `v${s}`,
            shoe_id: shoe,
            metric_id: metric,
            trial,
            value,
            given_value: value,
            given_unit: "mm",
            line: trials.length + 2,
          });
        }
      });
    }
  }
  const { impressions, felt } = panel(row, chance, shoes.slice(0, SHOES));
  return {
    bench: benchOf(shoes, { trials, impressions, step: row.step }),
    value: (metric, shoe) => truth.get(`${metric} ${shoe}`)!,
    felt: (shoe) => felt.get(shoe)!,
  };
}

function panel(row: TruthRow, chance: Chance, shoes: readonly string[]) {
  const felt = new Map<string, number>();
  shoes.forEach((shoe, i) =>
    felt.set(shoe, i % 2 === 1 ? felt.get(shoes[i - 1])! : 5.5 + chance.normal())
  );
  const lenient = Array.from({ length: row.testers }, () => 0.7 * chance.normal());
  const impressions = shoes.flatMap((shoe) => {
    const divides = chance.next() < row.divided ? 2 : 1;
    const order = lenient.map((_, tester) => ({ tester, draw: chance.next() }))
      .sort((a, b) => a.draw - b.draw).slice(0, row.wear);
    return order.map(({ tester }) => {
      const exact = felt.get(shoe)! + lenient[tester] + 0.9 * divides * chance.noise(row.shape);
      const stepped = 1 + row.step * Math.round((exact - 1) / row.step);
      const rating = row.flat && tester === 0 ? 6 : Math.min(10, Math.max(1, stepped));
      return {
        ...bareImpression,
        date: "2026-02-01",
        tester: `t${tester}`,
        shoe_id: shoe,
        attribute: "feel",
        rating,
      };
    });
  });
  return { impressions, felt };
}

function benchOf(
  shoes: readonly string[],
  { trials, impressions, step }: {
    readonly trials: unknown[];
    readonly impressions: unknown[];
    readonly step: number;
  },
): Bench {
  const bench = {
    ...bareTables,
    dir: "",
    settings: {
      name: "Invented",
      about: "",
      invented: true,
      size_system: "mondopoint",
      rating: { min: 1, max: 10, step },
      attributes: [{ id: "feel", title: "Feel", better: "higher" }],
      reference_shoes: shoes.slice(SHOES),
      confidence: 0.95,
      trials_per_visit: 4,
      fresh_hours: 2,
      corrected_metrics: [],
    },
    metrics: METRICS.map((id) => ({
      ...bareMetric,
      id,
      title: id,
      unit: "mm",
      better: "higher",
      plausible: { low: -1000, high: 1000 },
      smallest_difference: 0.5,
      decimals: 2,
      group: "stability",
      method: "invented",
      introduced: "2026-01-01",
    })),
    shoes: shoes.map((shoe_id) => ({
      ...bareShoe,
      shoe_id,
      maker: "Invented",
      model: shoe_id,
      line: shoe_id,
      size_system: "mondopoint",
      size: 285,
    })),
    features: [],
    sessions: Array.from({ length: SESSIONS }, (_, s) => ({
      session_id: `v${s}`,
      date: `2026-01-${String(3 * s + 1).padStart(2, "0")}`,
      operator: "o",
      rig: "r",
      temperature_c: null,
      humidity_pct: null,
      note: null,
    })),
    trials,
    impressions,
    testers: [],
    pairs: [],
    calibrations: [],
    decisions: [],
    rules: [{
      id: "r",
      version: "1",
      title: "R",
      effective: "2026-01-01",
      target_attribute: "feel",
      terms: METRICS.map((metric) => ({
        metric,
        weight: 1,
        scaling: { kind: "range", low: 0, high: 40 },
      })),
      ...bareRule,
    }],
  };
  return bench as unknown as Bench;
}

/** Shares of questions, from 0 to 1. */
export type TruthShares = Readonly<
  Record<
    | "single"
    | "together"
    | "false_differ"
    | "court"
    | "court_together"
    | "court_differ"
    | "places"
    | "ranks",
    number
  >
>;

/** Counts over invented benches. */
export function truthShares(row: TruthRow, benches: number, seed: number): TruthShares {
  const counts = new Map<string, [hits: number, all: number]>();
  const count = (name: string, hit: boolean) => {
    const [hits, all] = counts.get(name) ?? [0, 0];
    counts.set(name, [hits + Number(hit), all + 1]);
  };
  for (let b = 0; b < benches; b++) {
    const truth = invent(row, seed + b);
    const { bench } = truth;
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    const ask = (shoes: string[], metrics: string[], attributes: string[]) =>
      shoeComparison(bench, { shoes, metrics, attributes, reliability }).comparisons;
    const holds = (pair: ReturnType<typeof ask>[number]) => {
      const of = (shoe: string) =>
        pair.metric === null ? truth.felt(shoe) : truth.value(pair.metric, shoe);
      const apart = of(pair.a) - of(pair.b);
      const { lower, upper } = pair.difference;
      return lower! <= apart && apart <= upper!;
    };
    const id = (i: number) => bench.shoes[i].shoe_id;
    for (let i = 0; i < SHOES; i += 4) {
      const [one] = ask([id(i), id((i + 3) % SHOES)], ["m0"], []);
      count("single", holds(one));
      const [twins] = ask([id(i), id(i + 1)], ["m1"], []);
      count("false_differ", twins.word.startsWith("differ"));
      const [worn] = ask([id(i), id((i + 3) % SHOES)], [], ["feel"]);
      count("court", holds(worn));
      const [alike] = ask([id(i), id(i + 1)], [], ["feel"]);
      count("court_differ", alike.word.startsWith("differ"));
    }
    count("together", ask([id(0), id(1), id(6), id(11)], METRICS, []).every(holds));
    count("court_together", ask([id(0), id(1), id(6), id(11)], [], ["feel"]).every(holds));
    const order =
      (of: (shoe: string) => number) => (shoe: string, lower: number, upper: number) => {
        const products = bench.shoes.slice(0, SHOES).map(({ shoe_id }) => shoe_id);
        const ahead = products.filter((other) => of(other) > of(shoe) + 1e-9).length;
        const tied = products.filter((other) => Math.abs(of(other) - of(shoe)) <= 1e-9).length;
        // Twins share their places: any of them is true.
        return lower <= ahead + tied && upper >= ahead + 1;
      };
    const asked = catalogueStanding(bench, {
      metric: "m2",
      shoes: [id(2), id(9), id(15)],
      reliability: {
        metrics: reliability.metrics.map((metric) => ({
          ...metric,
          verdict: "fit to rank single shoes",
        })),
      },
    }).shoes.filter((shoe) => shoe.asked);
    const onMetric = order((shoe) => truth.value("m2", shoe));
    count(
      "places",
      asked.every(({ shoe_id, place }) =>
        onMetric(shoe_id, place!.place_lower!, place!.place_upper!)
      ),
    );
    const onIndex = order((shoe) =>
      METRICS.reduce((sum, metric) => sum + truth.value(metric, shoe), 0)
    );
    count(
      "ranks",
      indexScores(bench, { reliability, seed: 1 }).shoes.filter(({ rank }) => rank !== null)
        .every(({ shoe_id, rank_lower, rank_upper }) => onIndex(shoe_id, rank_lower!, rank_upper!)),
    );
  }
  return Object.fromEntries(
    [...counts].map(([name, [hits, all]]) => [name, hits / all]),
  ) as TruthShares;
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 200);
  for (const row of truthRows) {
    const shares = truthShares(row, benches, 20260101);
    console.log(
      `${row.name}: ${
        Object.entries(shares).map(([name, share]) => `${name} ${(100 * share).toFixed(1)}`)
          .join(", ")
      }`,
    );
  }
}
