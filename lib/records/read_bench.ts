import { createHash } from "node:crypto";
import type { z } from "zod";
import { benchFileTrouble } from "./bench_file.ts";
import { checkHours, checkPairs, checkReferences, checkWeather } from "./check_pairs.ts";
import {
  checkAdopted,
  checkMainIndex,
  checkRules,
  type PlacedRule,
  type RuleNames,
} from "./check_rules.ts";
import { checkDrafts, type DraftFiles, readProposal, REGISTERED } from "./read_proposals.ts";
import { unknownRuleKey } from "./rule_keys.ts";
import { checkCorrected, checkLook, checkSettings } from "./check_settings.ts";
import { type ColumnSchemas, readCsvTable } from "./csv_table.ts";
import { deriveTrials } from "./derive_trials.ts";
import { futureDates } from "./future_dates.ts";
import { type JsonFile, problemAt, readBySchema, readJson } from "./json_file.ts";
import { likelySlips } from "./likely_slips.ts";
import { quoted } from "./problem.ts";
import { markOtherSizes } from "./pair_sizes.ts";
import { readCalibrations } from "./read_calibrations.ts";
import { readImpressions } from "./read_impressions.ts";
import { readSeries } from "./read_series.ts";
import { didYouMean, readTrials } from "./read_trials.ts";
import { rowProblems } from "./row_problems.ts";
import {
  benchSchema,
  calibrationSchema,
  decisionSchema,
  featureSchema,
  metricSchema,
  pairSchema,
  ruleSchema,
  sessionSchema,
  shoeSchema,
  testerSchema,
} from "./schemas.ts";
import type {
  Bench,
  BenchSettings,
  Decision,
  Feature,
  Metric,
  Pair,
  Problem,
  Session,
  Shoe,
  TableCounts,
  Tester,
} from "./types.ts";
import { unitOf } from "./units.ts";

/** Everything that reading a bench folder gives; `bench` is null when there are errors. */
type BenchRead = {
  readonly bench: Bench | null;
  readonly problems: readonly Problem[];
  readonly counts: Readonly<Record<string, TableCounts>>;
  readonly load_notes: readonly string[];
  readonly sha256: Readonly<Record<string, string>>;
};

/**
 * Reads and checks a whole bench folder; every problem of every file comes back at once.
 *
 * @param options.today the day after which a date is odd
 */
export async function readBench(
  dir: string,
  { today = new Date().toISOString().slice(0, 10) }: { readonly today?: string } = {},
): Promise<BenchRead> {
  const problems: Problem[] = [];
  const onProblem = (problem: Problem) => void problems.push(problem);
  const counts: Record<string, TableCounts> = {};
  const notes: string[] = [];
  const sha256: Record<string, string> = {};
  const folder: Folder = { dir, counts, notes, sha256, onProblem };
  const done = (bench: Bench | null): BenchRead => ({
    bench,
    problems: inOrder(problems),
    counts,
    load_notes: notes,
    sha256,
  });

  const trouble = await folderTrouble(dir);
  if (trouble !== null) {
    onProblem({
      file: dir,
      line: null,
      column: null,
      found: trouble,
      expected: "a bench folder",
      fix: "Check the path, or make a new one with deno task start.",
      severity: "error",
    });
    return done(null);
  }

  const tables = await readTables(folder);
  const { settings, metrics, shoes, sessions, rules } = tables;
  const { proposals, registrations } = checkTables(tables, folder);
  const { trials, series, impressions } = await readReadings(tables, folder);
  checkReadings(tables, { trials, impressions, today }, folder);
  const all = deriveTrials(metrics.rows, trials, {
    json: metrics.whole ? metrics.json : null, // else a source may be the entry that has errors
    shoes: shoes.rows,
    series,
    sizeSystem: settings.value?.size_system ?? null,
  }, onProblem);
  if (settings.value === null || problems.some(({ severity }) => severity === "error")) {
    return done(null);
  }
  return done({
    dir,
    settings: settings.value,
    metrics: metrics.rows,
    shoes: shoes.rows,
    features: tables.features.rows,
    sessions: sessions.rows,
    trials: markOtherSizes(all, {
      pairs: tables.pairs.rows,
      shoes: shoes.rows,
      metrics: metrics.rows,
      sizeSystem: settings.value.size_system,
    }),
    series,
    impressions,
    testers: tables.testers.rows,
    pairs: tables.pairs.rows,
    calibrations: tables.calibrations,
    rules: rules.map(({ rule }) => rule)
      .sort((a, b) => a.effective < b.effective ? -1 : a.effective > b.effective ? 1 : 0),
    proposals,
    registrations,
    decisions: tables.decisions.rows,
    warnings: inOrder(problems),
    load_notes: notes,
    counts,
    sha256,
  });
}

