import { mean } from "simple-statistics";
import * as option from "../../options.ts";
import { isComputed, ruleInForce, visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { isUnrepeated } from "../coverage/bench_stage.ts";
import { askedMetricIds, askedShoeIds, namesOf } from "../shoes/asked_shoes.ts";

/** One visit of a pilot: enough readings of a shoe to learn how a metric scatters. */
export type PilotVisit = {
  readonly shoe_id: string;
  readonly name: string;
  readonly metric: string;
  readonly title: string;
  readonly trials: number;
  readonly minutes: number;
};

/** The visits that tell the noise of metrics which were never read twice. */
export type PilotPlan = {
  /** Metrics whose noise is unknown, those that the index waits for first. */
  readonly metrics: readonly { readonly metric: string; readonly in_index: boolean }[];
  readonly shoes: readonly string[];
  readonly visits: readonly PilotVisit[];
  readonly minutes: number;
};

/** So many shoes and readings leave ten degrees of freedom for the repeatability SD: limits about 0.7 to 1.75 times it. */
const SHOES = 5;
const READINGS = 3;

/**
 * Which visits tell the noise of metrics that were never read twice?
 *
 * The same five shoes for each metric, since they then go through each set-up together: where there are
 * readings already, shoes from the lowest to the highest of the first metric, so that noise that grows with
 * the reading shows. Three readings each in one session; metrics of the index in force come first.
 *
 * @param minutesPerVisit for all metrics or by metric id
 * @param shoes only these; null for all
 * @param metrics only these; null for all
 * @returns no visits where every metric was read twice somewhere, or where there is no shoe
 */
export function pilotPlan(
  bench: Bench,
  { minutesPerVisit = 10, shoes = null, metrics = null }: {
    readonly minutesPerVisit?: number | Readonly<Record<string, number>>;
    readonly shoes?: readonly string[] | null;
    readonly metrics?: readonly string[] | null;
  } = {},
): PilotPlan {
  option.check("studies.pilotPlan", arguments[1], {
    minutesPerVisit: option.either(option.number, option.thing),
    shoes: option.orNull(option.listOf(option.text)),
    metrics: option.orNull(option.listOf(option.text)),
  });
  const askedMetrics = askedMetricIds(bench, metrics);
  const askedShoes = askedShoeIds(bench, shoes) ?? null;
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  const terms = new Set(ruleInForce(bench, today)?.terms.map(({ metric }) => metric));
  const unknown = bench.metrics
    .filter(({ id, retired, derive }) =>
      retired === null && !isComputed({ derive }, bench.metrics) &&
      (askedMetrics?.includes(id) ?? true) &&
      isUnrepeated(bench, id)
    )
    .toSorted((a, b) => Number(terms.has(b.id)) - Number(terms.has(a.id)));
  const chosen = unknown.length === 0 ? [] : spreadShoes(bench, unknown[0].id, askedShoes);
  const names = namesOf(bench.shoes);
  const visits = chosen.length === 0
    ? []
    : unknown.flatMap(({ id, title }) =>
      chosen.map((shoe_id) => ({
        shoe_id,
        name: names[bench.shoes.findIndex((shoe) => shoe.shoe_id === shoe_id)],
        metric: id,
        title,
        trials: READINGS,
        minutes: typeof minutesPerVisit === "number"
          ? minutesPerVisit
          : Object.hasOwn(minutesPerVisit, id)
          ? minutesPerVisit[id]
          : 10,
      }))
    );
  return {
    metrics: unknown.map(({ id }) => ({ metric: id, in_index: terms.has(id) })),
    shoes: chosen,
    visits,
    minutes: visits.reduce((sum, { minutes }) => sum + minutes, 0),
  };
}

/** The visits of a pilot that there is time for: whole metrics, and the first one in any case. */
export function pilotWithin(
  { visits }: Pick<PilotPlan, "visits">,
  { slots = Infinity, minutes = Infinity }: { readonly slots?: number; readonly minutes?: number },
): readonly PilotVisit[] {
  option.check("studies.pilotWithin", arguments[1], {
    slots: option.whole(1),
    minutes: option.number,
  });
  const [first] = visits;
  let [many, spent] = [0, 0];
  const fits = new Map<string, boolean>();
  for (const { metric } of visits) {
    if (fits.has(metric)) continue;
    const own = visits.filter((visit) => visit.metric === metric);
    many += own.length;
    spent += own.reduce((sum, visit) => sum + visit.minutes, 0);
    fits.set(metric, metric === first.metric || (many <= slots && spent <= minutes));
  }
  return visits.filter(({ metric }) => fits.get(metric));
}

/** Shoes from the lowest to the highest reading of a metric, evenly; the first ones where none is read. */
function spreadShoes(
  bench: Bench,
  metric: string,
  only: readonly string[] | null,
): string[] {
  const allowed = bench.shoes.map(({ shoe_id }) => shoe_id)
    .filter((shoe_id) => only?.includes(shoe_id) ?? true);
  const values = new Map<string, number>();
  for (const { shoe_id, values: one } of visitsOf(bench, metric)) {
    values.set(shoe_id, mean([...one]));
  }
  const read = allowed.filter((shoe_id) => values.has(shoe_id))
    .toSorted((a, b) => values.get(a)! - values.get(b)!);
  const list = read.length >= Math.min(SHOES, allowed.length) ? read : allowed;
  if (list.length <= SHOES) return list;
  const step = (list.length - 1) / (SHOES - 1);
  return Array.from({ length: SHOES }, (_, i) => list[Math.round(i * step)]);
}
