import type { LibraryConstant, LibraryMetric, SeriesMetric } from "../metrics/mod.ts";
import { combinations } from "./derive_combined.ts";
import { type JsonFile, problemAt } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import type { Derivation, Metric, Problem, Series } from "./types.ts";
import { sameDimension, unitOf } from "./units.ts";

/** How one derived metric comes about, once all that it needs is there. */
export type Step =
  | {
    readonly kind: "reading";
    readonly metric: Metric;
    readonly source: Metric;
    readonly entry: LibraryMetric;
  }
  | {
    readonly kind: "series";
    readonly metric: Metric;
    readonly entry: SeriesMetric;
    readonly series: readonly Series[];
    /** Whether `at` holds what the function takes for the reading, and the reading what it takes for `at`. */
    readonly swapped: boolean;
  }
  | {
    readonly kind: "combined";
    readonly metric: Metric;
    readonly sources: readonly Metric[];
    readonly by: string;
  };

/** What derivations are checked against. */
type DeriveKnown = {
  readonly metrics: readonly Metric[];
  readonly series: readonly Series[];
  readonly library: Readonly<Record<string, LibraryMetric>>;
  readonly seriesLibrary: Readonly<Record<string, SeriesMetric>>;
  /** metrics.json, to place problems in. */
  readonly json: JsonFile;
};

type Trouble = Parameters<typeof problemAt>[4];
type Fail = (path: readonly PropertyKey[], trouble: Trouble) => void;

/** The derivations that can be done, each after those it needs; problems with all others. */
export function deriveSteps(known: DeriveKnown, onProblem: (problem: Problem) => void): Step[] {
  const { metrics } = known;
  const ready = new Map(
    metrics.filter(({ derive }) => derive === null).map((one) => [one.id, one]),
  );
  const steps: Step[] = [];
  let waiting = metrics.filter(({ derive }) => derive !== null);
  while (waiting.length > 0) {
    const next = waiting.filter((metric) =>
      isOfSeries(metric, known) || sourcesOf(metric).every((id) => ready.has(id))
    );
    if (next.length === 0) break;
    for (const metric of next) {
      let good = true;
      const step = stepOf(metric, known, ready, (path, trouble) => {
        good = false;
        report(known.json, metric, path, trouble, onProblem);
      });
      ready.set(metric.id, metric);
      if (good && step !== null) steps.push(step);
    }
    waiting = waiting.filter((metric) => !next.includes(metric));
  }
  for (const metric of waiting) reportUnready(metric, ready, known, onProblem);
  return steps;
}

function sourcesOf({ derive }: Metric): readonly string[] {
  return derive === null ? [] : [derive.from].flat();
}

function isOfSeries(metric: Metric, { metrics, series, seriesLibrary }: DeriveKnown): boolean {
  const { from, by } = metric.derive as Derivation;
  return typeof from === "string" && !metrics.some(({ id }) => id === from) &&
    (Object.hasOwn(seriesLibrary, by) || series.some(({ series_id }) => series_id === from));
}

function stepOf(
  metric: Metric,
  known: DeriveKnown,
  ready: ReadonlyMap<string, Metric>,
  fail: Fail,
): Step | null {
  const { by, with: given } = metric.derive as Derivation;
  if (isOfSeries(metric, known)) return seriesStep(metric, known, fail);
  const sources = sourcesOf(metric).map((id) => ready.get(id)!);
  if (Object.hasOwn(combinations, by)) {
    for (const trouble of combinations[by].troubles(metric, sources)) fail(...trouble);
    for (const name of Object.keys(given)) {
      fail(["derive", "with", name], {
        found: "a constant",
        expected: `none, as ${by} takes none`,
      });
    }
    return { kind: "combined", metric, sources, by };
  }
  if (sources.length > 1) {
    const expected = Object.keys(combinations).filter((name) => name !== "log").join(", ");
    fail(["derive", "by"], {
      found: quoted(by),
      expected: `one of ${expected}, as from names ${sources.length} metrics`,
    });
    return null;
  }
  return readingStep(metric, sources[0], known, fail);
}

function readingStep(
  metric: Metric,
  source: Metric,
  { library, seriesLibrary }: DeriveKnown,
  fail: Fail,
): Step | null {
  const { by, with: given } = metric.derive as Derivation;
  const entry = Object.hasOwn(library, by) ? library[by] : undefined;
  if (entry === undefined) {
    const names = [...Object.keys(library), ...Object.keys(combinations)];
    fail(["derive", "by"], {
      found: quoted(by),
      expected: Object.hasOwn(seriesLibrary, by)
        ? `a function that takes one reading, as ${by} takes a series of series.csv`
        : "a function of the metric library",
      fix: didYouMean(by, names, `There are ${names.join(", ")}.`),
    });
    return null;
  }
  if (!sameDimension(source.unit, entry.reading_unit)) {
    fail(["derive", "from"], {
      found: `${source.id} in ${source.unit}`,
      expected: `a metric of ${
        unitOf(entry.reading_unit)?.dimension
      }, as ${by} takes ${entry.reading}`,
    });
  }
  checkResult(metric, entry.unit, fail);
  checkConstants(given, entry.constants, fail);
  return { kind: "reading", metric, source, entry };
}

