import { type Readings, type Visit, visitsOf } from "../../records/selection.ts";
import {
  correctionOf,
  type ReferenceCorrection,
  referenceCorrection,
} from "../drift/reference_correction.ts";

/** A visit as it is published: its values at the level of the reference shoes where the bench wants that. */
export type PublishedVisit = Visit & {
  /** What was taken off, with its uncertainty; null where values stand as they were read. */
  readonly correction: ReferenceCorrection | null;
};

/** Corrections worked out already; they depend on the bench alone. */
const known = new WeakMap<Readings, Map<string, ReferenceCorrection | null>>();

/**
 * Which visits does a metric have, with the values that are published?
 *
 * Values of a metric in `corrected_metrics` have the drift of their rig and day taken off
 * (`referenceCorrection`); `trials` stay as they were read. Where no shoe links rigs or days nothing
 * can be taken off, and `correction` is null.
 */
export function publishedVisits(bench: Readings, metric: string): readonly PublishedVisit[] {
  const visits = visitsOf(bench, metric);
  return asPublished(visits, correctionInForce(bench, metric, visits));
}

/** Visits with a correction taken off. */
export function asPublished(
  visits: readonly Visit[],
  correction: ReferenceCorrection | null,
): readonly PublishedVisit[] {
  return visits.map((visit) => {
    if (correction === null) return { ...visit, correction };
    const off = correctionOf(correction, visit);
    return { ...visit, values: visit.values.map((value) => value - off), correction };
  });
}

/** The correction that a metric's published values have had taken off; null where they have none. */
export function correctionInForce(
  bench: Readings,
  metric: string,
  visits: readonly Visit[] = visitsOf(bench, metric),
): ReferenceCorrection | null {
  const { corrected_metrics, reference_shoes: references } = bench.settings;
  if (!corrected_metrics.includes(metric)) return null;
  const own = known.get(bench) ?? new Map<string, ReferenceCorrection | null>();
  known.set(bench, own);
  if (!own.has(metric)) own.set(metric, referenceCorrection(visits, { references }));
  return own.get(metric)!;
}
