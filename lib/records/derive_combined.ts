import { mean } from "simple-statistics";
import type { Metric, Trial } from "./types.ts";
import { converter, sameDimension, unitOf } from "./units.ts";

type Trouble = readonly [
  path: readonly PropertyKey[],
  trouble: { readonly found: string; readonly expected: string; readonly fix?: string },
];

/** A way of making one metric from others. */
type Combination = {
  /** What stands against it, placed within the metric's entry. */
  readonly troubles: (metric: Metric, sources: readonly Metric[]) => readonly Trouble[];
  /** From one value a source, in the source's own unit, to the metric's. */
  readonly compute: (
    values: readonly number[],
    metric: Metric,
    sources: readonly Metric[],
  ) => number;
};

/** What `derive.by` may name for a list of metrics; `log` is the natural logarithm of one. */
export const combinations: Readonly<Record<string, Combination>> = {
  ratio: {
    troubles: (metric, sources) => [
      ...counted(sources, 2),
      ...sources.filter(({ scale }) => scale === "interval").map(({ id }) =>
        atFrom(`${id}, whose 0 is not "none"`, "metrics on a ratio scale")
      ),
      ...(unitOf(metric.unit)?.dimension === "number" && (alike(sources) || metric.unit === "1")
        ? []
        : [
          [["unit"], {
            found: metric.unit,
            expected: alike(sources)
              ? "1 or %, as it is one metric over another of its kind"
              : `1, for ${sources[0]?.unit} per ${sources[1]?.unit}`,
          }] as const,
        ]),
    ],
    compute: ([above, below], metric, [first, second]) =>
      alike([first, second])
        ? converter("1", metric.unit)(above / converter(second.unit, first.unit)(below))
        : above / below,
  },
  difference: {
    troubles: (metric, sources) => [...counted(sources, 2), ...ofOneKind(metric, sources)],
    compute: (values, metric, sources) => {
      const [first, second] = inUnit(values, metric, sources);
      return first - second;
    },
  },
  mean: {
    troubles: (
      metric,
      sources,
    ) => [...counted(sources, 2, Infinity), ...ofOneKind(metric, sources)],
    compute: (values, metric, sources) => mean(inUnit(values, metric, sources)),
  },
  log: {
    troubles: (metric, sources) => [
      ...counted(sources, 1),
      ...(metric.unit === "1"
        ? []
        : [[["unit"], { found: metric.unit, expected: "1, as a logarithm has no unit" }] as const]),
    ],
    compute: ([value]) => Math.log(value),
  },
};

/** The means of a visit: one shoe, session and pair, with a value for each of the metrics. */
type CombinedVisit = {
  /** The first trial of the first metric, whose place the combined one takes. */
  readonly first: Trial;
  readonly means: readonly number[];
};

/** Which visits have a trial that counts of every one of these metrics? */
export function combinedVisits(
  trials: readonly Trial[],
  sources: readonly Metric[],
): readonly CombinedVisit[] {
  const keyOf = ({ session_id, shoe_id, pair }: Trial) =>
    JSON.stringify([session_id, shoe_id, pair]);
  const bySource = sources.map(({ id }) =>
    Map.groupBy(
      trials.filter((one) => one.metric_id === id && one.value !== null && one.excluded === null),
      keyOf,
    )
  );
  return [...bySource[0] ?? []].flatMap(([key, own]) => {
    const all = bySource.map((visits) => visits.get(key));
    if (all.includes(undefined)) return [];
    return [{
      first: own[0],
      means: all.map((visit) => mean(visit!.map(({ value }) => value!))),
    }];
  });
}

function alike(sources: readonly Metric[]): boolean {
  return sources.every(({ unit }) => sameDimension(unit, sources[0].unit));
}

function inUnit(values: readonly number[], metric: Metric, sources: readonly Metric[]): number[] {
  return values.map((value, i) => converter(sources[i].unit, metric.unit)(value));
}

function counted(sources: readonly Metric[], least: number, most = least): readonly Trouble[] {
  if (sources.length >= least && sources.length <= most) return [];
  const wanted = most === Infinity ? `${least} or more` : `${least}`;
  return [atFrom(`${sources.length} metrics`, `${wanted}, as a list where there are several`)];
}

function ofOneKind(metric: Metric, sources: readonly Metric[]): readonly Trouble[] {
  const odd = sources.find(({ unit }) => !sameDimension(unit, metric.unit));
  return odd === undefined ? [] : [
    atFrom(`${odd.id} in ${odd.unit}`, `metrics of ${unitOf(metric.unit)?.dimension}, as this one`),
  ];
}

function atFrom(found: string, expected: string): Trouble {
  return [["derive", "from"], { found, expected }];
}