type Tables = {
  readonly settings: Awaited<ReturnType<typeof readSettings>>;
  readonly metrics: MetricsRead;
  readonly shoes: TableRows<Shoe>;
  readonly sessions: TableRows<Session>;
  readonly features: TableRows<Feature>;
  readonly testers: TableRows<Tester>;
  readonly pairs: TableRows<Pair>;
  readonly decisions: TableRows<Decision>;
  readonly calibrations: Bench["calibrations"];
  readonly rules: readonly PlacedRule[];
  readonly drafts: DraftFiles;
};

/** All that the readings refer to. */
async function readTables(folder: Folder): Promise<Tables> {
  const settings = await readSettings(folder);
  const metrics = await readMetrics(folder);
  const shoes = await readTable(folder, "shoes.csv", shoeSchema, "shoe_id", needed);
  const sessions = await readTable(folder, "sessions.csv", sessionSchema, "session_id", needed);
  const features = await readTable<Feature>(folder, "features.csv", featureSchema, null, optional);
  const testers = await readTable<Tester>(folder, "testers.csv", testerSchema, "tester", optional);
  const pairs = await readTable<Pair>(folder, "pairs.csv", pairSchema, null, optional);
  const placed = await readTable(folder, "calibrations.csv", calibrationSchema, null, optional);
  const calibrations = readCalibrations(
    placed,
    { metrics: metrics.rows, sessions: sessions.rows, excuses: metrics.excuses },
    folder.onProblem,
  );
  const decisions = await readTable<Decision>(
    folder,
    "decisions.csv",
    decisionSchema,
    null,
    optional,
  );
  const rules = await readRules(folder);
  const drafts = await readProposals(folder);
  return {
    settings,
    metrics,
    shoes,
    sessions,
    features,
    testers,
    pairs,
    decisions,
    calibrations,
    rules,
    drafts,
  };
}

/** Does each table agree with the others? */
function checkTables(
  { settings, metrics, shoes, sessions, features, pairs, decisions, rules, drafts }: Tables,
  { counts, onProblem }: Folder,
): Pick<Bench, "proposals" | "registrations"> {
  checkFeatures(features, shoes, onProblem);
  checkExamples(shoes.rows, sessions.rows, onProblem);
  const shoeIds = new Set(shoes.rows.map(({ shoe_id }) => shoe_id));
  checkPairs(pairs, (id) => shoeIds.has(id) || shoes.excuses(id), onProblem);
  if (settings.value !== null) {
    checkSettings(settings.json, settings.value, shoes, onProblem);
    checkLook(settings.json, settings.value, metrics.whole ? metrics.rows : null, onProblem);
    if (metrics.whole) {
      checkCorrected(settings.json, settings.value, metrics.rows, onProblem);
    }
  }
  const names: RuleNames = {
    rules: rules.length === counts["rules"].read ? rules.map(({ rule }) => rule) : null,
    metrics: metrics.whole ? metrics.rows : null,
    features: features.rows,
    attributes: settings.value?.attributes ?? null,
  };
  checkRules(rules, names, onProblem);
  checkAdopted(rules, decisions.rows, onProblem);
  if (settings.value !== null) {
    checkMainIndex(settings.json, settings.value, rules, onProblem);
  }
  const { proposals, registrations, problems: drafted } = checkDrafts(
    drafts,
    names,
  );
  for (const problem of drafted) onProblem(problem);
  return { proposals, registrations };
}

