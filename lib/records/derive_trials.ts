import { type LibraryMetric, metricLibrary, seriesLibrary } from "../metrics/mod.ts";
import { combinations, combinedVisits } from "./derive_combined.ts";
import { deriveSteps, report, type Step } from "./derive_steps.ts";
import type { JsonFile } from "./json_file.ts";
import { quoted } from "./problem.ts";
import type { Derivation, Metric, Problem, Series, Shoe, SizeSystem, Trial } from "./types.ts";
import { converter } from "./units.ts";

type Constants = Record<string, number | string>;

/**
 * Which trials follow from those that were read?
 *
 * For every metric with `derive`: each trial of the metric it comes from, put through the function of
 * the metric library and converted to the derived metric's unit; each reading of the series it comes
 * from, likewise; or each visit of the metrics it comes from, one trial from their means. What is lost
 * or excluded gives what is lost or excluded. Where a function's constant stands in a column of
 * shoes.csv, the shoe's own value goes before the one in `with`; the system of a size without one is
 * the lab's.
 *
 * @param json metrics.json, to place problems in; null when it could not be read
 * @returns the trials read, followed by those derived
 */
export function deriveTrials(
  metrics: readonly Metric[],
  trials: readonly Trial[],
  { json, shoes, series, sizeSystem }: {
    readonly json: JsonFile | null;
    readonly shoes: readonly Shoe[];
    readonly series: readonly Series[];
    readonly sizeSystem: SizeSystem | null;
  },
  onProblem: (problem: Problem) => void,
): readonly Trial[] {
  if (json === null || metrics.every(({ derive }) => derive === null)) return trials;
  const known = { metrics, series, library: metricLibrary, seriesLibrary, json };
  const all = [...trials];
  const shoeById = new Map(shoes.map((shoe) => [shoe.shoe_id, shoe]));
  for (const step of deriveSteps(known, onProblem)) {
    const made = step.kind === "reading"
      ? fromReadings(step, all, { shoeById, sizeSystem }, onProblem)
      : step.kind === "series"
      ? fromSeries(step, onProblem)
      : fromVisits(step, all, json, onProblem);
    for (const trial of made) all.push(trial);
  }
  return all;
}

type Of<Kind extends Step["kind"]> = Extract<Step, { readonly kind: Kind }>;

function fromReadings(
  { metric, source, entry }: Of<"reading">,
  trials: readonly Trial[],
  { shoeById, sizeSystem }: {
    readonly shoeById: ReadonlyMap<string, Shoe>;
    readonly sizeSystem: SizeSystem | null;
  },
  onProblem: (problem: Problem) => void,
): readonly Trial[] {
  const toReading = converter(source.unit, entry.reading_unit);
  const toMetric = converter(entry.unit, metric.unit);
  const constantsOf = constantsByShoe(entry, metric.derive as Derivation, shoeById, sizeSystem);
  const without = new Set<string>();
  const own = trials.filter(({ metric_id }) => metric_id === source.id);
  const made = own.flatMap((trial): Trial[] => {
    const constants = constantsOf(trial.shoe_id);
    if (trial.value === null || constants === null) {
      if (trial.value !== null) without.add(trial.shoe_id);
      return [{ ...trial, metric_id: metric.id, value: null, bound: null }];
    }
    const reading = toReading(trial.value);
    const value = computed(() => toMetric(entry.compute(reading, constants).value));
    const place = {
      file: "trials.csv",
      line: trial.line,
      found: quoted(`${trial.given_value} ${trial.given_unit}`),
    };
    return checked(
      { ...trial, metric_id: metric.id, bound: null },
      value,
      metric,
      place,
      onProblem,
    );
  });
  if (without.size > 0) {
    onProblem({
      file: "shoes.csv",
      line: null,
      column: entry.constants.find(({ shoe_column }) => shoe_column)?.shoe_column ?? null,
      found: `no size for ${[...without].sort().join(", ")}`,
      expected: `one, as ${metric.id} is computed with it`,
      fix: "These shoes go without that metric.",
      severity: "warning",
    });
  }
  return made;
}

function fromSeries(
  { metric, entry, series, swapped }: Of<"series">,
  onProblem: (problem: Problem) => void,
): readonly Trial[] {
  const constants = metric.derive!.with;
  const toMetric = converter(entry.unit, metric.unit);
  return series.flatMap((one): Trial[] => {
    const { session_id, shoe_id, trial, pair, excluded, line } = one;
    const bare: Trial = {
      session_id,
      shoe_id,
      metric_id: metric.id,
      trial,
      value: null,
      bound: null,
      given_value: null,
      given_unit: metric.unit,
      pair,
      side: null,
      hours_played: null,
      excluded,
      note: null,
      line,
    };
    if (excluded !== null) return [bare];
    const points = `${one.at.length} ${one.at.length === 1 ? "point" : "points"}`;
    const place = { file: "series.csv", line, found: `${one.series_id} of ${shoe_id}, ${points}` };
    const nothing = (why: string) => {
      onProblem({
        ...place,
        column: "value",
        expected: `a reading that ${metric.id} can be computed from (${why})`,
        fix: "The shoe goes without this trial.",
        severity: "warning",
      });
      return [bare];
    };
    if (one.at.length < 2) return nothing("one point makes no curve");
    const at = one.at.map(converter(one.at_unit, swapped ? entry.value_unit : entry.at_unit));
    const values = one.values.map(converter(one.unit, swapped ? entry.at_unit : entry.value_unit));
    let reason: string | null = null;
    const value = computed(() => {
      const found = entry.compute(swapped ? values : at, swapped ? at : values, constants);
      reason = found.value_reason;
      return found.value === null ? null : toMetric(found.value);
    });
    return reason === null ? checked(bare, value, metric, place, onProblem) : nothing(reason);
  });
}

