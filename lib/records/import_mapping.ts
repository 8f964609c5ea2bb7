import { z } from "zod";
import { isCalendarDate } from "./dates.ts";
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

const place = {
  column: letters.optional(),
  row: rowNumber.optional(),
  header: z.string().optional(),
  guess,
};

/** What one column of a sheet holds. */
export const columnSchema: z.ZodType<ColumnMapping> = z.discriminatedUnion("holds", [
  z.strictObject({
    ...place,
    holds: z.literal("shoe"),
    field: z.enum(["maker", "model", "edition"]).optional(),
  }),
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
    metric: id.optional(),
    trial: z.union([rowNumber, z.literal("in order")], {
      error: 'a whole number from 1, or "in order"',
    }).optional(),
    unit: unit.optional(),
    side: side.optional(),
    pair: rowNumber.optional(),
    notes: z.enum(["take", "leave"]).optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("trial detail"),
    field: z.enum([
      "metric",
      "unit",
      "trial",
      "pair",
      "side",
      "hours_played",
      "excluded",
      "note",
    ]),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("impression"),
    attribute: text.optional(),
    tester: text.optional(),
    notes: z.enum(["take", "leave"]).optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("impression detail"),
    field: z.enum(["attribute", "tester", "date", "surface", "minutes", "blind", "note"]),
    unit: unit.optional(),
  }),
  z.strictObject({
    ...place,
    holds: z.literal("feature"),
    feature: id,
    blank: z.enum(["no", "unknown", "nothing"]).optional(),
  }),
  z.strictObject({ ...place, holds: z.literal("left out"), because: text }),
], {
  error: "one of shoe, shoe detail, session, session detail, trial, trial detail, impression, " +
    "impression detail, feature, left out",
}).refine(
  ({ column, row, header }) => column !== undefined || row !== undefined || header !== undefined,
  { error: "a header, a column's letters, or a row's number in a turned sheet" },
);

const fixedSchema = z.strictObject({
  published: date.optional(),
  surface: z.enum(["all-court", "hard", "clay", "grass", "indoor"]).optional(),
  size_system: benchSchema.shape.size_system.optional(),
  currency: text.optional(),
  maker: text.optional(),
  shoe: text.optional(),
  session: text.optional(),
  session_date: date.optional(),
  operator: text.optional(),
  rig: text.optional(),
  tester: text.optional(),
  impression_date: date.optional(),
});

const sheetSchema = z.strictObject({
  sheet: text.optional(),
  guess,
  turned: z.boolean().default(false),
  header_rows: z.array(rowNumber).min(1).max(3).optional(),
  header_columns: z.array(letters).min(1).max(3).optional(),
  skip_rows: z.array(rowNumber).default([]),
  skip_columns: z.array(letters).default([]),
  skip_names: z.array(text).default([]),
  last_row: rowNumber.optional(),
  last_column: letters.optional(),
  table_columns: z.tuple([letters, letters]).optional(),
  hidden: z.enum(["take", "leave"]).optional(),
  fill_merged: z.boolean().default(true),
  repeat_shoe: z.boolean().default(false),
  fixed: fixedSchema.default({}),
  also: z.record(text, fixedSchema).default({}),
  columns: z.array(columnSchema).min(1),
}).superRefine((sheet, context) => {
  const wrong = (path: PropertyKey[], message: string) =>
    context.addIssue({ code: "custom", path, message, input: sheet });
  const { turned } = sheet;
  if (turned && sheet.header_columns === undefined) {
    wrong(["header_columns"], 'the columns with the headers of a turned sheet, such as ["A"]');
  }
  if (turned && sheet.table_columns !== undefined) {
    wrong(
      ["table_columns"],
      "nothing here, as the sheet is turned: give its tables sheets of their own",
    );
  }
  for (const [name, own] of [["fixed", {}], ...Object.entries(sheet.also)] as const) {
    const { published, session_date } = { ...sheet.fixed, ...own };
    if (published === undefined || session_date === undefined) continue;
    const path = name === "fixed" ? ["fixed", "published"] : ["also", name];
    wrong(path, "session_date or published, one of the two");
  }
  if (sheet.sheet === undefined && Object.keys(sheet.also).length > 0) {
    wrong(["sheet"], "the name of the first sheet, as there are others that read alike");
  }
  if (!turned && sheet.header_rows === undefined) {
    wrong(["header_rows"], "the rows with the headers, such as [1] or [1, 2]");
  }
  for (const key of turned ? TURNED_NOT : TURNED_ONLY) {
    const value = sheet[key];
    const given = Array.isArray(value) ? value.length > 0 : value !== undefined;
    const reason = `as the sheet is ${turned ? "" : "not "}turned`;
    if (given) wrong([key], `${COUNTERPART[key]} in its place, ${reason}`);
  }
  sheet.columns.forEach(({ column, row }, i) => {
    if (turned && column !== undefined) {
      wrong(["columns", i, "column"], 'a "row" here, as the sheet is turned');
    }
    if (!turned && row !== undefined) {
      wrong(["columns", i, "row"], 'a "column" here, as the sheet is not turned');
    }
  });
});

