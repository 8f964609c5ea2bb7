/**
 * The invented world behind the demo: a racquet club's workshop, its shoes, metrics, rules and proposals.
 * Every maker, model, place and figure is made up and belongs to nobody.
 */

/** Makers and models in the order they reached the bench; an edition above 1 follows its predecessor. */
export const models: readonly (readonly [maker: string, model: string, edition: number])[] = [
  ["Tolmeck", "Brindlet", 1],
  ["Quenbar", "Morrune", 1],
  ["Ellvarn", "Talvec", 1],
  ["Pavrico", "Orbinel", 1],
  ["Surrilo", "Dunnick", 1],
  ["Dhostane", "Skerrim", 1],
  ["Wembrack", "Trovane", 1],
  ["Tolmeck", "Yelmar", 1],
  ["Quenbar", "Quillop", 1],
  ["Ellvarn", "Harrowel", 1],
  ["Pavrico", "Gavorrin", 1],
  ["Surrilo", "Umberel", 1],
  ["Dhostane", "Pellifor", 1],
  ["Wembrack", "Wexling", 1],
  ["Tolmeck", "Ibbert", 1],
  ["Quenbar", "Lumbrine", 1],
  ["Tolmeck", "Brindlet", 2],
  ["Ellvarn", "Ottarel", 1],
  ["Pavrico", "Orbinel", 2],
  ["Surrilo", "Krindle", 1],
  ["Dhostane", "Vantoril", 1],
  ["Wembrack", "Sprindle", 1],
  ["Quenbar", "Morrune", 2],
  ["Tolmeck", "Tarquel", 1],
  ["Ellvarn", "Talvec", 2],
  ["Pavrico", "Fenlope", 1],
  ["Surrilo", "Dunnick", 2],
  ["Dhostane", "Grissel", 1],
  ["Wembrack", "Trovane", 2],
  ["Quenbar", "Holdrun", 1],
  ["Tolmeck", "Yelmar", 2],
  ["Ellvarn", "Inglore", 1],
  ["Pavrico", "Plimmet", 1],
  ["Tolmeck", "Brindlet", 3],
  ["Surrilo", "Rascomb", 1],
  ["Dhostane", "Skerrim", 2],
  ["Wembrack", "Ublette", 1],
  ["Quenbar", "Quillop", 2],
  ["Pavrico", "Orbinel", 3],
  ["Ellvarn", "Wendrick", 1],
  ["Surrilo", "Umberel", 2],
  ["Tolmeck", "Nobbin", 1],
  ["Quenbar", "Morrune", 3],
  ["Dhostane", "Zandrel", 1],
  ["Wembrack", "Velmarin", 1],
  ["Ellvarn", "Talvec", 3],
  ["Pavrico", "Fastrill", 1],
  ["Surrilo", "Bexamy", 1],
];

/** Two old pairs that stay in the workshop and are benched in every session; nobody plays in them. */
export const references: readonly (readonly [maker: string, model: string, edition: number])[] = [
  ["Tolmeck", "Steddle", 1],
  ["Quenbar", "Anvoril", 1],
];

/** First visits by quarter; they add up to the number of models. */
export const shoesByQuarter: Readonly<Record<string, number>> = {
  "2025Q3": 12,
  "2025Q4": 11,
  "2026Q1": 9,
  "2026Q2": 8,
  "2026Q3": 8,
};

/** A metric's entry for metrics.json, and how its readings are made. SDs are in the metric's unit. */
export type InventedMetric = {
  readonly entry: Readonly<Record<string, unknown>> & { readonly id: string };
  readonly mean: number;
  readonly sd_shoe: number;
  /** The first operator reads this much high, the second this much low. */
  readonly operator_shift: number;
  readonly sd_session: number;
  readonly sd_shoe_session: number;
  readonly sd_residual: number;
  readonly trials: number;
  /** Decimals of the instrument. */
  readonly resolution: number;
};

const club = { method_version: "1", introduced: "2025-07-01", retired: null };

