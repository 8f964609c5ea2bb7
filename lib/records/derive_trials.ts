import { type LibraryMetric, metricLibrary } from "../metrics/mod.ts";
import { type JsonFile, problemAt } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import type { Derivation, Metric, Problem, Shoe, SizeSystem, Trial } from "./types.ts";
import { converter, sameDimension, unitOf } from "./units.ts";

type Constants = Record<string, number | string>;
type Library = Readonly<Record<string, LibraryMetric>>;

/**
 * Which trials follow from those that were read?
 *
 * For every metric with `derive`, each trial of the metric it comes from is put through the function
 * of the metric library and converted to the derived metric's unit; a lost or excluded trial gives a
 * lost or excluded one. Where a function's constant stands in a column of shoes.csv, the shoe's own
 * value goes before the one in `with`; the system of a size without one is the lab's.
 *
 * @param json metrics.json, to place problems in; null when it could not be read
 * @returns the trials read, followed by those derived
 */
export function deriveTrials(
  metrics: readonly Metric[],
  trials: readonly Trial[],
  { json, shoes, sizeSystem, library = metricLibrary }: {
    readonly json: JsonFile | null;
    readonly shoes: readonly Shoe[];
    readonly sizeSystem: SizeSystem | null;
    readonly library?: Library;
  },
  onProblem: (problem: Problem) => void,
): readonly Trial[] {
  const derived = metrics.filter(({ derive }) => derive !== null);
  if (derived.length === 0 || json === null) return trials;

  const all = [...trials];
  const shoeById = new Map(shoes.map((shoe) => [shoe.shoe_id, shoe]));
  for (const { metric, source, entry } of inOrderOfNeed(metrics, json, library, onProblem)) {
    const derive = metric.derive as Derivation;
    const toReading = converter(source.unit, entry.reading_unit);
    const toMetric = converter(entry.unit, metric.unit);
    const constantsOf = constantsByShoe(entry, derive, shoeById, sizeSystem);
    const without = new Set<string>();
    const own = all.filter(({ metric_id }) => metric_id === source.id);
    for (const trial of own) {
      const constants = constantsOf(trial.shoe_id);
      let value: number | null = null;
      if (trial.value !== null && constants === null) without.add(trial.shoe_id);
      if (trial.value !== null && constants !== null) {
        try {
          value = toMetric(entry.compute(toReading(trial.value), constants).value);
        } catch (error) {
          if (!(error instanceof RangeError)) throw error;
          if (trial.excluded === null) {
            onProblem(trialProblem(trial, metric, error.message));
            continue;
          }
        }
      }
      const { low, high } = metric.plausible;
      if (value !== null && trial.excluded === null && !(value >= low && value <= high)) {
        const shown = `${metric.id} of ${Number(value.toPrecision(6))} ${metric.unit}`;
        onProblem(trialProblem(trial, metric, `${low} to ${high} is plausible`, shown));
        continue;
      }
      all.push({ ...trial, metric_id: metric.id, value, bound: null });
    }
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
  }
  return all;
}

type Step = { readonly metric: Metric; readonly source: Metric; readonly entry: LibraryMetric };

// A metric may be derived from a derived one, so each waits until its source is there.
function inOrderOfNeed(
  metrics: readonly Metric[],
  json: JsonFile,
  library: Library,
  onProblem: (problem: Problem) => void,
): Step[] {
  const ready = new Map(
    metrics.filter(({ derive }) => derive === null).map((one) => [one.id, one]),
  );
  const steps: Step[] = [];
  let waiting = metrics.filter(({ derive }) => derive !== null);
  while (waiting.length > 0) {
    const next = waiting.filter(({ derive }) => ready.has(derive?.from ?? ""));
    if (next.length === 0) break;
    for (const metric of next) {
      const source = ready.get(metric.derive?.from ?? "") as Metric;
      const entry = checkedEntry(metric, source, json, library, onProblem);
      ready.set(metric.id, metric);
      if (entry !== null) steps.push({ metric, source, entry });
    }
    waiting = waiting.filter((metric) => !next.includes(metric));
  }
  for (const metric of waiting) {
    const from = metric.derive?.from ?? "";
    const isKnown = metrics.some(({ id }) => id === from);
    report(json, metric, ["derive", "from"], {
      found: quoted(from),
      expected: isKnown
        ? "a metric that does not in turn come from this one"
        : "a metric of metrics.json",
      fix: isKnown ? "" : didYouMean(from, metrics.map(({ id }) => id), "Add the metric."),
    }, onProblem);
  }
  return steps;
}