function fromVisits(
  { metric, sources, by }: Of<"combined">,
  trials: readonly Trial[],
  json: JsonFile,
  onProblem: (problem: Problem) => void,
): readonly Trial[] {
  // One metric's own trials stay apart; only of several is it the means of a visit that meet.
  if (sources.length === 1) {
    return trials.filter(({ metric_id }) => metric_id === sources[0].id).flatMap((trial) => {
      const bare = { ...trial, metric_id: metric.id, value: null, bound: null };
      if (trial.value === null) return [bare];
      const value = finite(combinations[by].compute([trial.value], metric, sources));
      return checked(bare, value, metric, {
        file: "trials.csv",
        line: trial.line,
        found: quoted(`${trial.given_value} ${trial.given_unit}`),
      }, onProblem);
    });
  }
  const visits = combinedVisits(trials, sources);
  if (visits.length === 0) {
    report(json, metric, ["derive", "from"], {
      found: `no visit with ${sources.map(({ id }) => id).join(" and ")}`,
      expected: "a session in which a pair was benched on both",
      fix: `${metric.id} has no values.`,
      severity: "warning",
    }, onProblem);
  }
  return visits.flatMap(({ first, means }) => {
    const value = finite(combinations[by].compute(means, metric, sources));
    const shown = means.map((one, i) =>
      `${Number(one.toPrecision(6))} ${sources[i].unit} of ${sources[i].id}`
    ).join(", ");
    return checked(
      {
        ...first,
        metric_id: metric.id,
        trial: 1,
        side: null,
        given_value: null,
        given_unit: metric.unit,
        note: null,
        bound: null,
      },
      value,
      metric,
      { file: "trials.csv", line: first.line, found: shown },
      onProblem,
    );
  });
}

type Place = { readonly file: string; readonly line: number; readonly found: string };

/** The value, or what the function says against its reading. */
function computed(compute: () => number | null): number | null | RangeError {
  try {
    return compute();
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return error;
  }
}

function finite(value: number): number | RangeError {
  return Number.isFinite(value) ? value : new RangeError("no finite number comes out");
}

/** A derived trial that is in order; none, with a problem, where it counts and is not. */
function checked(
  bare: Omit<Trial, "value">,
  value: number | null | RangeError,
  metric: Metric,
  { file, line, found }: Place,
  onProblem: (problem: Problem) => void,
): Trial[] {
  const { low, high } = metric.plausible;
  const isRefused = value instanceof RangeError;
  const isOdd = typeof value === "number" && !(value >= low && value <= high);
  if (bare.excluded !== null || (!isRefused && !isOdd)) {
    return [{ ...bare, value: isRefused ? null : value }];
  }
  const shown = isRefused
    ? ""
    : `, which makes ${metric.id} of ${Number(value!.toPrecision(6))} ${metric.unit}`;
  const why = isRefused ? value.message : `${low} to ${high} is plausible`;
  onProblem({
    file,
    line,
    column: "value",
    found: `${found}${shown}`,
    expected: `a reading that ${metric.id} can be computed from (${why})`,
    fix: "Correct it, or exclude it with a reason.",
    severity: "error",
  });
  return [];
}

/** Constants for one shoe; null when the shoe lacks one that no default stands in for. */
function constantsByShoe(
  entry: Pick<LibraryMetric, "constants">,
  { with: given }: Derivation,
  shoes: ReadonlyMap<string, Shoe>,
  sizeSystem: SizeSystem | null,
): (shoeId: string) => Constants | null {
  const own = entry.constants.filter(({ shoe_column }) => shoe_column !== undefined);
  if (own.length === 0) return () => given;
  const known = new Map<string, Constants | null>();
  return (shoeId) => {
    const before = known.get(shoeId);
    if (before !== undefined) return before;
    const shoe = shoes.get(shoeId);
    const constants: Constants = { ...given };
    const size = shoe?.size ?? null;
    if (size !== null) {
      // A size means nothing without its own system, so the two are never taken from two places.
      const system = shoe?.size_system ?? sizeSystem ?? undefined;
      for (const { name, shoe_column } of own) {
        if (shoe_column === "size") constants[name] = size;
        else if (system !== undefined) constants[name] = system;
      }
    }
    const lacks = own.some(({ name, default: usual }) =>
      constants[name] === undefined && usual === undefined
    );
    known.set(shoeId, lacks ? null : constants);
    return lacks ? null : constants;
  };
}
