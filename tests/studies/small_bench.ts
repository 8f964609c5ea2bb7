import type { Bench, Impression, Metric, Trial } from "../../lib/records/types.ts";
import { bareImpression, bareShoe, bareTables, bareTrial } from "../bare_bench.ts";

/** One visit of a test bench: readings in order; null is a lost one. */
export type SmallVisit = {
  readonly shoe: string;
  readonly session: string;
  readonly values: readonly (number | null)[];
  readonly operator?: string;
  readonly rig?: string | null;
  readonly date?: string;
};

const metric: Metric = {
  id: "height",
  title: "Height",
  unit: "cm",
  scale: "ratio",
  better: "higher",
  target: null,
  plausible: { low: -1e12, high: 1e12 },
  smallest_difference: 1,
  decimals: 1,
  group: "propulsion",
  method: "made up",
  method_version: "1",
  introduced: "2000-01-01",
  retired: null,
  resolution: null,
  reference_uncertainty: null,
  size_free: false,
  derive: null,
};

/** A bench in memory with one metric, for tests: sessions take operator, rig and date of their first visit. */
export function smallBench(
  visits: readonly SmallVisit[],
  { references = [], about = {}, ratings = [], testers = [] }: {
    readonly references?: readonly string[];
    readonly about?: Partial<Metric>;
    readonly ratings?: readonly (readonly [tester: string, shoe: string, rating: number | null])[];
    readonly testers?: Bench["testers"];
  } = {},
): Bench {
  const shoes = [
    ...new Set([...visits.map(({ shoe }) => shoe), ...ratings.map(([, shoe]) => shoe)]),
  ];
  const sessions = [...Map.groupBy(visits, ({ session }) => session)].map((
    [session_id, own],
    i,
  ) => ({
    session_id,
    date: own[0].date ?? `2026-01-${String(i + 1).padStart(2, "0")}`,
    operator: own[0].operator ?? "one",
    rig: own[0].rig ?? null,
    temperature_c: null,
    humidity_pct: null,
    note: null,
  }));
  let line = 1;
  return {
    ...bareTables,
    dir: "",
    settings: {
      name: "Test",
      about: "",
      invented: true,
      size_system: "eu",
      rating: { min: 1, max: 10, step: 1 },
      attributes: ratings.length === 0
        ? []
        : [{ id: "feel", title: "Feel", better: "higher" as const }],
      reference_shoes: references,
      confidence: 0.95,
      trials_per_visit: 5,
      fresh_hours: 2,
      corrected_metrics: [],
      main_index: null,
    },
    metrics: [{ ...metric, ...about }],
    shoes: shoes.map((shoe_id) => ({
      ...bareShoe,
      shoe_id,
      maker: "Maker",
      model: shoe_id,
    })),
    sessions,
    trials: visits.flatMap(({ shoe, session, values }) =>
      values.map((value, i): Trial => ({
        ...bareTrial,
        session_id: session,
        shoe_id: shoe,
        metric_id: "height",
        trial: i + 1,
        value,
        given_value: value,
        given_unit: "cm",
        line: ++line,
      }))
    ),
    impressions: ratings.map(([tester, shoe_id, rating], i): Impression => ({
      ...bareImpression,
      date: "2026-02-01",
      tester,
      shoe_id,
      attribute: "feel",
      rating,
      line: i + 2,
    })),
    testers,
  };
}

/** Whether everything in a result is a finite number, text, yes or no, null, or made of those. */
export function lostValues(value: unknown, place = "result"): string[] {
  if (typeof value === "number") return Number.isFinite(value) ? [] : [`${place} is ${value}`];
  if (value === undefined || typeof value === "function") return [`${place} is ${typeof value}`];
  if (value instanceof Map || value instanceof Set) {
    return [`${place} is a ${value.constructor.name}`];
  }
  if (typeof value !== "object" || value === null) return [];
  return Object.entries(value).flatMap(([key, part]) => lostValues(part, `${place}.${key}`));
}
