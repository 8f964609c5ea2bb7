import { boundedTrials, type Readings, type Visit, visitsOf } from "../../records/selection.ts";
import {
  correctionOf,
  type ReferenceCorrection,
  referenceCorrection,
} from "../drift/reference_correction.ts";
import { boundedReadings, type BoundedVisits } from "./bounded_readings.ts";
import type { PublishedVisit } from "./published_visit.ts";

export type { PublishedVisit } from "./published_visit.ts";

/** Corrections worked out already; they depend on the bench alone. */
const known = new WeakMap<Readings, Map<string, ReferenceCorrection | null>>();

/**
 * Which visits does a metric have, with the values that are published?
 *
 * Values of a metric in `corrected_metrics` have the drift of their rig and day taken off
 * (`referenceCorrection`); `trials` stay as they were read. Where no shoe links rigs or days nothing
 * can be taken off, and `correction` is null. Where readings ran off the end of the scale, see
 * `boundedReadings`.
 */
export function publishedVisits(bench: Readings, metric: string): readonly PublishedVisit[] {
  return publishedReadings(bench, metric).visits;
}

/** Which shoes have no value on a metric, only a bound that it lies beyond? In order of shoe id. */
export function boundedShoes(bench: Readings, metric: string): readonly BoundedVisits[] {
  return publishedReadings(bench, metric).shoes;
}

/** Metrics with readings at the end of the scale, once fitted; they depend on the bench alone. */
const fitted = new WeakMap<Readings, Map<string, ReturnType<typeof boundedReadings>>>();

function publishedReadings(bench: Readings, metric: string): ReturnType<typeof boundedReadings> {
  const kept = fitted.get(bench)?.get(metric);
  if (kept !== undefined) return kept;
  const read = visitsOf(bench, metric);
  const correction = correctionInForce(bench, metric, read);
  const visits = asPublished(read, correction);
  if (boundedTrials(bench, metric).length === 0) return { visits, shoes: [] };
  const found = boundedReadings(bench, metric, { visits, correction });
  const own = fitted.get(bench) ?? new Map<string, ReturnType<typeof boundedReadings>>();
  fitted.set(bench, own.set(metric, found));
  return found;
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
