import type { Bench, IndexRule, Metric, Shoe, Trial } from "../lib/records/types.ts";

// What most rows of an invented bench leave empty, to be spread before what a test is about.

export const bareShoe = {
  line: null,
  edition: null,
  released: null,
  surface: null,
  size_system: null,
  size: null,
  width: null,
  price: null,
  currency: null,
  note: null,
} satisfies Partial<Shoe>;

export const bareMetric = {
  scale: "ratio",
  target: null,
  method_version: "1",
  retired: null,
  resolution: null,
  reference_uncertainty: null,
  size_free: false,
  derive: null,
} satisfies Partial<Metric>;

/** A trial that counts, of a shoe's first pair, as new. */
export const bareTrial = {
  pair: 1,
  side: null,
  hours_played: null,
  bound: null,
  excluded: null,
  note: null,
} satisfies Partial<Trial>;

/** A rating by someone who did not know the shoe, of which nothing else is known. */
export const bareImpression = {
  surface: null,
  minutes: null,
  blind: "yes",
  knew_bench: null,
  note: null,
} satisfies Partial<Bench["impressions"][number]>;

export const bareSession = {
  temperature_c: null,
  humidity_pct: null,
  note: null,
} satisfies Partial<Bench["sessions"][number]>;

/** A rule without bonuses, on the scale of its terms, that scores no shoe with a term missing. */
export const bareRule = {
  bonuses: [],
  multiplier: 1,
  offset: 0,
  missing: "withhold",
  where: null,
  note: null,
} satisfies Partial<IndexRule>;

/** The tables that a bench can do without, and what the loader counts. */
export const bareTables = {
  features: [],
  testers: [],
  pairs: [],
  calibrations: [],
  series: [],
  registrations: [],
  decisions: [],
  rules: [],
  proposals: [],
  warnings: [],
  load_notes: [],
  counts: {},
  sha256: {},
} satisfies Partial<Bench>;