/** Metrics read on the bench, in the order they are done. */
export const metrics: readonly InventedMetric[] = [
  {
    entry: {
      id: "heel-rebound",
      title: "Heel rebound",
      unit: "cm",
      scale: "ratio",
      better: "higher",
      plausible: { low: 10, high: 60 },
      smallest_difference: 1.5,
      decimals: 1,
      group: "propulsion",
      method:
        "A steel ball falls 100 cm onto the heel bed; height of the rebound read from a slowed film.",
      ...club,
      size_free: true,
    },
    mean: 29.5,
    sd_shoe: 1.6,
    operator_shift: 0,
    sd_session: 0,
    sd_shoe_session: 0.25,
    sd_residual: 0.45,
    trials: 5,
    resolution: 1,
  },
  {
    entry: {
      id: "forefoot-rebound",
      title: "Forefoot rebound",
      unit: "cm",
      scale: "ratio",
      better: "higher",
      plausible: { low: 10, high: 60 },
      smallest_difference: 1.5,
      decimals: 1,
      group: "propulsion",
      method:
        "A steel ball falls 100 cm onto the forefoot bed; height of the rebound read from a slowed film.",
      ...club,
      size_free: true,
    },
    mean: 29,
    sd_shoe: 1.7,
    operator_shift: 0.05,
    sd_session: 0,
    sd_shoe_session: 0.25,
    sd_residual: 0.45,
    trials: 5,
    resolution: 1,
  },
  {
    entry: {
      id: "tilt-slip-dry",
      title: "Tilt at slip, dry court",
      unit: "deg",
      scale: "ratio",
      better: "higher",
      plausible: { low: 15, high: 60 },
      smallest_difference: 2,
      decimals: 1,
      group: "traction",
      method:
        "The loaded shoe stands on a painted hard-court slab that tilts slowly; angle at the first slip.",
      ...club,
      size_free: true,
    },
    mean: 38.5,
    sd_shoe: 1.6,
    operator_shift: 0.1,
    sd_session: 0,
    sd_shoe_session: 0.35,
    sd_residual: 0.8,
    trials: 5,
    resolution: 1,
  },
  {
    entry: {
      id: "outsole-wear",
      title: "Outsole wear",
      unit: "mm",
      scale: "ratio",
      better: "lower",
      plausible: { low: 0, high: 3 },
      smallest_difference: 0.15,
      decimals: 2,
      group: "durability",
      method:
        "Depth of the mark after ten seconds under a coarse sanding drum at a set load. Dust: work under extraction, with eye and breath protection.",
      ...club,
    },
    mean: 0.52,
    sd_shoe: 0.1,
    operator_shift: 0,
    sd_session: 0,
    sd_shoe_session: 0.04,
    sd_residual: 0.06,
    trials: 5,
    resolution: 2,
  },
  {
    entry: {
      id: "upper-lamp-temperature",
      title: "Upper temperature under the lamp",
      unit: "Cel",
      scale: "interval",
      better: "lower",
      plausible: { low: 30, high: 110 },
      smallest_difference: 4,
      decimals: 1,
      group: "ventilation",
      method:
        "Surface of the upper after five minutes under a heat lamp, by contact probe. Heat: keep clear of the lamp and never leave it alone.",
      ...club,
    },
    mean: 66,
    sd_shoe: 1.3,
    operator_shift: 0.2,
    sd_session: 0.8,
    sd_shoe_session: 1.4,
    sd_residual: 3,
    trials: 4,
    resolution: 1,
  },
  {
    entry: {
      id: "smoke-clearing",
      title: "Smoke clearing time",
      unit: "s",
      scale: "ratio",
      better: "lower",
      plausible: { low: 3, high: 180 },
      smallest_difference: 8,
      decimals: 1,
      group: "ventilation",
      method:
        "Stage smoke is filled into the shoe on a foot form; time until it has cleared to the mark. Smoke: air the room, no open flame.",
      ...club,
    },
    mean: 44,
    sd_shoe: 8,
    operator_shift: 0.3,
    sd_session: 0,
    sd_shoe_session: 2,
    sd_residual: 4.5,
    trials: 5,
    resolution: 1,
  },
  {
    entry: {
      id: "torsional-stiffness",
      title: "Torsional stiffness",
      unit: "N.m/deg",
      scale: "ratio",
      better: "none",
      plausible: { low: 0.05, high: 3 },
      smallest_difference: 0.1,
      decimals: 2,
      group: "stability",
      method: "Heel clamped, forefoot turned to 10 degrees both ways; slope of torque over angle.",
      ...club,
    },
    mean: 0.62,
    sd_shoe: 0.14,
    operator_shift: 0.015,
    sd_session: 0,
    sd_shoe_session: 0.02,
    sd_residual: 0.03,
    trials: 4,
    resolution: 3,
  },
  {
    entry: {
      id: "forefoot-bending-stiffness",
      title: "Forefoot bending stiffness",
      unit: "N.m/deg",
      scale: "ratio",
      better: "none",
      plausible: { low: 0.02, high: 2 },
      smallest_difference: 0.06,
      decimals: 2,
      group: "propulsion",
      method:
        "Forefoot bent to 30 degrees over a rounded edge; slope of torque over angle between 5 and 25 degrees.",
      method_version: "1",
      introduced: "2026-02-14",
      retired: null,
    },
    mean: 0.34,
    sd_shoe: 0.07,
    operator_shift: 0,
    sd_session: 0,
    sd_shoe_session: 0.015,
    sd_residual: 0.02,
    trials: 4,
    resolution: 3,
  },
  {
    entry: {
      id: "inside-length",
      title: "Inside length",
      unit: "mm",
      scale: "ratio",
      better: "none",
      plausible: { low: 200, high: 350 },
      smallest_difference: 3,
      decimals: 1,
      group: "fit",
      method: "Sliding gauge from heel cup to the front of the toe box, insole in.",
      ...club,
    },
    mean: 284.5,
    sd_shoe: 2.6,
    operator_shift: 0.1,
    sd_session: 0,
    sd_shoe_session: 0.4,
    sd_residual: 0.7,
    trials: 3,
    resolution: 1,
  },
  {
    entry: {
      id: "inside-width",
      title: "Inside width",
      unit: "mm",
      scale: "ratio",
      better: "none",
      plausible: { low: 60, high: 130 },
      smallest_difference: 2,
      decimals: 1,
      group: "fit",
      method:
        "Spreading gauge at the widest place of the forefoot, insole in, set to a light touch.",
      ...club,
    },
    mean: 94.5,
    sd_shoe: 2.6,
    operator_shift: 0.3,
    sd_session: 0,
    sd_shoe_session: 0.4,
    sd_residual: 0.6,
    trials: 3,
    resolution: 1,
  },
  {
    entry: {
      id: "mass",
      title: "Mass of one shoe",
      unit: "g",
      scale: "ratio",
      better: "lower",
      plausible: { low: 150, high: 700 },
      smallest_difference: 20,
      decimals: 0,
      group: "mass",
      method: "One shoe with laces and insole on a kitchen-grade balance; left and right each.",
      ...club,
    },
    mean: 368,
    sd_shoe: 31,
    operator_shift: 0,
    sd_session: 0,
    sd_shoe_session: 0.9,
    sd_residual: 0.8,
    trials: 4,
    resolution: 1,
  },
  {
    entry: {
      id: "platform-width",
      title: "Forefoot platform width",
      unit: "mm",
      scale: "ratio",
      better: "higher",
      plausible: { low: 70, high: 150 },
      smallest_difference: 3,
      decimals: 1,
      group: "stability",
      method: "Caliper across the widest place of the forefoot outsole.",
      ...club,
    },
    mean: 109,
    sd_shoe: 3.6,
    operator_shift: 0,
    sd_session: 0,
    sd_shoe_session: 0.3,
    sd_residual: 0.5,
    trials: 3,
    resolution: 1,
  },
];

