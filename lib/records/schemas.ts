import { z } from "zod";
import { isHexColour } from "../colour_sight.ts";
import {
  column,
  LONGEST_NAME,
  optionalChoice,
  optionalDate,
  optionalNote,
  optionalNumber,
  optionalReading,
  optionalText,
  requiredChoice,
  requiredDate,
  requiredNumber,
  requiredText,
  wholeNumber,
} from "./cells.ts";
import { isCalendarDate } from "./dates.ts";
import type {
  BenchSettings,
  Calibration,
  Decision,
  Feature,
  Impression,
  IndexRule,
  Metric,
  Pair,
  Registration,
  RuleProposal,
  Session,
  Shoe,
  Tester,
  Trial,
} from "./types.ts";

const surfaces = ["all-court", "hard", "clay", "grass", "indoor"] as const;
const sizeSystems = ["mondopoint", "eu", "us-men", "us-women", "uk"] as const;

const above = (least: number, what: string) => (value: number) => value > least ? null : what;
const within = (low: number, high: number, what: string) => (value: number) =>
  value >= low && value <= high ? null : what;

const needed = { required: true };
const number = { number: true };

// Columns that several tables have.
const sessionOf = column(requiredText(), "The session, as in sessions.csv.", {
  ...needed,
  example: "example-session",
});
const shoeOf = column(requiredText(), "The shoe, as in shoes.csv.", {
  ...needed,
  example: "example-shoe",
});
const noteOf = column(optionalNote(), "Anything worth knowing.", {
  example: "Example row: delete it.",
});

/** `shoes.csv`, cell by cell. */
export const shoeSchema = z.object({
  shoe_id: column(requiredText(), "A short name of your own for the shoe; other tables use it.", {
    ...needed,
    example: "example-shoe",
  }),
  maker: column(requiredText(), "Who makes it.", { ...needed, example: "Example Maker" }),
  model: column(requiredText(), "The model's name.", { ...needed, example: "Example Model" }),
  line: column(
    optionalText(),
    "Line of shoes whose editions resemble each other, where it isn't the model. Blank: the model.",
    { example: "" },
  ),
  edition: column(optionalText(), "Edition or version, where the model has several.", {
    example: "1",
  }),
  released: column(optionalDate(), "Day it came out, year-month-day.", { example: "2026-01-15" }),
  surface: column(optionalChoice(surfaces), `Court it is made for: ${surfaces.join(", ")}.`, {
    example: "all-court",
  }),
  size_system: column(
    optionalChoice(sizeSystems),
    `System of the labelled size: ${sizeSystems.join(", ")}. Blank: the lab's.`,
    { example: "eu" },
  ),
  size: column(optionalNumber(above(0, "a size above 0")), "Labelled size of the pair tested.", {
    ...number,
    example: "42",
  }),
  width: column(optionalText(), "Labelled width, as printed.", { example: "D" }),
  price: column(optionalNumber(within(0, Infinity, "a price of 0 or more")), "Price paid.", {
    ...number,
    example: "120",
  }),
  currency: column(optionalText(), "Currency of the price, such as EUR.", { example: "EUR" }),
  note: noteOf,
});

/** `features.csv`, cell by cell. */
export const featureSchema = z.object({
  shoe_id: shoeOf,
  feature_id: column(requiredText(), "A construction feature that a rule may reward.", {
    ...needed,
    example: "example-feature",
  }),
  present: column(requiredChoice(["yes", "no", "unknown"]), "yes, no or unknown.", {
    ...needed,
    example: "yes",
  }),
  checked_on: column(optionalDate(), "Day somebody looked, year-month-day.", {
    example: "2026-01-20",
  }),
  note: noteOf,
});

/** `sessions.csv`, cell by cell. */
export const sessionSchema = z.object({
  session_id: column(requiredText(), "A short name of your own for the session.", {
    ...needed,
    example: "example-session",
  }),
  date: column(requiredDate(), "Day of the session, year-month-day.", {
    ...needed,
    example: "2026-01-20",
  }),
  operator: column(requiredText(), "Who worked the bench; initials or a nickname will do.", {
    ...needed,
    example: "op1",
  }),
  rig: column(optionalText(), "Which rig, where there are several or it was changed.", {
    example: "rig-1",
  }),
  temperature_c: column(
    optionalNumber(within(-60, 200, "a temperature in °C from -60 to 200")),
    "Air temperature in °C.",
    { ...number, example: "21.5" },
  ),
  humidity_pct: column(
    optionalNumber(within(0, 100, "a relative humidity from 0 to 100 %")),
    "Relative humidity in %.",
    { ...number, example: "45" },
  ),
  note: noteOf,
});

