import type { ImportMapping } from "./import_mapping.ts";
import type { ToFillIn } from "./import_merge.ts";
import type { SheetImport } from "./import_sheet.ts";
import { convert, unitOf } from "./units.ts";

/** Settings as they stand in a bench folder, parsed; null where the file is not there. */
export type StandingSettings = {
  readonly bench: Readonly<Record<string, unknown>> | null;
  readonly metrics: readonly Readonly<Record<string, unknown>>[] | null;
  readonly anyRule: boolean;
};

/** Settings to write, by file; a file that stands already and lacks nothing is not among them. */
export type NewSettings = {
  readonly files: Readonly<Record<string, unknown>>;
  readonly toFillIn: readonly ToFillIn[];
  /** What the mapping says otherwise than a file that stands; the file keeps what it says. */
  readonly unused: readonly string[];
};

/**
 * Which settings does a bench need so that its imported tables load?
 *
 * Makes bench.json, metrics.json and a first rule from the mapping and the data where they are
 * missing, adds metrics that metrics.json lacks and attributes that bench.json lacks, and names every
 * value that somebody should look at, because nobody gave it. Nothing that stands is changed. A
 * direction that is still marked as a guess is not taken, so that no best is named by it.
 */
export function importSettings(
  mapping: ImportMapping,
  { tables }: Pick<SheetImport, "tables">,
  standing: StandingSettings,
): NewSettings {
  const files: Record<string, unknown> = {};
  const toFillIn: ToFillIn[] = [];
  const attributes = distinct(tables["impressions.csv"]?.rows, "attribute");
  if (standing.bench === null) {
    files["bench.json"] = newBench(mapping, tables, attributes, toFillIn);
  } else {
    const known = list(standing.bench.attributes).map((one) => one.id);
    const more = attributes.filter((one) => !known.includes(one));
    if (more.length > 0) {
      const added = more.map((id) => ({ id, title: titleOf(id), better: "higher" }));
      files["bench.json"] = {
        ...standing.bench,
        attributes: [...list(standing.bench.attributes), ...added],
      };
    }
    for (const id of more) {
      const what = `"${id}" was added; look at its title`;
      toFillIn.push({ file: "bench.json", where: "attributes", what });
    }
  }
  const first = distinct(tables["sessions.csv"]?.rows, "date").sort()[0] ?? "2000-01-01";
  const stood = (standing.metrics ?? []).map(({ id }) => id);
  const used = distinct(tables["trials.csv"]?.rows, "metric_id");
  const added = mapping.metrics
    .filter(({ id }) => used.includes(id) && !stood.includes(id))
    .map((metric) => newMetric(metric, tables, first, toFillIn));
  if (standing.metrics === null || added.length > 0) {
    files["metrics.json"] = [...(standing.metrics ?? []), ...added];
  }
  const scored = added.filter(({ better }) => better === "higher" || better === "lower");
  const unused = [
    ...differing("bench.json", mapping.bench, standing.bench),
    ...mapping.metrics.flatMap((metric) => {
      const stands = (standing.metrics ?? []).find(({ id }) => id === metric.id);
      return differing(`metrics.json, ${metric.id}`, metric, stands ?? null);
    }),
  ];
  if (standing.anyRule) return { files, toFillIn, unused };
  if (scored.length === 0 || attributes.length === 0) {
    const what =
      "an index rule; it needs an impression and metrics of which more or less is better";
    toFillIn.push({ file: "rules/", where: "a file", what });
    return { files, toFillIn, unused };
  }
  files["rules/first-index-1.json"] = {
    id: "first-index",
    version: "1",
    title: "First index: every metric alike",
    effective: first,
    target_attribute: attributes[0],
    terms: scored.map(({ id }) => ({ metric: id, weight: 1, scaling: { kind: "standard" } })),
    bonuses: [],
    multiplier: 1,
    offset: 0,
    missing: "reweight",
    note: "Made by the import so that the bench can be scored; change it to your own.",
  };
  const what = "target_attribute, and the weight of each metric (all are 1)";
  toFillIn.push({ file: "rules/first-index-1.json", where: "the rule", what });
  return { files, toFillIn, unused };
}

/** A mapping that was corrected after a first import would else go unheard. */
function differing(
  where: string,
  given: Readonly<Record<string, unknown>> | undefined,
  standing: Readonly<Record<string, unknown>> | null,
): string[] {
  if (given === undefined || standing === null) return [];
  const keys = Object.keys(given).filter((key) =>
    key !== "guess" && key !== "spelt" && given[key] !== undefined &&
    JSON.stringify(given[key]) !== JSON.stringify(standing[key])
  );
  if (keys.length === 0) return [];
  return [
    `${where} stands already and keeps what it says: the mapping's ${keys.join(", ")} ` +
    `${keys.length === 1 ? "was" : "were"} not used; change ${
      keys.length === 1 ? "it" : "them"
    } there`,
  ];
}