/** Computed from another metric's trials when the folder is loaded. */
export const derivedMetrics = [
  {
    after: "tilt-slip-dry",
    entry: {
      id: "friction-dry",
      title: "Static friction, dry court",
      unit: "1",
      scale: "ratio",
      better: "higher",
      plausible: { low: 0.25, high: 1.75 },
      smallest_difference: 0.06,
      decimals: 2,
      group: "traction",
      method: "Tangent of the tilt at slip. A bench figure is no safety rating.",
      ...club,
      size_free: true,
      derive: { from: "tilt-slip-dry", by: "frictionFromTilt", with: {} },
    },
  },
] as const;

export const attributes = [
  { id: "grip", title: "Grip", better: "higher" },
  { id: "liveliness", title: "Liveliness", better: "higher" },
  { id: "stability", title: "Stability", better: "higher" },
  { id: "comfort", title: "Comfort", better: "higher" },
  { id: "ventilation", title: "Ventilation", better: "higher" },
  { id: "speed", title: "Speed", better: "higher" },
] as const;

/**
 * How a latent metric leans on other latent metrics, in standard units; what is left is its own.
 * A metric that is not named here stands alone.
 */
export const metricDrivers: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  "torsional-stiffness": { mass: 0.45 },
  "platform-width": { mass: 0.35 },
  "heel-rebound": { "forefoot-rebound": 0.4 },
  "forefoot-bending-stiffness": { "torsional-stiffness": 0.3 },
  "inside-width": { "inside-length": 0.3 },
};