/** `trials.csv`, cell by cell; units and references to other tables are checked after it. */
export const trialSchema = z.object({
  session_id: sessionOf,
  shoe_id: shoeOf,
  metric_id: column(requiredText(), "What was measured, as in metrics.json.", {
    ...needed,
    example: "heel-rebound-height",
  }),
  trial: column(wholeNumber(1, null), "Number of the trial: 1, 2, 3 and so on.", {
    ...needed,
    ...number,
    example: "1",
  }),
  value: column(
    optionalReading(),
    "The reading, a number alone. Blank or NA: lost. <1 or >60: known by its bound only.",
    {
      ...needed,
      ...number,
      example: "48.5",
    },
  ),
  unit: column(requiredText(), "Unit of the reading; any unit of the metric's dimension.", {
    ...needed,
    example: "cm",
  }),
  pair: column(wholeNumber(1, 1), "Which pair of the model, where you own several. Blank: 1.", {
    ...number,
    example: "1",
  }),
  side: column(optionalChoice(["left", "right"]), "left, right, or blank.", { example: "left" }),
  hours_played: column(
    optionalNumber(within(0, Infinity, "hours of 0 or more")),
    "Hours that this pair had been played in before the reading. Blank: new.",
    number,
  ),
  excluded: column(
    optionalNote(),
    "Blank when the trial counts; else the reason why it does not. It stays in the table.",
  ),
  note: noteOf,
});

/** `series.csv`, cell by cell; units and references to other tables are checked after it. */
export const seriesSchema = z.object({
  session_id: sessionOf,
  shoe_id: shoeOf,
  series_id: column(requiredText(), "What was followed, such as cooling; metrics derive from it.", {
    ...needed,
    example: "cooling",
  }),
  trial: column(wholeNumber(1, null), "Number of the reading; all its points bear it.", {
    ...needed,
    ...number,
    example: "1",
  }),
  at: column(optionalNumber(), "Where the point stands: its time, load, deflection or angle.", {
    ...needed,
    ...number,
    example: "30",
  }),
  at_unit: column(requiredText(), "Unit of at.", { ...needed, example: "s" }),
  value: column(optionalNumber(), "The reading there, a number alone. Blank or NA: lost.", {
    ...needed,
    ...number,
    example: "61.5",
  }),
  unit: column(requiredText(), "Unit of the reading.", { ...needed, example: "Cel" }),
  pair: column(wholeNumber(1, 1), "Which pair of the model, where you own several. Blank: 1.", {
    ...number,
    example: "1",
  }),
  excluded: column(
    optionalText(),
    "Blank when the point counts; else the reason why it does not. It stays in the table.",
  ),
  note: column(optionalText(), "Anything worth knowing.", { example: "Example row: delete it." }),
});

/** `impressions.csv`, cell by cell; the rating's scale is checked after it. */
export const impressionSchema = z.object({
  date: column(requiredDate(), "Day on court, year-month-day.", {
    ...needed,
    example: "2026-01-21",
  }),
  tester: column(requiredText(), "Who played; initials or a nickname will do.", {
    ...needed,
    example: "t1",
  }),
  shoe_id: shoeOf,
  attribute: column(requiredText(), "What was rated, as in bench.json.", {
    ...needed,
    example: "energy",
  }),
  rating: column(optionalNumber(), "The rating on the scale of bench.json. Blank or NA: missing.", {
    ...needed,
    ...number,
    example: "7",
  }),
  surface: column(optionalChoice(surfaces), `Court played on: ${surfaces.join(", ")}.`, {
    example: "hard",
  }),
  minutes: column(
    optionalNumber(within(0, 1440, "minutes from 0 to 1440")),
    "Minutes played in the shoe.",
    { ...number, example: "40" },
  ),
  blind: column(optionalChoice(["yes", "no"]), "yes when the tester could not tell the model.", {
    example: "no",
  }),
  knew_bench: column(
    optionalChoice(["yes", "no"]),
    "yes when the tester had seen the shoe's bench figures, no when not. Blank: judged from dates, blind and names.",
    { example: "" },
  ),
  note: noteOf,
});

