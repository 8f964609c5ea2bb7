import { createHash } from "node:crypto";
import { mean } from "simple-statistics";
import * as option from "../../options.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import { namesOf } from "../shoes/asked_shoes.ts";

/** One shoe on one metric, to be read so many times. */
export type SheetVisit = {
  readonly shoe_id: string;
  readonly metric: string;
  readonly trials: number;
};

/** One line of a bench sheet: a shoe on a metric, with room for its readings. */
export type SheetLine = {
  /** 1 is the first to read. */
  readonly line: number;
  readonly part: "reference first" | "visit" | "reference last";
  readonly shoe_id: string;
  readonly name: string;
  readonly metric: string;
  readonly title: string;
  /** Unit to write in; another of the same kind is taken too when it is written behind the number. */
  readonly unit: string;
  readonly trials: number;
  /** Number of the first of its readings in the session: a reference's last readings go on counting. */
  readonly first_trial: number;
  /** What the shoe's last visit read, for those who want to see it. */
  readonly last: { readonly mean: number; readonly date: string; readonly decimals: number } | null;
  readonly plausible: { readonly low: number; readonly high: number };
};

/** A session at the bench, planned line by line. */
export type BenchSheet = {
  /** Stands on every line, so that a sheet is known again when it is entered. */
  readonly code: string;
  readonly lines: readonly SheetLine[];
  /** Metrics that are worked out from readings of many points, which a sheet has no room for. */
  readonly left_out: readonly string[];
  readonly seed: number;
};

/**
 * In which order is a session best worked, and what is to be written down?
 *
 * Metric by metric, since each has its own set-up, in the order in which the visits come. Within a
 * set-up the reference shoes are read first and again last, so that a drift within it shows, and the
 * shoes between them stand in an order drawn by `seed`, so that what changes with time falls on no shoe in
 * particular. A metric that is computed is asked for as what it is computed from.
 *
 * @throws {RangeError} if there is no visit, or one of a shoe or metric that the bench doesn't have
 */
export function benchSheet(
  bench: Bench,
  visits: readonly SheetVisit[],
  { seed }: { readonly seed: number },
): BenchSheet {
  option.check("studies.benchSheet", arguments[2], { seed: option.needed(option.seed) });
  if (visits.length === 0) throw new RangeError("A bench sheet takes at least one visit");
  const leftOut = new Set<string>();
  const asked = visits.flatMap((visit) => {
    const read = readMetrics(bench, visit.metric);
    if (read.length === 0) leftOut.add(visit.metric);
    return read.map((metric) => ({ ...visit, metric }));
  });
  const metrics = [...new Set(asked.map(({ metric }) => metric))];
  const references = bench.settings.reference_shoes;
  const drafts = metrics.flatMap((metric, m) => {
    const ofMetric = asked.filter((visit) => visit.metric === metric);
    const trials = Math.max(...ofMetric.map((visit) => visit.trials));
    const shoes = [...new Set(ofMetric.map(({ shoe_id }) => shoe_id))]
      .filter((shoe) => !references.includes(shoe));
    const shuffled = randomStream(seed, m).shuffle(shoes.slice());
    const reference = (part: "reference first" | "reference last") =>
      references.map((shoe_id) => ({ part, shoe_id, metric, trials }));
    return [
      ...reference("reference first"),
      ...shuffled.map((shoe_id) => ({
        part: "visit" as const,
        shoe_id,
        metric,
        trials: ofMetric.find((visit) => visit.shoe_id === shoe_id)!.trials,
      })),
      ...reference("reference last"),
    ];
  });
  const counts = new Map<string, number>();
  const names = namesOf(bench.shoes);
  const lines = drafts.map((draft, i): SheetLine => {
    const metric = found(bench.metrics, ({ id }) => id === draft.metric, `metric ${draft.metric}`);
    const at = bench.shoes.findIndex(({ shoe_id }) => shoe_id === draft.shoe_id);
    if (at < 0) throw new RangeError(`There is no shoe ${draft.shoe_id} on this bench`);
    const key = `${draft.shoe_id}\0${draft.metric}`;
    const before = counts.get(key) ?? 0;
    counts.set(key, before + draft.trials);
    return {
      line: i + 1,
      ...draft,
      name: names[at],
      title: metric.title,
      unit: metric.unit,
      first_trial: before + 1,
      last: lastVisit(bench, draft.shoe_id, metric),
      plausible: { low: metric.plausible.low, high: metric.plausible.high },
    };
  });
  const about = JSON.stringify([bench.settings.name, seed, drafts]);
  const code = createHash("sha256").update(about).digest("hex").slice(0, 8);
  return { code, lines, left_out: [...leftOut], seed };
}

/** The metrics that are read for this one: itself, or those that it is computed from. */
function readMetrics(bench: Bench, id: string): string[] {
  const metric = found(bench.metrics, (one) => one.id === id, `metric ${id}`);
  if (metric.derive === null) return [id];
  const from: readonly string[] = [metric.derive.from].flat();
  return from.filter((one) => bench.metrics.some((other) => other.id === one))
    .flatMap((one) => readMetrics(bench, one));
}

function lastVisit(bench: Bench, shoe_id: string, metric: Metric): SheetLine["last"] {
  const visit = visitsOf(bench, metric.id).findLast((one) => one.shoe_id === shoe_id);
  if (visit === undefined) return null;
  return { mean: mean([...visit.values]), date: visit.date, decimals: metric.decimals };
}

function found<T>(list: readonly T[], test: (one: T) => boolean, what: string): T {
  const one = list.find(test);
  if (one === undefined) throw new RangeError(`There is no ${what} on this bench`);
  return one;
}