type Tables = SheetImport["tables"];

function newBench(
  mapping: ImportMapping,
  tables: Tables,
  attributes: readonly string[],
  toFillIn: ToFillIn[],
): unknown {
  const given = mapping.bench;
  const fill = (where: string, what: string) => toFillIn.push({ file: "bench.json", where, what });
  if (given === undefined) fill("name", "who measures");
  if (given?.size_system === undefined) fill("size_system", "the system of your sizes (eu)");
  const ratings = numbers(tables["impressions.csv"]?.rows, "rating");
  if (given?.rating === undefined && ratings.length > 0) {
    fill("rating", "min, max and step of the testers' scale");
  }
  fill("reference_shoes", "ids of shoes that are read in every session, if there are any");
  const perVisit = numbers(tables["trials.csv"]?.rows, "trial").reduce((a, b) => Math.max(a, b), 1);
  return {
    name: given?.name ?? "My bench",
    about: "",
    invented: given?.invented ?? false,
    size_system: given?.size_system ?? "eu",
    rating: given?.rating ?? {
      min: Math.floor(ratings.reduce((a, b) => Math.min(a, b), 0)),
      max: Math.ceil(ratings.reduce((a, b) => Math.max(a, b), 10)),
      step: 0.5,
    },
    attributes: attributes.map((id) => ({ id, title: titleOf(id), better: "higher" })),
    reference_shoes: [],
    confidence: 0.95,
    trials_per_visit: perVisit,
  };
}

function newMetric(
  given: ImportMapping["metrics"][number],
  tables: Tables,
  introduced: string,
  toFillIn: ToFillIn[],
) {
  const { id } = given;
  const unit = unitOf(given.unit)!;
  const fill = (what: string) => toFillIn.push({ file: "metrics.json", where: id, what });
  const values = (tables["trials.csv"]?.rows ?? []).flatMap((row) =>
    row.metric_id === id && typeof row.value === "number" && (row.excluded ?? "") === ""
      ? [convert(row.value, String(row.unit), given.unit)]
      : []
  );
  const scale = given.scale ?? (unit.dimension === "temperature" ? "interval" : "ratio");
  const isGuess = given.guess !== undefined;
  if (given.better === undefined) fill("better: higher, lower, target or none");
  else if (isGuess && given.better !== "none") {
    fill(
      `better: "none" until somebody says otherwise ("${given.better}" was only a guess of the ` +
        "mapping); no answer names a best before",
    );
  }
  if (given.plausible === undefined) fill("plausible: what a reading can be at all");
  if (given.group === undefined) fill("group");
  if (given.method === undefined) fill("method: how it is done");
  if (given.smallest_difference === undefined) fill("smallest_difference that a player can feel");
  return {
    id,
    title: given.title ?? titleOf(id),
    unit: given.unit,
    scale,
    better: isGuess ? "none" : given.better ?? "none",
    target: null,
    plausible: given.plausible ?? plausibleRange(values, scale),
    smallest_difference: given.smallest_difference ?? null,
    decimals: given.decimals ?? 1,
    group: given.group ?? GROUPS[unit.dimension] ?? "propulsion",
    method: given.method ?? "To be filled in",
    method_version: "1",
    introduced,
    retired: null,
  };
}

const GROUPS: Readonly<Record<string, "mass" | "ventilation" | "stability">> = {
  mass: "mass",
  temperature: "ventilation",
  "angular stiffness": "stability",
};

/** What was read, and as much again to both sides; a first guess that lets the bench load. */
function plausibleRange(values: readonly number[], scale: "ratio" | "interval") {
  if (values.length === 0) return { low: 0, high: 1 };
  const low = values.reduce((a, b) => Math.min(a, b));
  const high = values.reduce((a, b) => Math.max(a, b));
  const span = Math.max(high - low, Math.abs(high) / 2, Number.MIN_VALUE * 4);
  const outer = low - span;
  return { low: scale === "ratio" && low >= 0 ? Math.max(0, outer) : outer, high: high + span };
}

function titleOf(id: string): string {
  const words = id.replaceAll("-", " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

type Rows = readonly Readonly<Record<string, unknown>>[];

function distinct(rows: Rows | undefined, column: string): string[] {
  return [...new Set((rows ?? []).map((row) => String(row[column] ?? "")))].filter((one) =>
    one !== ""
  );
}

function numbers(rows: Rows | undefined, column: string): number[] {
  return (rows ?? []).flatMap((row) => typeof row[column] === "number" ? [row[column]] : []);
}

function list(value: unknown): { readonly id?: unknown }[] {
  return Array.isArray(value) ? value.filter((one) => typeof one === "object" && one !== null) : [];
}