/** `testers.csv`, cell by cell. */
export const testerSchema = z.object({
  tester: column(requiredText(), "The tester, as in impressions.csv; no names needed.", {
    ...needed,
    example: "t1",
  }),
  mass_kg: column(
    optionalNumber(within(20, 300, "a body mass from 20 to 300 kg")),
    "Body mass in kg.",
    { ...number, example: "72" },
  ),
  foot_length_mm: column(
    optionalNumber(within(100, 400, "a foot length from 100 to 400 mm")),
    "Length of the longer foot in mm.",
    { ...number, example: "265" },
  ),
  foot_width_mm: column(
    optionalNumber(within(40, 200, "a foot width from 40 to 200 mm")),
    "Width of that foot at the ball in mm.",
    { ...number, example: "101" },
  ),
  style: column(optionalChoice(["baseline", "all-court", "net"]), "baseline, all-court or net.", {
    example: "baseline",
  }),
  years_playing: column(
    optionalNumber(within(0, 100, "years from 0 to 100")),
    "Years of playing.",
    { ...number, example: "12" },
  ),
  note: noteOf,
});

/** `pairs.csv`, cell by cell. */
export const pairSchema = z.object({
  shoe_id: shoeOf,
  pair: column(wholeNumber(1, null), "Number of the pair, as in trials.csv.", {
    ...needed,
    ...number,
    example: "1",
  }),
  size_system: column(
    optionalChoice(sizeSystems),
    `System of the labelled size: ${sizeSystems.join(", ")}. Blank: the lab's.`,
    { example: "eu" },
  ),
  size: column(optionalNumber(above(0, "a size above 0")), "Labelled size; half sizes as 42.5.", {
    ...number,
    example: "42",
  }),
  width: column(optionalText(), "Labelled width, as printed.", { example: "D" }),
  acquired: column(optionalDate(), "Day the pair came, year-month-day.", {
    example: "2026-01-18",
  }),
  note: noteOf,
});

/** `calibrations.csv`, cell by cell; units are checked after it. */
export const calibrationSchema = z.object({
  date: column(requiredDate(), "Day of the check, year-month-day.", {
    ...needed,
    example: "2026-01-20",
  }),
  rig: column(requiredText(), "The rig, as in sessions.csv.", { ...needed, example: "rig-1" }),
  metric_id: column(requiredText(), "What was checked, as in metrics.json.", {
    ...needed,
    example: "mass",
  }),
  reference_value: column(requiredNumber(), "The known value, such as that of a test mass.", {
    ...needed,
    ...number,
    example: "500",
  }),
  reading: column(requiredNumber(), "What the rig read.", {
    ...needed,
    ...number,
    example: "500.2",
  }),
  unit: column(requiredText(), "Unit of both; any unit of the metric's dimension.", {
    ...needed,
    example: "g",
  }),
  reference_uncertainty: column(
    optionalNumber(within(0, Infinity, "an uncertainty of 0 or more")),
    "Standard uncertainty of the known value, in the same unit. Blank: not known.",
    { ...number, example: "0.05" },
  ),
  note: noteOf,
});

const decisionKinds = [
  "rule adopted",
  "rule kept",
  "metric withdrawn",
  "correction",
  "exclusion",
  "other",
] as const;

/** `decisions.csv`, cell by cell. */
export const decisionSchema = z.object({
  date: column(requiredDate(), "Day of the decision, year-month-day.", {
    ...needed,
    example: "2026-02-01",
  }),
  kind: column(requiredChoice(decisionKinds), `${decisionKinds.join(", ")}.`, {
    ...needed,
    example: "other",
  }),
  about: column(
    requiredText(),
    "What it is about: a rule as id/version, a metric, a proposal.",
    {
      ...needed,
      example: "example",
    },
  ),
  because: column(requiredText(), "Why.", {
    ...needed,
    example: "Example row: delete it.",
  }),
  verdict: column(optionalText(), "The kit's verdict or advice on it.", {
    example: "",
  }),
  code: column(optionalText(), "Code of the registration it rests on.", {
    example: "",
  }),
  content_sha256: column(
    optionalText(),
    "SHA-256 of the adopted rule; written by deno task decide.",
    { example: "" },
  ),
  kit: column(optionalText(), "Version of the kit.", { example: "" }),
});