function seriesStep(metric: Metric, known: DeriveKnown, fail: Fail): Step | null {
  const { from, by, with: given } = metric.derive as Derivation;
  const { series: all, seriesLibrary } = known;
  const series = all.filter(({ series_id }) => series_id === from);
  if (series.length === 0) {
    const ids = [...new Set(all.map(({ series_id }) => series_id))];
    fail(["derive", "from"], {
      found: quoted(String(from)),
      expected: "a series of series.csv",
      fix: didYouMean(String(from), ids, "Add its readings to series.csv."),
    });
    return null;
  }
  const entry = Object.hasOwn(seriesLibrary, by) ? seriesLibrary[by] : undefined;
  if (entry === undefined) {
    const names = Object.keys(seriesLibrary);
    fail(["derive", "by"], {
      found: quoted(by),
      expected: `a function that takes a series, as ${from} is one`,
      fix: didYouMean(by, names, `There are ${names.join(", ")}.`),
    });
    return null;
  }
  const [{ at_unit, unit }] = series;
  const fits = (at: string, value: string) =>
    sameDimension(at_unit, at) && sameDimension(unit, value);
  const swapped = entry.either_way && fits(entry.value_unit, entry.at_unit);
  if (!swapped && !fits(entry.at_unit, entry.value_unit)) {
    const [at, value] = [entry.at_unit, entry.value_unit].map((one) => unitOf(one)?.dimension);
    fail(["derive", "from"], {
      found: `${from}, ${unit} at ${at_unit}`,
      expected: `a series of ${value} at ${at}, as ${by} takes it`,
      fix: `Its first point is on line ${series[0].line} of series.csv.`,
    });
  }
  checkResult(metric, entry.unit, fail);
  checkConstants(given, entry.constants, fail);
  return { kind: "series", metric, entry, series, swapped };
}

function checkResult(metric: Metric, unit: string, fail: Fail): void {
  if (sameDimension(metric.unit, unit)) return;
  fail(["unit"], {
    found: quoted(metric.unit),
    expected: `a unit of ${unitOf(unit)?.dimension}, as ${metric.derive?.by} gives ${unit}`,
  });
}

function checkConstants(
  given: Derivation["with"],
  constants: readonly LibraryConstant[],
  fail: Fail,
): void {
  for (const { name, unit, meaning, words, choices, ...constant } of constants) {
    const path = ["derive", "with", name];
    const value = given[name];
    if (value === undefined) {
      if (constant.default !== undefined || constant.optional || constant.shoe_column) continue;
      const fix = `It is the ${meaning}${unit === null || unit === "1" ? "" : `, in ${unit}`}.`;
      fail(path, { found: "nothing", expected: "this constant", fix });
    } else if (choices && !choices.includes(value)) {
      fail(path, { found: quoted(String(value)), expected: `one of ${choices.join(", ")}` });
    } else if (!choices && typeof value !== "number" && !words?.includes(value)) {
      const expected = ["a number", ...words ?? []].join(", or ");
      fail(path, { found: quoted(value), expected });
    }
  }
  const names = constants.map(({ name }) => name);
  for (const name of Object.keys(given)) {
    if (names.includes(name)) continue;
    const trouble = { found: "an unknown constant", expected: `one of ${names.join(", ")}` };
    fail(["derive", "with", name], trouble);
  }
}

/** A metric whose sources never became ready: one is not there, or needs this one in turn. */
function reportUnready(
  metric: Metric,
  ready: ReadonlyMap<string, Metric>,
  { metrics, series, json }: DeriveKnown,
  onProblem: (problem: Problem) => void,
): void {
  for (const from of sourcesOf(metric).filter((id) => !ready.has(id))) {
    const isKnown = metrics.some(({ id }) => id === from);
    const names = [...metrics.map(({ id }) => id), ...series.map(({ series_id }) => series_id)];
    report(json, metric, ["derive", "from"], {
      found: quoted(from),
      expected: isKnown
        ? "a metric that does not in turn come from this one"
        : "a metric of metrics.json",
      fix: isKnown ? "" : didYouMean(from, [...new Set(names)], "Add the metric."),
    }, onProblem);
  }
}

/** Places a problem at a metric's entry of metrics.json. */
export function report(
  json: JsonFile,
  metric: Metric,
  path: readonly PropertyKey[],
  trouble: Trouble,
  onProblem: (problem: Problem) => void,
): void {
  const entries = json.value as readonly { readonly id?: unknown }[];
  const index = entries.findIndex((entry) => entry?.id === metric.id);
  onProblem(problemAt(json, [index, ...path], metric.id, path, trouble));
}
