import { z } from "zod";
import { isCalendarDate } from "./cells.ts";
import { readBySchema, readJson } from "./json_file.ts";
import { benchSchema, metricSchema } from "./schemas.ts";
import type { BenchSettings, Metric, Problem, Session, Shoe } from "./types.ts";
import { unitOf } from "./units.ts";

const text = z.string().refine((value) => value.trim() !== "", { error: "some text" });
const id = z.string().regex(/^[a-z0-9]+(-[a-z0-9]+)*$/, {
  error: "small letters, digits and single hyphens, such as heel-rebound",
});
const unit = z.string().refine((value) => unitOf(value) !== null, {
  error: "a unit such as cm, g, N, °F or %",
});
const date = z.string().refine(isCalendarDate, {
  error: "a date of the calendar, such as 2026-07-14",
});
const rowNumber = z.int().min(1);
const letters = z.string().regex(/^[A-Z]{1,3}$/, { error: "a column's letters, such as B or AC" });
const side = z.enum(["left", "right"]);
const guess = z.string().optional();

const place = { column: letters.optional(), header: z.string().optional(), guess };

/** What one column of a sheet holds. */
export const columnSchema: z.ZodType<ColumnMapping> = z.discriminatedUnion("holds", [
  z.strictObject({ ...place, holds: z.literal("shoe") }),
  z.strictObject({
    ...place,
    holds: z.literal("shoe detail"),
    field: z.enum([
      "maker",
      "model",
      "edition",
      "released",
      "surface",
      "size_system",
      "size",
      "width",
      "price",
      "currency",
      "note",
    ]),
  }),
  z.strictObject({ ...place, holds: z.literal("session") }),
  z.strictObject({
    ...place,
    holds: z.literal("session detail"),
    field: z.enum(["date", "operator", "rig", "temperature_c", "humidity_pct", "note"]),
    unit: unit.optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("trial"),
    metric: id,
    trial: rowNumber.optional(),
    unit: unit.optional(),
    side: side.optional(),
    pair: rowNumber.optional(),
    notes: z.enum(["take", "leave"]).optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("trial detail"),
    field: z.enum(["trial", "pair", "side", "excluded", "note"]),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("impression"),
    attribute: text,
    tester: text.optional(),
    notes: z.enum(["take", "leave"]).optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("impression detail"),
    field: z.enum(["tester", "date", "surface", "minutes", "blind", "note"]),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("feature"),
    feature: id,
    blank: z.enum(["no", "unknown", "nothing"]).optional(),
  }),
  z.strictObject({ ...place, holds: z.literal("left out"), because: text }),
]).refine((column) => column.column !== undefined || column.header !== undefined, {
  error: "a header or a column's letters",
});

const sheetSchema = z.strictObject({
  sheet: text.optional(),
  guess,
  header_rows: z.array(rowNumber).min(1).max(3),
  skip_rows: z.array(rowNumber).default([]),
  skip_names: z.array(text).default([]),
  last_row: rowNumber.optional(),
  fill_merged: z.boolean().default(true),
  repeat_shoe: z.boolean().default(false),
  fixed: z.strictObject({
    shoe: text.optional(),
    session: text.optional(),
    session_date: date.optional(),
    operator: text.optional(),
    rig: text.optional(),
    tester: text.optional(),
    impression_date: date.optional(),
  }).default({}),
  columns: z.array(columnSchema).min(1),
});

const shoeSchema = z.strictObject({
  shoe_id: id,
  spelt: z.array(text).min(1),
  maker: text.optional(),
  model: text.optional(),
  edition: text.optional(),
  guess,
});

const metricShape = metricSchema.shape;
const metric = z.strictObject({
  id,
  unit,
  title: text.optional(),
  scale: metricShape.scale.optional(),
  better: z.enum(["higher", "lower", "none"]).optional(),
  plausible: metricShape.plausible.optional(),
  smallest_difference: z.number().positive().nullable().optional(),
  decimals: metricShape.decimals.optional(),
  group: metricShape.group.optional(),
  method: text.optional(),
  guess,
});