/** Every CSV table's schema, in the order of the data contract. */
export const tableSchemas = {
  "shoes.csv": shoeSchema,
  "features.csv": featureSchema,
  "sessions.csv": sessionSchema,
  "trials.csv": trialSchema,
  "series.csv": seriesSchema,
  "impressions.csv": impressionSchema,
  "testers.csv": testerSchema,
  "pairs.csv": pairSchema,
  "calibrations.csv": calibrationSchema,
  "decisions.csv": decisionSchema,
} as const;

const text = z.string().refine((value) => value.trim() !== "", { error: "some text" })
  .refine((value) => value.length <= LONGEST_NAME, {
    error: `at most ${LONGEST_NAME} characters`,
  });
const kebab = text.regex(/^[a-z0-9]+(-[a-z0-9]+)*$/, {
  error: "small letters, digits and single hyphens, such as heel-rebound",
});
const date = z.string().refine(isCalendarDate, {
  error: "a date of the calendar, such as 2026-07-14",
});
const finite = z.number();
const confidence = z.number().refine((value) => value > 0 && value < 1, {
  error: "a share between 0 and 1, such as 0.95",
});
const share = z.number().min(0).max(1);
const version = z.union([text, z.number().transform(String)], { error: "a version in quotes" });
const note = z.string().nullable().default(null);

/** `look` of `bench.json`. */
const lookSchema = z.strictObject({
  name: text.max(60, { error: "a name of 60 characters or fewer" }).nullable().default(null),
  logo: text.regex(/^[^/\\]+\.(png|jpe?g|svg)$/i, {
    error: "a PNG, JPEG or SVG file that lies in the bench folder",
  }).nullable().default(null),
  colours: z.array(
    text.refine(isHexColour, { error: "a colour as # and six digits, such as #1167A2" }),
  ).max(6).default([]),
  words: z.record(z.string(), text.max(60, { error: "a word of 60 characters or fewer" }))
    .default({}),
});

/** `bench.json`. */
export const benchSchema = z.strictObject({
  name: text,
  about: z.string().default(""),
  invented: z.boolean().default(false),
  size_system: z.enum(sizeSystems),
  rating: z.strictObject({ min: finite, max: finite, step: finite.positive() })
    .refine(({ min, max }) => min < max, { error: "a max above the min", path: ["max"] }),
  attributes: z.array(z.strictObject({ id: text, title: text, better: z.literal("higher") })),
  reference_shoes: z.array(text).default([]),
  confidence: confidence.default(0.95),
  trials_per_visit: z.int().min(1),
  fresh_hours: finite.min(0).default(2),
  corrected_metrics: z.array(text).default([]),
  main_index: text.nullable().default(null),
  look: lookSchema.nullable().default(null),
});

const lowHigh = z.strictObject({ low: finite, high: finite })
  .refine(({ low, high }) => low < high, { error: "a high above the low", path: ["high"] });

/** One entry of `metrics.json`. */
export const metricSchema = z.strictObject({
  id: kebab,
  title: text,
  unit: text,
  scale: z.enum(["ratio", "interval"]),
  better: z.enum(["higher", "lower", "target", "none"]),
  target: lowHigh.nullable().default(null),
  plausible: lowHigh,
  smallest_difference: finite.positive().nullable().default(null),
  decimals: z.int().min(0).max(10),
  group: z.enum([
    "propulsion",
    "traction",
    "durability",
    "ventilation",
    "stability",
    "fit",
    "mass",
  ]),
  method: z.string(),
  method_version: version,
  introduced: date,
  retired: date.nullable().default(null),
  withdrawn: text.nullable().optional(),
  resolution: finite.positive().nullable().default(null),
  reference_uncertainty: finite.min(0).nullable().default(null),
  size_free: z.boolean().default(false),
  depends_on: z.array(z.enum(["temperature_c", "humidity_pct"])).optional(),
  derive: z.strictObject({
    from: z.union([text, z.array(text).min(1)], {
      error: "a metric, a list of metrics, or a series",
    }),
    by: text,
    with: z.record(z.string(), z.union([finite, z.string()])).default({}),
  }).nullable().default(null),
})
  .refine(({ better, target }) => better !== "target" || target !== null, {
    error: "a low and a high, as better is target",
    path: ["target"],
  })
  .refine(({ better, target }) => better === "target" || target === null, {
    error: "no target, as better is not target",
    path: ["target"],
  })
  .refine(({ introduced, retired }) => retired === null || introduced <= retired, {
    error: "a day not before introduced",
    path: ["retired"],
  });