function checkedEntry(
  metric: Metric,
  source: Metric,
  json: JsonFile,
  library: Library,
  onProblem: (problem: Problem) => void,
): LibraryMetric | null {
  const { by, with: given } = metric.derive as Derivation;
  const entry = Object.hasOwn(library, by) ? library[by] : undefined;
  if (entry === undefined) {
    report(json, metric, ["derive", "by"], {
      found: quoted(by),
      expected: "a function of the metric library",
      fix: didYouMean(by, Object.keys(library), `There are ${Object.keys(library).join(", ")}.`),
    }, onProblem);
    return null;
  }
  let good = true;
  const fail = (path: readonly PropertyKey[], trouble: Parameters<typeof problemAt>[4]) => {
    good = false;
    report(json, metric, path, trouble, onProblem);
  };
  if (!sameDimension(source.unit, entry.reading_unit)) {
    fail(["derive", "from"], {
      found: `${source.id} in ${source.unit}`,
      expected: `a metric of ${
        unitOf(entry.reading_unit)?.dimension
      }, as ${by} takes ${entry.reading}`,
    });
  }
  if (!sameDimension(metric.unit, entry.unit)) {
    fail(["unit"], {
      found: quoted(metric.unit),
      expected: `a unit of ${unitOf(entry.unit)?.dimension}, as ${by} gives ${entry.unit}`,
    });
  }
  for (
    const { name, unit, meaning, default: usual, optional, choices, shoe_column } of entry.constants
  ) {
    const value = given[name];
    if (value === undefined) {
      if (usual !== undefined || optional || shoe_column) continue;
      const fix = `It is the ${meaning}${unit === null || unit === "1" ? "" : `, in ${unit}`}.`;
      fail(["derive", "with", name], { found: "nothing", expected: "this constant", fix });
    } else if (choices && !choices.includes(value)) {
      const expected = `one of ${choices.join(", ")}`;
      fail(["derive", "with", name], { found: quoted(String(value)), expected });
    } else if (!choices && typeof value !== "number") {
      fail(["derive", "with", name], { found: quoted(value), expected: "a number" });
    }
  }
  const names = entry.constants.map(({ name }) => name);
  for (const name of Object.keys(given)) {
    if (names.includes(name)) continue;
    const trouble = { found: "an unknown constant", expected: `one of ${names.join(", ")}` };
    fail(["derive", "with", name], trouble);
  }
  return good ? entry : null;
}

/** Constants for one shoe; null when the shoe lacks one that no default stands in for. */
function constantsByShoe(
  entry: LibraryMetric,
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

function report(
  json: JsonFile,
  metric: Metric,
  path: readonly PropertyKey[],
  trouble: Parameters<typeof problemAt>[4],
  onProblem: (problem: Problem) => void,
): void {
  const entries = json.value as readonly { readonly id?: unknown }[];
  const index = entries.findIndex((entry) => entry?.id === metric.id);
  onProblem(problemAt(json, [index, ...path], metric.id, path, trouble));
}

function trialProblem(trial: Trial, metric: Metric, why: string, shown?: string): Problem {
  return {
    file: "trials.csv",
    line: trial.line,
    column: "value",
    found: quoted(`${trial.given_value} ${trial.given_unit}`) +
      (shown ? `, which makes ${shown}` : ""),
    expected: `a reading that ${metric.id} can be computed from (${why})`,
    fix: "Correct it, or exclude it with a reason.",
    severity: "error",
  };
}