const schema: z.ZodType<ImportMapping> = z.strictObject({
  kind: z.literal("import-mapping"),
  schema: z.literal(1),
  about: z.string().optional(),
  decimal: z.enum([".", ","]).nullable(),
  dates: z.enum(["day-month-year", "month-day-year", "year-month-day"]).nullable(),
  two_digit_years: z.enum(["refuse", "2000s"]).default("refuse"),
  unlisted_shoes: z.enum(["leave", "take"]).default("leave"),
  bench: z.strictObject({
    name: text,
    size_system: benchSchema.shape.size_system.optional(),
    rating: benchSchema.shape.rating.optional(),
    invented: z.boolean().optional(),
    guess,
  }).optional(),
  metrics: z.array(metric).default([]),
  shoes: z.array(shoeSchema).default([]),
  sheets: z.array(sheetSchema).min(1),
});

/** A mapping that was read; the keys are explained at `importMapping`. */
export type ImportMapping = {
  readonly kind: "import-mapping";
  readonly schema: 1;
  readonly about?: string;
  readonly decimal: "." | "," | null;
  readonly dates: "day-month-year" | "month-day-year" | "year-month-day" | null;
  readonly two_digit_years: "refuse" | "2000s";
  readonly unlisted_shoes: "leave" | "take";
  readonly bench?: MappedBench;
  readonly metrics: readonly MappedMetric[];
  readonly shoes: readonly MappedShoe[];
  readonly sheets: readonly SheetMapping[];
};

/** What a mapping says about a bench that has no bench.json yet. */
export type MappedBench = {
  readonly name: string;
  readonly size_system?: BenchSettings["size_system"];
  readonly rating?: BenchSettings["rating"];
  readonly invented?: boolean;
  readonly guess?: string;
};

/** What a mapping says about a metric that the bench does not have yet. */
export type MappedMetric =
  & { readonly id: string; readonly unit: string; readonly title?: string; readonly guess?: string }
  & Partial<
    Pick<
      Metric,
      "scale" | "plausible" | "smallest_difference" | "decimals" | "group" | "method"
    >
  >
  & { readonly better?: "higher" | "lower" | "none" };

/** Every spelling that means one shoe. */
export type MappedShoe = {
  readonly shoe_id: string;
  readonly spelt: readonly string[];
  readonly maker?: string;
  readonly model?: string;
  readonly edition?: string;
  readonly guess?: string;
};

/** What a mapping says about one sheet. */
export type SheetMapping = {
  readonly sheet?: string;
  readonly guess?: string;
  readonly header_rows: readonly number[];
  readonly skip_rows: readonly number[];
  readonly skip_names: readonly string[];
  readonly last_row?: number;
  readonly fill_merged: boolean;
  readonly repeat_shoe: boolean;
  readonly fixed: {
    readonly shoe?: string;
    readonly session?: string;
    readonly session_date?: string;
    readonly operator?: string;
    readonly rig?: string;
    readonly tester?: string;
    readonly impression_date?: string;
  };
  readonly columns: readonly ColumnMapping[];
};

/** Where a column stands: its header, its letters, or both. */
export type ColumnPlace = {
  readonly column?: string;
  readonly header?: string;
  readonly guess?: string;
};

/** What a mapping says about one column. */
export type ColumnMapping =
  & ColumnPlace
  & (
    | { readonly holds: "shoe" }
    | {
      readonly holds: "shoe detail";
      readonly field: Exclude<keyof Shoe, "shoe_id">;
    }
    | { readonly holds: "session" }
    | {
      readonly holds: "session detail";
      readonly field: Exclude<keyof Session, "session_id">;
      readonly unit?: string;
    }
    | {
      readonly holds: "trial";
      readonly metric: string;
      readonly trial?: number;
      readonly unit?: string;
      readonly side?: "left" | "right";
      readonly pair?: number;
      readonly notes?: "take" | "leave";
    }
    | {
      readonly holds: "trial detail";
      readonly field: "trial" | "pair" | "side" | "excluded" | "note";
    }
    | {
      readonly holds: "impression";
      readonly attribute: string;
      readonly tester?: string;
      readonly notes?: "take" | "leave";
    }
    | {
      readonly holds: "impression detail";
      readonly field: "tester" | "date" | "surface" | "minutes" | "blind" | "note";
    }
    | {
      readonly holds: "feature";
      readonly feature: string;
      readonly blank?: "no" | "unknown" | "nothing";
    }
    | { readonly holds: "left out"; readonly because: string }
  );

