import { mean, sum } from "simple-statistics";
import { type Visit, visitsOf } from "./selection.ts";
import type { Bench, Metric } from "./types.ts";

/** So many times the usual scatter of a shoe's visits is worth a second look. */
const FAR = 4;

/** Fewer degrees of freedom than this say too little about how visits scatter. */
const LEAST_FREEDOM = 5;

/**
 * Which readings of a session lie far from what their shoe read before?
 *
 * A visit's mean is compared with the mean of the shoe's earlier visits, in units of the pooled SD
 * between visits of a shoe. Where too few shoes were benched twice, nothing is said.
 *
 * @param before the bench without the session
 * @param after the bench with it
 * @returns a sentence each; reference shoes first, since what moves them moves all
 */
export function farReadings(before: Bench, after: Bench, session_id: string): string[] {
  const references = before.settings.reference_shoes;
  const found = after.metrics.flatMap((metric) => {
    const earlier = visitsOf(before, metric.id).filter((one) => one.session_id !== session_id);
    const scatter = betweenVisits(earlier);
    if (scatter === null) return [];
    return visitsOf(after, metric.id).filter((one) => one.session_id === session_id)
      .flatMap((visit) => {
        const own = earlier.filter(({ shoe_id }) => shoe_id === visit.shoe_id);
        if (own.length === 0) return [];
        const usual = mean(own.map(({ values }) => mean([...values])));
        const off = mean([...visit.values]) - usual;
        const far = Math.abs(off) > FAR * scatter * Math.sqrt(1 + 1 / own.length);
        return far ? [{ visit, metric, usual, visits: own.length }] : [];
      });
  });
  const isReference = ({ visit }: Far) => references.includes(visit.shoe_id);
  return found.toSorted((a, b) => Number(isReference(b)) - Number(isReference(a)))
    .map((one) => sentence(one, isReference(one)));
}

type Far = {
  readonly visit: Visit;
  readonly metric: Metric;
  readonly usual: number;
  readonly visits: number;
};

function sentence({ visit, metric, usual, visits }: Far, isReference: boolean): string {
  const shown = (value: number) => `${value.toFixed(metric.decimals)} ${metric.unit}`;
  const what = `${visit.shoe_id}, ${metric.id}: ${shown(mean([...visit.values]))} on average, ` +
    `${shown(usual)} in ${
      visits === 1 ? "the visit" : `the ${visits} visits`
    } before, more than ${FAR} ` +
    "times what visits usually scatter";
  return isReference
    ? `The reference ${what}: look at the rig before the rest goes in`
    : `${what}: read it again if you can`;
}

/** Pooled SD between visits of a shoe; null where too little was benched twice. */
function betweenVisits(visits: readonly Visit[]): number | null {
  const byShoe = new Map<string, number[]>();
  for (const { shoe_id, values } of visits) {
    byShoe.set(shoe_id, [...byShoe.get(shoe_id) ?? [], mean([...values])]);
  }
  const repeated = [...byShoe.values()].filter((means) => means.length > 1);
  const freedom = sum(repeated.map((means) => means.length - 1));
  if (freedom < LEAST_FREEDOM) return null;
  const squares = sum(
    repeated.flatMap((means) => means.map((one) => (one - mean(means)) ** 2)),
  );
  return squares === 0 ? null : Math.sqrt(squares / freedom);
}