const TURNED_NOT = ["header_rows", "skip_rows", "last_row"] as const;
const TURNED_ONLY = ["header_columns", "skip_columns", "last_column"] as const;
const COUNTERPART: Readonly<Record<string, string>> = {
  header_rows: "header_columns",
  skip_rows: "skip_columns",
  last_row: "last_column",
  header_columns: "header_rows",
  skip_columns: "skip_rows",
  last_column: "last_row",
};

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
  spelt: z.array(text).default([]),
  guess,
});

const names = z.array(z.strictObject({ name: text, spelt: z.array(text).min(1), guess }))
  .default([]);

const schema: z.ZodType<ImportMapping> = z.strictObject({
  kind: z.literal("import-mapping"),
  schema: z.literal(1),
  about: z.string().optional(),
  decimal: z.enum([".", ","]).nullable(),
  dates: z.enum(["day-month-year", "month-day-year", "year-month-day"]).nullable(),
  two_digit_years: z.enum(["refuse", "2000s"]).default("refuse"),
  unlisted_shoes: z.enum(["leave", "take"]).default("leave"),
  rating_words: z.array(text).default([]),
  bench: z.strictObject({
    name: text,
    size_system: benchSchema.shape.size_system.optional(),
    rating: benchSchema.shape.rating.optional(),
    invented: z.boolean().optional(),
    guess,
  }).optional(),
  metrics: z.array(metric).default([]),
  shoes: z.array(shoeSchema).default([]),
  operators: names,
  rigs: names,
  testers: names,
  attributes: names,
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
  /** Words that stand for ratings, from the least to the most; they share the scale out evenly. */
  readonly rating_words: readonly string[];
  readonly bench?: MappedBench;
  readonly metrics: readonly MappedMetric[];
  readonly shoes: readonly MappedShoe[];
  readonly operators: readonly MappedName[];
  readonly rigs: readonly MappedName[];
  readonly testers: readonly MappedName[];
  readonly attributes: readonly MappedName[];
  readonly sheets: readonly SheetMapping[];
};

/** Every spelling that means one operator, rig, tester or attribute. */
export type MappedName = {
  readonly name: string;
  readonly spelt: readonly string[];
  readonly guess?: string;
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
  & {
    readonly id: string;
    readonly unit: string;
    readonly title?: string;
    /** What a row's metric cell may say instead of the id. */
    readonly spelt: readonly string[];
    readonly guess?: string;
  }
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

/** What holds for every row of a sheet. */
export type MappedFixed = {
  /** The day a table of published figures came out: what measured them is not known. */
  readonly published?: string;
  readonly surface?: "all-court" | "hard" | "clay" | "grass" | "indoor";
  readonly size_system?: BenchSettings["size_system"];
  readonly currency?: string;
  readonly maker?: string;
  readonly shoe?: string;
  readonly session?: string;
  readonly session_date?: string;
  readonly operator?: string;
  readonly rig?: string;
  readonly tester?: string;
  readonly impression_date?: string;
};

/**
 * What a mapping says about one sheet. A turned one has its rows read as columns: what it says of
 * columns is then in `header_columns`, `skip_columns` and `last_column`.
 */
export type SheetMapping = {
  readonly sheet?: string;
  readonly guess?: string;
  readonly turned: boolean;
  readonly header_rows?: readonly number[];
  readonly header_columns?: readonly string[];
  readonly skip_rows: readonly number[];
  readonly skip_columns: readonly string[];
  readonly skip_names: readonly string[];
  readonly last_row?: number;
  readonly last_column?: string;
  /** First and last column of one table, where several stand beside each other. */
  readonly table_columns?: readonly [string, string];
  /** Whether hidden rows and columns are read; unless said, their cells are listed as not taken. */
  readonly hidden?: "take" | "leave";
  readonly fill_merged: boolean;
  readonly repeat_shoe: boolean;
  readonly fixed: MappedFixed;
  /** Other sheets with the same headers, and what of `fixed` is otherwise there; none once it is read. */
  readonly also?: Readonly<Record<string, MappedFixed>>;
  /** Which part of the file says it, from 0, once it is read. */
  readonly at?: number;
  readonly columns: readonly ColumnMapping[];
};

/** Where a column stands: its header, its letters (in a turned sheet its row), or both. */
export type ColumnPlace = {
  readonly column?: string;
  readonly row?: number;
  readonly header?: string;
  readonly guess?: string;
};

/** What a mapping says about one column. */
export type ColumnMapping =
  & ColumnPlace
  & (
    | {
      readonly holds: "shoe";
      /** Which part of the shoe's name it is, where several columns make it. */
      readonly field?: "maker" | "model" | "edition";
    }
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
      readonly metric?: string;
      readonly trial?: number | "in order";
      readonly unit?: string;
      readonly side?: "left" | "right";
      readonly pair?: number;
      readonly notes?: "take" | "leave";
    }
    | {
      readonly holds: "trial detail";
      readonly field:
        | "metric"
        | "unit"
        | "trial"
        | "pair"
        | "side"
        | "hours_played"
        | "excluded"
        | "note";
    }
    | {
      readonly holds: "impression";
      readonly attribute?: string;
      readonly tester?: string;
      readonly notes?: "take" | "leave";
    }
    | {
      readonly holds: "impression detail";
      readonly field:
        | "attribute"
        | "tester"
        | "date"
        | "surface"
        | "minutes"
        | "blind"
        | "note";
      readonly unit?: string;
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
 * JSON; `mappingHelp` explains every key with an example.
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
  const onMappingProblem = (problem: Problem) =>
    onProblem(
      problem.found === "an unknown key"
        ? { ...problem, expected: "a key that deno task import -- --help explains" }
        : problem,
    );
  const read = readBySchema<ImportMapping>(
    parsed,
    parsed.value,
    schema as z.ZodType<ImportMapping>,
    [],
    "",
    onMappingProblem,
  );
  return read === null ? null : { ...read, sheets: read.sheets.flatMap(sheetsAlike) };
}

/** A sheet's part of the mapping for itself and for each sheet that reads alike. */
function sheetsAlike(one: SheetMapping, at: number): readonly SheetMapping[] {
  const { also = {}, ...sheet } = one;
  const others = Object.entries(also).map(([name, own]) => ({
    ...sheet,
    sheet: name,
    fixed: { ...sheet.fixed, ...own },
  }));
  return [sheet, ...others].map((part) => ({ ...part, at }));
}