/** How an impression leans on latent metrics, in standard units; what is left is its own. */
export const attributeDrivers: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  grip: { "tilt-slip-dry": 0.85 },
  liveliness: { "forefoot-rebound": 0.8 },
  stability: { "torsional-stiffness": 0.55, "platform-width": 0.45 },
  comfort: {},
  ventilation: { "smoke-clearing": -0.75 },
  speed: {
    "forefoot-rebound": 0.53,
    "tilt-slip-dry": 0.44,
    mass: -0.44,
    "forefoot-bending-stiffness": 0.3,
  },
};

/** Metrics that drive no impression and lean on no metric that does. */
export const nullMetrics = ["outsole-wear", "upper-lamp-temperature", "inside-length"] as const;

/** Six testers: leniency adds to each rating, range stretches it; rated is how many shoes they were given. */
export const testers = [
  {
    id: "t1",
    leniency: 0.7,
    range: 1.1,
    rated: 48,
    mass: 92,
    length: 272,
    width: 108,
    style: "baseline",
    years: 21,
  },
  {
    id: "t2",
    leniency: -0.6,
    range: 0.9,
    rated: 45,
    mass: 71,
    length: 268,
    width: 95,
    style: "all-court",
    years: 9,
  },
  {
    id: "t3",
    leniency: 0.2,
    range: 1.2,
    rated: 42,
    mass: 64,
    length: 266,
    width: 97,
    style: "net",
    years: 14,
  },
  {
    id: "t4",
    leniency: -0.3,
    range: 0.8,
    rated: 38,
    mass: 83,
    length: 274,
    width: 106,
    style: "baseline",
    years: 30,
  },
  {
    id: "t5",
    leniency: 0.4,
    range: 1,
    rated: 35,
    mass: 78,
    length: 270,
    width: 98,
    style: "all-court",
    years: 5,
  },
  {
    id: "t6",
    leniency: -0.4,
    range: 1,
    rated: 31,
    mass: 88,
    length: 271,
    width: 105,
    style: "",
    years: 12,
  },
] as const;

/** Spread of the ratings, in rating points. */
export const panel = {
  mean: 6,
  sd_shoe: 1.2,
  sd_tester_shoe: 0.45,
  sd_residual: 0.55,
  repeat_share: 0.12,
  /** Rating points of comfort per SD of foot width and SD of inside width: wide feet like wide shoes. */
  split: { attribute: "comfort", trait: "foot_width_mm", metric: "inside-width", points: 0.9 },
} as const;

/** Construction features and how common they are; a shank goes with a stiff shoe, the others with nothing. */
export const features = [
  { id: "heel-clip", share: 0.35 },
  { id: "drag-toe-guard", share: 0.5 },
  { id: "midfoot-shank", share: 0.4 },
  { id: "lace-lock", share: 0.25 },
] as const;

const range = (low: number, high: number) => ({ kind: "range", low, high });

const rebound = range(25, 33);
const grip = range(34.5, 42.5);
const light = range(445, 290);
const wear = range(0.78, 0.28);
const heat = range(71, 61);
const bending = range(0.16, 0.52);