/**
 * What does a spreadsheet's mapping file say: which column is what?
 *
 * JSON. `*` marks what is needed; a key `guess` may stand anywhere and is only for people to read.
 *
 * - `kind`* `"import-mapping"`, `schema`* `1`, `about` free text.
 * - `decimal`* the mark of numbers that are typed as text: `"."`, `","`, or `null` to take both where only
 *   one reading is possible (`28,4` is; `1,234` is refused). Real number cells need none.
 * - `dates`* the order in dates typed as text: `"day-month-year"`, `"month-day-year"`,
 *   `"year-month-day"`, or `null` to take only what can be read in one way (`14/3/2026`, `14 Mar 2026`;
 *   `3/4/2026` is refused). Year first is always taken. `two_digit_years`: `"refuse"` or `"2000s"`.
 * - `shoes`: `{"shoe_id": "alder-2", "spelt": ["Alder 2", "alder II"], "maker": "Tarnwick", "model":
 *   "Alder", "edition": "2"}`: every spelling that means this shoe; capitals and spaces don't count.
 *   `unlisted_shoes`: `"leave"` lists their rows as not taken, `"take"` makes an id of the name.
 * - `metrics`: `{"id": "heel-rebound-height", "unit": "cm", "better": "higher", "plausible": {"low": 5,
 *   "high": 95}}` and the other keys of metrics.json, for a metric the bench does not have yet.
 * - `bench`: `{"name": "My bench", "size_system": "eu", "rating": {"min": 0, "max": 10, "step": 0.5}}`, for
 *   a bench that has no bench.json yet.
 * - `sheets`*, one entry for each sheet to read:
 *   - `sheet` its name; may be left out when the file has one only.
 *   - `header_rows`* as the spreadsheet numbers them: `[1]` or `[1, 2]`. Two are joined: a merged `Heel
 *     rebound (cm)` over `1` is the header `Heel rebound (cm) / 1`.
 *   - `skip_names` passes over rows whose shoe cell says one of these, such as `["Mean"]`; `skip_rows` rows
 *     by number, such as `[4]` (in a later export another row may stand there); `last_row` the last to read.
 *   - `fill_merged` (true) gives every cell of a merged block its first cell's content; `repeat_shoe`
 *     (false) lets a blank shoe cell mean the shoe above.
 *   - `fixed` what holds for every row: `shoe`, `session`, `session_date`, `operator`, `rig`, `tester`,
 *     `impression_date`. A session without a name is named by its date, and by
 *     operator and rig where columns give them: two people on one day make two sessions.
 *   - `columns`*: each has `header` (capitals and spaces don't count), or `column`, its letters, or
 *     both, which must then agree; and `holds`:
 *     - `"shoe"`: `{"header": "Shoe", "holds": "shoe"}`
 *     - `"shoe detail"` with `field`, a column of shoes.csv: `{"header": "Size", "holds": "shoe detail",
 *       "field": "size"}`
 *     - `"session"`, its name; `"session detail"` with `field` (`date`, `operator`, `rig`, `temperature_c`,
 *       `humidity_pct`, `note`) and `unit` where it differs: `{"header": "Room °F", "holds": "session
 *       detail", "field": "temperature_c", "unit": "°F"}`
 *     - `"trial"` with `metric`, `trial` (1 unless a column says), `unit` (else each cell writes its
 *       own), `side`, `pair`: `{"header": "heel 2", "holds": "trial", "metric": "heel-rebound-height",
 *       "trial": 2, "unit": "cm"}`. `"notes": "take"` reads `41.5 (wet)` as 41.5 with a note.
 *     - `"trial detail"` with `field` (`trial`, `pair`, `side`, `excluded`, `note`), for all trials of the row
 *     - `"impression"` with `attribute`, and `tester` where the column is one tester's
 *     - `"impression detail"` with `field` (`tester`, `date`, `surface`, `minutes`, `blind`, `note`)
 *     - `"feature"` with `feature`; cells say yes, y, x, no, n, ? or 1, 0; `blank` says what an empty one
 *       means: `"no"`, `"unknown"`, or `"nothing"` (the default: no row)
 *     - `"left out"` with `because`: its cells are listed as not taken, with that reason
 *
 * A column that no entry names is left out too, and its cells are listed.
 *
 * @param file the mapping's name, for problems
 * @returns null when it has errors; each comes with its line to `onProblem`
 */
export function importMapping(
  file: string,
  json: string,
  onProblem: (problem: Problem) => void,
): ImportMapping | null {
  const parsed = readJson(file, json, onProblem);
  if (parsed === null) return null;
  return readBySchema<ImportMapping>(
    parsed,
    parsed.value,
    schema as z.ZodType<ImportMapping>,
    [],
    "",
    onProblem,
  );
}