/** The tables of readings, each checked against the others as it is read. */
async function readReadings(
  { settings, metrics, shoes, sessions, testers }: Tables,
  folder: Folder,
): Promise<Pick<Bench, "trials" | "series" | "impressions">> {
  const { counts, notes, sha256, onProblem } = folder;
  const trials = await orMissing(folder, "trials.csv", true, (path) =>
    readTrials(path, {
      metrics: metrics.rows,
      shoes: shoes.rows,
      sessions: sessions.rows,
      excused: { session: sessions.excuses, shoe: shoes.excuses, metric: metrics.excuses },
    }, onProblem));
  const series = await orMissing(folder, "series.csv", false, (path) =>
    readSeries(path, {
      sessions: sessions.rows.map(({ session_id }) => session_id),
      shoes: shoes.rows.map(({ shoe_id }) => shoe_id),
      excused: { session: sessions.excuses, shoe: shoes.excuses },
    }, onProblem));
  const impressions = await orMissing(
    folder,
    "impressions.csv",
    false,
    (path) =>
      readImpressions(path, {
        settings: settings.value,
        shoes: shoes.rows,
        // A table that holds its header only says as little as one that isn't there.
        testers: testers.found && (counts["testers.csv"]?.read ?? 0) > 0 ? testers.rows : null,
        excused: { shoe: shoes.excuses, tester: testers.excuses },
      }, onProblem),
  );
  const tables = { "trials.csv": trials, "series.csv": series, "impressions.csv": impressions };
  for (const [file, read] of Object.entries(tables)) {
    if (read === null) continue;
    counts[file] = read.counts;
    notes.push(...read.table.load_notes);
    sha256[file] = read.table.sha256;
  }
  sayWhatIsMissing(folder, {
    "trials.csv": trials === null ? "absent" : trials.table.readable ? trials.table.rows : null,
    "impressions.csv": impressions === null
      ? "absent"
      : impressions.table.readable
      ? impressions.table.rows
      : null,
    "rules": counts["rules"].read,
  });
  return {
    trials: trials?.trials ?? [],
    series: series?.series ?? [],
    impressions: impressions?.impressions ?? [],
  };
}

/** What is odd about readings that could be read. */
function checkReadings(
  { settings, metrics, shoes, sessions }: Tables,
  { trials, impressions, today }: Pick<Bench, "trials" | "impressions"> & {
    readonly today: string;
  },
  { onProblem }: Folder,
): void {
  checkHours(trials, sessions.rows, onProblem);
  checkWeather(metrics.rows, sessions.rows, trials, onProblem);
  checkReferences(
    settings.value?.reference_shoes ?? [],
    metrics.rows,
    sessions.rows,
    trials,
    onProblem,
  );
  const dated = [
    { file: "sessions.csv", ...sessions },
    { file: "impressions.csv", rows: impressions, lines: impressions.map(({ line }) => line) },
  ];
  for (const problem of futureDates(dated, today)) onProblem(problem);
  for (const problem of likelySlips(metrics.rows, shoes.rows, sessions.rows, trials)) {
    onProblem(problem);
  }
}

type Folder = {
  readonly dir: string;
  readonly counts: Record<string, TableCounts>;
  readonly notes: string[];
  readonly sha256: Record<string, string>;
  readonly onProblem: (problem: Problem) => void;
};

const needed = { needed: true };
const optional = { needed: false };

async function folderTrouble(dir: string): Promise<string | null> {
  try {
    return (await Deno.stat(dir)).isDirectory ? null : "a file";
  } catch (error) {
    if (error instanceof Deno.errors.NotFound) return "no such folder";
    return `a folder that cannot be read (${error instanceof Error ? error.message : error})`;
  }
}

