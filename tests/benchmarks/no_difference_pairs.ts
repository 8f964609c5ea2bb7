/**
 * How often does a comparison call two shoes different that are the same?
 *
 * Benches are invented over and over with a known truth: shoes come in pairs of one true value, and
 * session, operator, visit and trial add noise of known size. Printed for each design: the share of
 * such pairs called *differ* on one metric alone; the share of questions over all metrics with any false
 * *differ*; and
 * among pairs that truly stand the smallest difference apart, the share whose interval misses that, and the
 * shares called *alike*, or *differ by enough to feel*.
 *
 * Run: deno run -A tests/benchmarks/no_difference_pairs.ts [benches]
 */
import type { Bench, Metric, Session, Shoe, Trial } from "../../lib/records/types.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { bareMetric, bareShoe, bareTables, bareTrial } from "../bare_bench.ts";

/** A lab's habits, and the SDs of its noise in units of the SD between shoes. */
export type LabDesign = {
  readonly name: string;
  /** An even number. */
  readonly shoes: number;
  readonly sessions: number;
  readonly references: number;
  readonly trials: number;
  readonly metrics: number;
  readonly noise: {
    readonly session: number;
    readonly operator: number;
    readonly visit: number;
    readonly trial: number;
  };
};

const noise = { session: 0.25, operator: 0.1, visit: 0.25, trial: 0.4 };

export const designs: readonly LabDesign[] = [
  {
    name: "50 shoes, 27 sessions, 2 references",
    shoes: 50,
    sessions: 27,
    references: 2,
    trials: 4,
    metrics: 6,
    noise,
  },
  {
    name: "12 shoes, 5 sessions, 2 references",
    shoes: 12,
    sessions: 5,
    references: 2,
    trials: 4,
    metrics: 6,
    noise,
  },
  {
    name: "16 shoes, 8 sessions, 1 reference, little visit noise",
    shoes: 16,
    sessions: 8,
    references: 1,
    trials: 3,
    metrics: 6,
    noise: { session: 0, operator: 0, visit: 0.05, trial: 0.4 },
  },
  {
    name: "20 shoes, 1 session, no reference",
    shoes: 20,
    sessions: 1,
    references: 0,
    trials: 5,
    metrics: 6,
    noise: { session: 0, operator: 0, visit: 0, trial: 0.5 },
  },
];

/** What differs by how much, in the truth: shoes 2i and 2i + 1 are a pair, `apart` from each other. */
export function inventedBench(design: LabDesign, seed: number, apart: number): Bench {
  const stream = randomStream(seed);
  const shoes = Array.from({ length: design.shoes }, (_, i): Shoe => ({
    ...bareShoe,
    shoe_id: `shoe-${String(i).padStart(2, "0")}`,
    maker: "Invented",
    model: `Model ${i}`,
    size_system: "mondopoint",
    size: 285,
  }));
  const sessions = Array.from({ length: design.sessions }, (_, i): Session => ({
    session_id: `s${i}`,
    date: new Date(Date.UTC(2026, 0, 1 + 7 * i)).toISOString().slice(0, 10),
    operator: `operator-${i % 2}`,
    rig: "rig",
    temperature_c: null,
    humidity_pct: null,
    note: null,
  }));
  const metrics = Array.from({ length: design.metrics }, (_, i): Metric => ({
    ...bareMetric,
    id: `metric-${i}`,
    title: `Metric ${i}`,
    unit: "mm",
    better: "higher",
    plausible: { low: -1000, high: 1000 },
    smallest_difference: 1,
    decimals: 2,
    group: "stability",
    method: "invented",
    introduced: "2026-01-01",
  }));
  const references = shoes.slice(-design.references || shoes.length, shoes.length);
  const trials: Trial[] = [];
  for (const metric of metrics) {
    const truth: number[] = [];
    for (let i = 0; i < shoes.length; i += 2) {
      const value = 20 + stream.normal();
      truth.push(value, value + apart);
    }
    const operators = [0, 1].map(() => design.noise.operator * stream.normal());
    sessions.forEach((session, s) => {
      const sessionPart = design.noise.session * stream.normal();
      shoes.forEach((shoe, i) => {
        // The two shoes of a pair mostly meet in different sessions, which is the harder case.
        const planned = (i * 7 + Math.floor(i / 2)) % design.sessions === s;
        if (!planned && !references.includes(shoe)) return;
        const visit = design.noise.visit * stream.normal();
        for (let trial = 1; trial <= design.trials; trial++) {
          const value = truth[i] + sessionPart + operators[s % 2] + visit +
            design.noise.trial * stream.normal();
          trials.push({
            ...bareTrial,
            session_id: session.session_id,
            shoe_id: shoe.shoe_id,
            metric_id: metric.id,
            trial,
            value,
            given_value: value,
            given_unit: "mm",
            line: trials.length + 2,
          });
        }
      });
    });
  }
  return {
    ...bareTables,
    dir: "",
    settings: {
      name: "Invented",
      about: "",
      invented: true,
      size_system: "mondopoint",
      rating: { min: 1, max: 10, step: 1 },
      attributes: [],
      reference_shoes: references.map(({ shoe_id }) => shoe_id),
      confidence: 0.95,
      trials_per_visit: design.trials,
      fresh_hours: 2,
      corrected_metrics: [],
      main_index: null,
    },
    metrics,
    shoes,
    sessions,
    trials,
    impressions: [],
  };
}

/** Shares of all comparisons or questions asked of the benches. */
export type FalseClaims = {
  readonly differ: number;
  readonly any_differ: number;
  readonly missed: number;
  readonly alike_at_margin: number;
  readonly felt_at_margin: number;
};

/** Counts the false claims of `benches` invented benches. */
export function falseClaims(design: LabDesign, benches: number, seed: number): FalseClaims {
  const count = { single: 0, differ: 0, missed: 0, whole: 0, any: 0, margin: 0, alike: 0, felt: 0 };
  for (let b = 0; b < benches; b++) {
    for (const apart of [0, 1]) {
      const bench = inventedBench(design, seed + b, apart);
      const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
      for (let i = 0; i < design.shoes - 2 * design.references; i += 2) {
        const shoes = [bench.shoes[i + 1].shoe_id, bench.shoes[i].shoe_id];
        for (const { id } of bench.metrics) {
          const [pair] = shoeComparison(bench, { shoes, metrics: [id], reliability }).comparisons;
          const { lower, upper } = pair.difference;
          if (apart === 0) {
            count.single++;
            if (pair.word.startsWith("differ")) count.differ++;
          } else {
            count.margin++;
            if (lower! > apart || upper! < apart) count.missed++;
            if (pair.word === "alike") count.alike++;
            if (pair.word === "differ by enough to feel") count.felt++;
          }
        }
        if (apart === 0) {
          const { comparisons } = shoeComparison(bench, { shoes, reliability });
          count.whole++;
          if (comparisons.some(({ word }) => word.startsWith("differ"))) count.any++;
        }
      }
    }
  }
  return {
    differ: count.differ / count.single,
    any_differ: count.any / count.whole,
    missed: count.missed / count.margin,
    alike_at_margin: count.alike / count.margin,
    felt_at_margin: count.felt / count.margin,
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 60);
  const percent = (share: number) => `${(100 * share).toFixed(1)}%`;
  for (const design of designs) {
    const found = falseClaims(design, benches, 20260101);
    console.log(design.name);
    for (const [name, share] of Object.entries(found)) console.log(`  ${name} ${percent(share)}`);
  }
}