/** The rules so far. The second is in force; it leans on metrics that have little to do with speed. */
export const rules = [
  {
    id: "speed-index",
    version: "1",
    title: "Speed index, first edition",
    effective: "2025-07-01",
    target_attribute: "speed",
    terms: [
      { metric: "heel-rebound", weight: 0.3, scaling: { kind: "standard" } },
      { metric: "forefoot-rebound", weight: 0.3, scaling: { kind: "standard" } },
      { metric: "outsole-wear", weight: 0.2, scaling: { kind: "standard" } },
      { metric: "mass", weight: 0.2, scaling: { kind: "standard" } },
    ],
    bonuses: [{ feature: "heel-clip", points: 0.1 }],
    multiplier: 0.4,
    offset: 1.84,
    missing: "withhold",
    note: "Set round the workshop table before there were any ratings.",
  },
  {
    id: "speed-index",
    version: "2",
    title: "Speed index, second edition",
    effective: "2026-01-01",
    target_attribute: "speed",
    terms: [
      { metric: "heel-rebound", weight: 0.25, scaling: rebound },
      { metric: "outsole-wear", weight: 0.25, scaling: wear },
      { metric: "forefoot-rebound", weight: 0.2, scaling: rebound },
      { metric: "upper-lamp-temperature", weight: 0.1, scaling: heat },
      { metric: "tilt-slip-dry", weight: 0.1, scaling: grip },
      { metric: "mass", weight: 0.1, scaling: light },
    ],
    bonuses: [
      { feature: "heel-clip", points: 0.1 },
      { feature: "drag-toe-guard", points: 0.1 },
    ],
    multiplier: 1.6,
    offset: 1,
    missing: "reweight",
    note:
      "Fixed ranges instead of standing in the catalogue, so that a new shoe no longer moves old scores.",
  },
] as const;

/** Proposals that wait for a verdict, with the verdict they were made for. */
export const proposals = [
  {
    made_for: "adopt",
    proposal: {
      id: "weigh-what-players-feel",
      title: "Weigh forefoot rebound, grip and mass",
      asked_on: "2026-07-06",
      asked_by: "coach",
      against: "2",
      rule: {
        id: "speed-index",
        version: "3-players",
        title: "Speed index by rebound, grip and mass",
        effective: "2026-10-01",
        target_attribute: "speed",
        terms: [
          { metric: "forefoot-rebound", weight: 0.4, scaling: rebound },
          { metric: "tilt-slip-dry", weight: 0.3, scaling: grip },
          { metric: "mass", weight: 0.3, scaling: light },
        ],
        bonuses: [],
        multiplier: 1.6,
        offset: 1,
        missing: "withhold",
        note: "Three terms, no bonuses.",
      },
      criteria: { min_gain: 0.02, max_rank_moves: 0.95, min_coverage: 0.9, confidence: 0.95 },
      note: "We expect most of the table to move; that is the point.",
    },
  },
  {
    made_for: "keep",
    proposal: {
      id: "reward-the-toe-guard",
      title: "Reward toe guards and cool, hard-wearing shoes",
      asked_on: "2026-07-20",
      asked_by: "viewer",
      against: "2",
      rule: {
        id: "speed-index",
        version: "3-guards",
        title: "Speed index with a large guard bonus",
        effective: "2026-10-01",
        target_attribute: "speed",
        terms: [
          { metric: "outsole-wear", weight: 0.5, scaling: wear },
          { metric: "upper-lamp-temperature", weight: 0.3, scaling: heat },
          { metric: "heel-rebound", weight: 0.2, scaling: rebound },
        ],
        bonuses: [
          { feature: "drag-toe-guard", points: 0.3 },
          { feature: "lace-lock", points: 0.2 },
        ],
        multiplier: 1.6,
        offset: 1,
        missing: "reweight",
        note: null,
      },
      criteria: { min_gain: 0.02, max_rank_moves: 0.5, min_coverage: 0.9, confidence: 0.95 },
      note: "A shoe that lasts is a shoe one can run in.",
    },
  },
  {
    made_for: "not enough evidence",
    proposal: {
      id: "add-forefoot-bending",
      title: "Add forefoot bending stiffness",
      asked_on: "2026-08-17",
      asked_by: "workshop",
      against: "2",
      rule: {
        id: "speed-index",
        version: "3-bending",
        title: "Speed index with forefoot bending stiffness",
        effective: "2026-10-01",
        target_attribute: "speed",
        terms: [
          { metric: "heel-rebound", weight: 0.25, scaling: rebound },
          { metric: "outsole-wear", weight: 0.1, scaling: wear },
          { metric: "forefoot-rebound", weight: 0.25, scaling: rebound },
          { metric: "forefoot-bending-stiffness", weight: 0.15, scaling: bending },
          { metric: "tilt-slip-dry", weight: 0.15, scaling: grip },
          { metric: "mass", weight: 0.1, scaling: light },
        ],
        bonuses: [
          { feature: "heel-clip", points: 0.1 },
          { feature: "drag-toe-guard", points: 0.1 },
        ],
        multiplier: 1.6,
        offset: 1,
        missing: "withhold",
        note:
          "The weight of the lamp test and most of that of wear go to the new metric, forefoot rebound and grip.",
      },
      criteria: { min_gain: 0.02, max_rank_moves: 0.95, min_coverage: 0.35, confidence: 0.95 },
      note: "The metric is young, so a third of the catalogue is coverage enough to start with.",
    },
  },
] as const;