/** A file's bytes by way of `read`, or null with a problem when it is needed and cannot be read. */
async function orMissing<T>(
  { dir, onProblem }: Folder,
  file: string,
  isNeeded: boolean,
  read: (path: string) => Promise<T>,
): Promise<T | null> {
  const problem = { file, line: null, column: null, severity: "error" } as const;
  try {
    const trouble = await benchFileTrouble(dir, file, file.endsWith(".json") ? "json" : "table");
    if (trouble === null) return await read(`${dir}/${file}`);
    onProblem({ ...problem, ...trouble });
    return null;
  } catch (error) {
    if (error instanceof Deno.errors.NotFound) {
      if (isNeeded) {
        const fix = "Add it; deno task start makes an empty one.";
        onProblem({ ...problem, found: "no such file", expected: "this file", fix });
      }
      return null;
    }
    if (!(error instanceof Deno.errors.PermissionDenied)) throw error;
    onProblem({ ...problem, found: "a file that may not be read", expected: "this file", fix: "" });
    return null;
  }
}

async function readJsonFile(
  folder: Folder,
  file: string,
  isNeeded: boolean,
): Promise<JsonFile | null> {
  const bytes = await orMissing(folder, file, isNeeded, (path) => Deno.readFile(path));
  if (bytes === null) return null;
  folder.sha256[file] = createHash("sha256").update(bytes).digest("hex");
  return readJson(file, new TextDecoder().decode(bytes), folder.onProblem);
}

async function readSettings(
  folder: Folder,
): Promise<{ json: JsonFile; value: BenchSettings } | { json: null; value: null }> {
  const json = await readJsonFile(folder, "bench.json", true);
  if (json === null) return { json: null, value: null };
  const value = readBySchema(json, json.value, benchSchema, [], "", folder.onProblem);
  return value === null ? { json: null, value: null } : { json, value };
}

type MetricsRead = {
  readonly json: JsonFile | null;
  readonly rows: Metric[];
  /** False when an entry could not be read, so that an unknown id may be that one. */
  readonly whole: boolean;
  readonly excuses: (id: string) => boolean;
};

async function readMetrics(folder: Folder): Promise<MetricsRead> {
  const file = "metrics.json";
  const { onProblem } = folder;
  const json = await readJsonFile(folder, file, true);
  if (json === null) return { json, rows: [], whole: false, excuses: () => true };
  if (!Array.isArray(json.value) || json.value.length === 0) {
    const found = Array.isArray(json.value) ? "an empty array" : "no array";
    onProblem(problemAt(json, [], "", [], { found, expected: "an array of one or more metrics" }));
    return { json, rows: [], whole: false, excuses: () => true };
  }
  const rows: Metric[] = [];
  const seen = new Set<string>();
  json.value.forEach((entry: unknown, i: number) => {
    const name = entryName(entry, i);
    const metric = readBySchema(json, entry, metricSchema, [i], name, onProblem);
    const id = metric?.id ?? entryId(entry);
    if (id !== null && seen.has(id)) {
      const trouble = { found: `${quoted(id)} again`, expected: "each id once" };
      onProblem(problemAt(json, [i, "id"], name, ["id"], trouble));
      return;
    }
    if (id !== null) seen.add(id);
    if (metric === null) return;
    const unit = unitOf(metric.unit);
    if (unit === null) {
      onProblem(problemAt(json, [i, "unit"], name, ["unit"], {
        found: quoted(metric.unit),
        expected: "a known unit",
        fix: "Use a UCUM code such as cm, g, N, deg, s, Cel or %.",
      }));
      return;
    }
    if (metric.scale === "ratio" && unit.dimension === "temperature" && unit.code !== "K") {
      onProblem(problemAt(json, [i, "scale"], name, ["scale"], {
        found: '"ratio"',
        expected: '"interval", as 0 on this scale is not "none"',
        fix: "A coefficient of variation would mean nothing here.",
        severity: "warning",
      }));
    }
    rows.push({ ...metric, unit: unit.code });
  });
  folder.counts[file] = tally(json.value.length, rows.length);
  const known = new Set(rows.map(({ id }) => id));
  return {
    json,
    rows,
    whole: rows.length === json.value.length,
    excuses: (id) => seen.has(id) && !known.has(id),
  };
}

function entryId(entry: unknown): string | null {
  const id = typeof entry === "object" && entry !== null && "id" in entry ? entry.id : null;
  return typeof id === "string" ? id : null;
}

function entryName(entry: unknown, i: number): string {
  return entryId(entry) ?? `[${i}]`;
}