const scaling = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("range"), low: finite, high: finite })
    .refine(({ low, high }) => low !== high, {
      error: "a high other than the low",
      path: ["high"],
    }),
  z.strictObject({ kind: z.literal("standard") }),
  z.strictObject({
    kind: z.literal("steps"),
    at: z.array(z.tuple([finite, finite])).min(1).refine(goesOneWay, {
      error: "values that only rise, or only fall, from step to step",
    }),
  }),
]);

function goesOneWay(steps: readonly (readonly [number, number])[]): boolean {
  const rises = steps.slice(1).map(([value], i) => value - steps[i][0]);
  return rises.every((rise) => rise > 0) || rises.every((rise) => rise < 0);
}

/** One file of `rules/`. */
export const ruleSchema = z.strictObject({
  id: text,
  version,
  title: text,
  effective: date,
  target_attribute: text,
  terms: z.array(z.strictObject({ metric: text, weight: finite.min(0), scaling })).min(1)
    .refine((terms) => terms.some(({ weight }) => weight !== 0), {
      error: "at least one weight above 0",
    }),
  bonuses: z.array(z.strictObject({ feature: text, points: finite })).default([]),
  multiplier: finite.default(1),
  offset: finite.default(0),
  missing: z.enum(["withhold", "reweight"]),
  where: z.strictObject({ surface: z.array(z.enum(surfaces)).min(1) })
    .nullable().default(null),
  note,
});

/** One file of `proposals/`. */
export const proposalSchema = z.strictObject({
  id: text,
  title: text,
  asked_on: date,
  asked_by: text,
  against: version,
  rule: ruleSchema,
  criteria: z.strictObject({
    min_gain: finite.min(-2).max(2),
    max_rank_moves: share,
    min_coverage: share,
    confidence,
  }),
  fitted_until: date.nullable().default(null),
  note,
});

const sha256 = z.string().regex(/^[0-9a-f]{64}$/, {
  error: "64 hexadecimal digits",
});

/** A `.registered.json` of `proposals/`. */
export const registrationSchema = z.strictObject({
  registered_on: date,
  proposal_sha256: sha256,
  data: z.record(z.string(), sha256),
  ratings: z.int().min(0),
  before: z.string().nullable(),
  code: z.string().regex(/^[0-9a-z]{12}$/, { error: "12 letters and digits" }),
});

// The compiler holds the schemas to the record types; a row's line, and a trial's value in the
// metric's unit, come from the loader.
type Loaded<Row> = Omit<Row, "line" | "given_value" | "given_unit" | "bound">;
type Holds<Row, Output extends Row> = Output;
/** Compile-time proof only. */
export type SchemasHoldTypes = [
  Holds<Shoe, z.output<typeof shoeSchema>>,
  Holds<Feature, z.output<typeof featureSchema>>,
  Holds<Session, z.output<typeof sessionSchema>>,
  Holds<Omit<Loaded<Trial>, "value">, z.output<typeof trialSchema>>,
  Holds<Pair, z.output<typeof pairSchema>>,
  Holds<Loaded<Calibration>, z.output<typeof calibrationSchema>>,
  Holds<Loaded<Impression>, z.output<typeof impressionSchema>>,
  Holds<Tester, z.output<typeof testerSchema>>,
  Holds<BenchSettings, z.output<typeof benchSchema>>,
  Holds<Metric, z.output<typeof metricSchema>>,
  Holds<IndexRule, z.output<typeof ruleSchema>>,
  Holds<RuleProposal, z.output<typeof proposalSchema>>,
  Holds<Registration, z.output<typeof registrationSchema>>,
  Holds<Decision, z.output<typeof decisionSchema>>,
];