/** What goes wrong on this bench, on purpose. */
export const planted = {
  drift: { metric: "heel-rebound", rig: "bench-b", slope_per_year: -1.6, from: "2025-07-01" },
  order: { metric: "outsole-wear", slope_per_trial: -0.025 },
  /** New jaws of the clamp, on both rigs. */
  step: { metric: "torsional-stiffness", from: "2026-06-01", by: 0.04, what: "new clamp jaws" },
  never_read: { metric: "smoke-clearing", shoe: 7 },
  fahrenheit: { metric: "upper-lamp-temperature", operator: "operator-2", until: "2026-01-01" },
  /** Shift of an outlying trial in residual SDs, and where: the n-th visit of a shoe with five trials. */
  outliers: [
    { metric: "smoke-clearing", visit: 9, sds: 8 },
    { metric: "tilt-slip-dry", visit: 31, sds: -7 },
    { metric: "forefoot-rebound", visit: 44, sds: 7 },
    { metric: "torsional-stiffness", visit: 60, sds: 7 },
  ],
} as const;

/** How warm the workshop is, and what that does to a reading that has a part of its own each session. */
export const weather = {
  metric: "upper-lamp-temperature",
  mean_temperature_c: 21,
  sd_temperature_c: 3,
  /** In the metric's unit, a degree Celsius of the room. */
  slope_per_degree: 0.25,
} as const;

/**
 * Models of which the club bought a second pair, by place in `models`, in the size printed in it. A second
 * pair was weighed, measured inside and twisted, no more.
 */
export const secondPairs = [
  { model: 3, session: 12, size_system: "mondopoint", size: 285 },
  { model: 6, session: 12, size_system: "mondopoint", size: 285 },
  { model: 11, session: 12, size_system: "us-men", size: 11.5 },
  { model: 15, session: 13, size_system: "us-men", size: 11 },
  { model: 20, session: 13, size_system: "mondopoint", size: 285 },
  { model: 24, session: 13, size_system: "mondopoint", size: 285 },
  { model: 30, session: 24, size_system: "mondopoint", size: 280 },
] as const;

/** Scatter of a metric from pair to pair of one model, and what 5 mm of foot length add to it. */
export const betweenPairs = {
  "torsional-stiffness": { sd: 0.02, per_size: 0.01 },
  "inside-length": { sd: 0.3, per_size: 5 },
  mass: { sd: 3, per_size: 7 },
} as const;

/** Pairs benched again after play: model by place in `models`, session by place in the calendar. */
export const wornPairs = [
  { model: 4, session: 13, hours: 12 },
  { model: 9, session: 15, hours: 20 },
  { model: 13, session: 17, hours: 15 },
  { model: 17, session: 19, hours: 22 },
  { model: 21, session: 23, hours: 18 },
  { model: 9, session: 25, hours: 38 },
] as const;

/** Change an hour of play, in the metric's unit; each pair has a rate of its own, by this share of it. */
export const playWears = {
  rates: {
    "heel-rebound": -0.04,
    "forefoot-rebound": -0.05,
    "tilt-slip-dry": -0.09,
    "torsional-stiffness": -0.002,
  },
  share: 0.25,
} as const;

/** Checks of the rigs against known values. The rebound of bench-b reads as low as its drift has made it. */
export const rigChecks = [
  {
    metric: "heel-rebound",
    known: [25, 30, 35],
    uncertainty: 0.1,
    scatter: 0.12,
  },
  {
    metric: "tilt-slip-dry",
    known: [30, 40, 50],
    uncertainty: 0.1,
    scatter: 0.1,
  },
  {
    metric: "mass",
    known: [200, 300, 400, 500],
    uncertainty: 0.1,
    scatter: 0.2,
  },
] as const;