type TableRows<Row> = {
  readonly rows: Row[];
  readonly lines: readonly number[];
  readonly found: boolean;
  readonly excuses: (id: string) => boolean;
};

/** Reads one of the smaller tables; `key` is the column whose value may stand once only. */
async function readTable<Row>(
  folder: Folder,
  file: string,
  schema: z.ZodObject<ColumnSchemas & z.core.$ZodLooseShape> & z.ZodType<Row>,
  key: (keyof Row & string) | null,
  { needed }: { readonly needed: boolean },
): Promise<TableRows<Row>> {
  const { onProblem } = folder;
  const rows: Row[] = [];
  const lines: number[] = [];
  const lineOfKey = new Map<string, number>();
  const failed = new Set<string>();
  let broken = false;
  const read = await orMissing(
    folder,
    file,
    needed,
    (path) =>
      readCsvTable(path, file, schema.shape, (cells, line) => {
        const parsed = schema.safeParse(cells);
        if (!parsed.success) {
          if (key !== null) failed.add(cells[key].trim());
          for (const problem of rowProblems(file, line, cells, parsed.error)) onProblem(problem);
          return;
        }
        if (key !== null) {
          const id = String(parsed.data[key]);
          const earlier = lineOfKey.get(id);
          if (earlier !== undefined) {
            onProblem({
              file,
              line,
              column: key,
              found: `${quoted(id)} again`,
              expected: `each ${key} once (the first is on line ${earlier})`,
              fix: "Take one of the two rows away, or rename it.",
              severity: "error",
            });
            return;
          }
          lineOfKey.set(id, line);
        }
        rows.push(parsed.data);
        lines.push(line);
      }, (problem) => {
        if (problem.severity === "error") broken = true;
        onProblem(problem);
      }),
  );
  if (read !== null) {
    folder.counts[file] = tally(read.rows, rows.length);
    folder.notes.push(...read.load_notes);
    folder.sha256[file] = read.sha256;
    if (needed && read.rows === 0 && !broken) {
      onProblem({
        file,
        line: null,
        column: null,
        found: "no rows below the header",
        expected: "at least one row",
        fix: "Nothing can be worked out until there is one.",
        severity: "warning",
      });
    }
  }
  const excuses = (id: string) => broken || failed.has(id) || (read === null && needed);
  return { rows, lines, found: read !== null, excuses };
}

function tally(read: number, kept: number): TableCounts {
  return { read, kept, missing: 0, excluded: 0 };
}

/** The rows that a new folder comes with count like any other until somebody deletes them. */
function checkExamples(
  shoes: readonly Shoe[],
  sessions: readonly Session[],
  onProblem: (problem: Problem) => void,
): void {
  const left = [
    ["shoes.csv", shoes.some(({ shoe_id }) => shoe_id === "example-shoe"), "example-shoe"],
    [
      "sessions.csv",
      sessions.some((one) => one.session_id === "example-session"),
      "example-session",
    ],
  ] as const;
  for (const [file, isLeft, name] of left) {
    if (!isLeft) continue;
    onProblem({
      file,
      line: null,
      column: null,
      found: `the example row ${quoted(name)}`,
      expected: "rows of your own",
      fix:
        `Delete it here and in every table that names ${name}; until then it counts like any other.`,
      severity: "warning",
    });
  }
}

function checkFeatures(
  features: TableRows<Feature>,
  shoes: TableRows<Shoe>,
  onProblem: (problem: Problem) => void,
): void {
  const ids = shoes.rows.map(({ shoe_id }) => shoe_id);
  const known = new Set(ids);
  const lineOfKey = new Map<string, number>();
  features.rows.forEach(({ shoe_id, feature_id }, i) => {
    const place = { file: "features.csv", line: features.lines[i], severity: "error" } as const;
    if (!known.has(shoe_id) && !shoes.excuses(shoe_id)) {
      onProblem({
        ...place,
        column: "shoe_id",
        found: quoted(shoe_id),
        expected: "a shoe of shoes.csv",
        fix: didYouMean(shoe_id, ids, "Add the shoe to shoes.csv."),
      });
    }
    const key = JSON.stringify([shoe_id, feature_id]);
    const earlier = lineOfKey.get(key);
    if (earlier === undefined) lineOfKey.set(key, place.line);
    else {
      onProblem({
        ...place,
        column: "feature_id",
        found: `${feature_id} of ${shoe_id} again`,
        expected: `one row a shoe and feature (the first is on line ${earlier})`,
        fix: "Take one of the two rows away.",
      });
    }
  });
}

