import {
  boundedTrials,
  keptTrials,
  type Readings,
  visitsOfTrials,
} from "../../records/selection.ts";
import type { Metric, Trial } from "../../records/types.ts";
import { censoredNormal, type CensoredReading } from "../../statistics/censored_normal.ts";
import type { Reason } from "../../statistics/reason.ts";
import { correctionOf, type ReferenceCorrection } from "../drift/reference_correction.ts";
import type { PublishedVisit } from "./published_visit.ts";

/** A shoe that ran off the end of the scale: all that is known of its value is a bound. */
export type BoundedShoe = {
  readonly shoe_id: string;
  /** In the metric's unit: the mean of its readings lies below or above. */
  readonly bound: { readonly below: number } | { readonly above: number };
  /** Readings known by a bound, of all. */
  readonly bounded: number;
  readonly readings: number;
  readonly last_benched: string;
};

/** Such a shoe by its name and the title of the metric, where an answer leaves it out. */
export type BoundedOn = {
  readonly shoe_id: string;
  readonly name: string;
  readonly title: string;
};

/** Why such a shoe has no value: what is known instead. */
export function boundReason(
  { bound, readings }: Pick<BoundedShoe, "bound" | "readings">,
  { unit, decimals }: Pick<Metric, "unit" | "decimals">,
): Reason {
  const [side, at] = "below" in bound ? ["below", bound.below] : ["above", bound.above];
  return { code: "known-by-bound", side, at, readings, unit, decimals };
}

/** Such a shoe with its visits, without values, each worth as many as it has trials: what noise needs to know. */
export type BoundedVisits = BoundedShoe & { readonly visits: readonly PublishedVisit[] };

/** How much of a metric ran off the end of the scale. */
export type BoundedShare = {
  /** Readings known by a bound only, of all that would count. */
  readonly readings: number;
  readonly of: number;
  /** The bound met most often. */
  readonly bound: number;
  readonly side: "below" | "above";
  /** Shoes with no reading but bounds, of all. */
  readonly shoes: number;
  readonly of_shoes: number;
};

/** How many readings of a metric are known by a bound only? null where none is. */
export function boundedShare(
  bench: Omit<Readings, "sessions">,
  metric: string,
): BoundedShare | null {
  const bounded = boundedTrials(bench, metric);
  if (bounded.length === 0) return null;
  const bounds = bounded.map(({ bound }) =>
    "below" in bound! ? ["below", bound.below] as const : ["above", bound!.above] as const
  );
  const groups = [...Map.groupBy(bounds, (bound) => bound.join(" ")).values()];
  const [side, bound] = groups.toSorted((a, b) => b.length - a.length)[0][0];
  const kept = keptTrials(bench, metric);
  const read = new Set(kept.map(({ shoe_id }) => shoe_id));
  const shoes = new Set(bounded.map(({ shoe_id }) => shoe_id));
  return {
    readings: bounded.length,
    of: bounded.length + kept.length,
    bound,
    side,
    shoes: shoes.difference(read).size,
    of_shoes: shoes.union(read).size,
  };
}

/** Is so much of a metric known by bounds only that nothing may be fitted to it? */
export function isTooCoarse(bounded: Pick<BoundedShare, "readings" | "of"> | null): boolean {
  return bounded !== null && bounded.readings > bounded.of / 2;
}

/**
 * What do readings at the end of the scale leave of each shoe's value?
 *
 * Where at least half of the metric's readings, and of the shoe's, are numbers, the shoe has a mean by
 * maximum likelihood (censored normals, one mean a shoe, a common scatter): its visits come back with what
 * the fit expects beyond each bound, so that their mean is that estimate, and with what they are `worth` as
 * readings. Every other shoe with a bound among its readings has no value, only a bound of its mean: that
 * of its readings with each bound at its number. Never is a bound, its half or 0 taken for a reading.
 *
 * @param visits of the metric that were read whole
 * @see Tobin 1958, Econometrica 26:24; Dempster, Laird & Rubin 1977 (expectations beyond a bound); Helsel 2012
 */
export function boundedReadings(
  bench: Readings,
  metric: string,
  { visits, correction }: {
    readonly visits: readonly PublishedVisit[];
    readonly correction: ReferenceCorrection | null;
  },
): { readonly visits: readonly PublishedVisit[]; readonly shoes: readonly BoundedVisits[] } {
  const bounded = boundedTrials(bench, metric);
  if (bounded.length === 0) return { visits, shoes: [] };
  const kept = keptTrials(bench, metric);
  // With 0 for a bound: only to group trials into visits.
  const all = visitsOfTrials([...kept, ...bounded], bench.sessions);
  const taken = all.map((visit) => correction === null ? 0 : correctionOf(correction, visit));
  const readings = all.map(({ trials }, i) => trials.map((trial) => readingOf(trial, taken[i])));
  const fit = isTooCoarse({ readings: bounded.length, of: bounded.length + kept.length })
    ? null
    : censoredNormal(readings.flat(), {
      group: all.flatMap(({ shoe_id, trials }) => trials.map(() => shoe_id)),
    });
  const touched = new Set(bounded.map(({ shoe_id }) => shoe_id));
  const starts = readings.map((_, i) => readings.slice(0, i).flat().length);
  const completed: PublishedVisit[] = [];
  const shoes: BoundedVisits[] = [];
  for (const [shoe_id, own] of Map.groupBy(all.keys(), (i) => all[i].shoe_id)) {
    if (!touched.has(shoe_id)) continue;
    const known = own.flatMap((i) => readings[i]);
    const bounds = known.filter((reading) => typeof reading !== "number").length;
    if (fit !== null && fit.sd.estimate !== null && bounds <= known.length / 2) {
      completed.push(...own.map((i) => ({
        ...all[i],
        values: readings[i].map((_, j) => fit.expected[starts[i] + j]!),
        correction,
        bounded: readings[i].filter((reading) => typeof reading !== "number").length,
        worth: readings[i].reduce<number>((sum, _, j) => sum + fit.information[starts[i] + j], 0),
      })));
      continue;
    }
    const bound = boundOfMean(known);
    if (bound === null) continue;
    shoes.push({
      shoe_id,
      bound,
      bounded: bounds,
      readings: known.length,
      visits: own.map((i) => ({
        ...all[i],
        values: [],
        correction,
        worth: all[i].trials.length,
      })),
      last_benched: own.map((i) => all[i].date).sort().at(-1)!,
    });
  }
  return {
    visits: [...visits.filter(({ shoe_id }) => !touched.has(shoe_id)), ...completed]
      .toSorted((a, b) => a.shoe_id < b.shoe_id ? -1 : a.shoe_id > b.shoe_id ? 1 : 0),
    shoes,
  };
}

function readingOf({ value, bound }: Trial, off: number): CensoredReading {
  if (bound === null) return value! - off;
  return "below" in bound ? { below: bound.below - off } : { above: bound.above - off };
}

/** Beyond what the mean must lie; null where readings ran off both ends. */
function boundOfMean(readings: readonly CensoredReading[]): BoundedShoe["bound"] | null {
  const at = readings.map((one) =>
    typeof one === "number" ? one : "below" in one ? one.below : one.above
  );
  const end = at.reduce((sum, value) => sum + value, 0) / at.length;
  const below = readings.some((one) => typeof one !== "number" && "below" in one);
  const above = readings.some((one) => typeof one !== "number" && "above" in one);
  return below && above ? null : below ? { below: end } : { above: end };
}