async function jsonFilesIn(folder: Folder, name: string): Promise<JsonFile[]> {
  const names: string[] = [];
  try {
    for await (const entry of Deno.readDir(`${folder.dir}/${name}`)) {
      if (!entry.isDirectory && entry.name.endsWith(".json")) names.push(entry.name);
    }
  } catch (error) {
    const absent = error instanceof Deno.errors.NotFound ||
      error instanceof Deno.errors.NotADirectory;
    if (!absent) throw error;
  }
  const files: JsonFile[] = [];
  for (const file of names.sort()) {
    const json = await readJsonFile(folder, `${name}/${file}`, true);
    if (json !== null) files.push(json);
  }
  return files;
}

async function readRules(folder: Folder): Promise<PlacedRule[]> {
  const files = await jsonFilesIn(folder, "rules");
  const rules = files.flatMap((json) => {
    const rule = readBySchema(
      json,
      json.value,
      ruleSchema,
      [],
      "",
      folder.onProblem,
      unknownRuleKey,
    );
    return rule === null ? [] : [{ json, path: [], rule }];
  });
  folder.counts["rules"] = tally(files.length, rules.length);
  return rules;
}

/** Proposals and registrations as they stand in their folder, faults and all, which stop nothing else. */
async function readProposals(folder: Folder): Promise<DraftFiles> {
  const problems: Problem[] = [];
  const apart = {
    ...folder,
    onProblem: (problem: Problem) => void problems.push(problem),
  };
  const files = await jsonFilesIn(apart, "proposals");
  const registered = files.filter(({ file }) => file.endsWith(REGISTERED));
  const drafts = files.filter(({ file }) => !file.endsWith(REGISTERED));
  const proposals = drafts.flatMap((json) => {
    const proposal = readProposal(json, apart.onProblem);
    return proposal === null
      ? []
      : [{ json, proposal: { ...proposal, sha256: folder.sha256[json.file] } }];
  });
  folder.counts["proposals"] = tally(drafts.length, proposals.length);
  return { proposals, registered, problems };
}

const WITHOUT = {
  "trials.csv": "Nothing can be said about repeatability, prediction or the index until there are.",
  "impressions.csv": "Nothing can be said about what predicts the court until there are.",
  "rules": "No index can be computed until there is one.",
} as const;

// An empty bench is no mistake, but a study that has nothing to work on should not come as a surprise.
function sayWhatIsMissing(
  { onProblem }: Folder,
  rows: Readonly<Record<keyof typeof WITHOUT, number | "absent" | null>>,
): void {
  const report = (file: keyof typeof WITHOUT, found: string, expected: string) =>
    onProblem({
      file,
      line: null,
      column: null,
      found,
      expected,
      fix: WITHOUT[file],
      severity: "warning",
    });
  if (rows["trials.csv"] === 0) report("trials.csv", "no rows", "rows below the header");
  const impressions = rows["impressions.csv"];
  if (impressions === "absent") report("impressions.csv", "no such file", "this file");
  if (impressions === 0) report("impressions.csv", "no rows", "rows below the header");
  if (rows.rules === 0) report("rules", "no rule", "at least one rule");
}

// Errors first; then file by file as they were read, and down the lines of each.
function inOrder(problems: readonly Problem[]): Problem[] {
  const files = [...new Set(problems.map(({ file }) => file))];
  const fileRank = new Map(files.map((file, i) => [file, i]));
  const rank = ({ severity }: Problem) => severity === "error" ? 0 : 1;
  return [...problems].sort((a, b) =>
    rank(a) - rank(b) || fileRank.get(a.file)! - fileRank.get(b.file)! ||
    (a.line ?? 0) - (b.line ?? 0)
  );
}
