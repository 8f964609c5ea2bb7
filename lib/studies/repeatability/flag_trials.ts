import { mean, sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import type { Trial } from "../../records/types.ts";
import { grubbs } from "../../statistics/grubbs.ts";
import { gapChance, tailLimit } from "../../statistics/tail_limit.ts";
import type { FlaggedTrial } from "./types.ts";

/**
 * Which trials lie too far from the rest of their visit to be chance?
 *
 * Each trial's distance from the mean of its visit, over √(1 − 1/trials) so that visits of different
 * length compare; all visits of three trials or more are judged together. The farthest one is put to
 * Grubbs' test, set aside and the others looked at again with their visit's new mean; as in the
 * generalized ESD procedure all those up to the last step that passes are flagged, because outliers
 * hide each other. Of these those stay that are too far out for tails as heavy as the other readings have
 * (`tailLimit`), or that a gap parts from all others, wider than such tails leave (`gapChance`).
 *
 * Where readings are rounded coarsely (a step above half their SD) half a step is taken off every
 * distance and the SD is no less than that of rounding alone, step/√12: a reading one step off is what
 * rounding does.
 *
 * @param alpha risk of any false flag
 * @param logarithms compare ratios, for readings whose scatter grows with their size
 * @returns the farthest first
 * @see Grubbs 1969; Rosner 1983. That distances of one visit hang together makes the test a little
 *   cautious in small studies
 */
export function flagTrials(
  visits: readonly Visit[],
  { alpha, logarithms = false }: { readonly alpha: number; readonly logarithms?: boolean },
): readonly FlaggedTrial[] {
  const scaled = (value: number) => logarithms ? Math.log(value) : value;
  let left = visits.filter(({ trials }) => trials.length >= 3)
    .map(({ trials }) => distances(trials, scaled));
  const most = Math.max(1, Math.min(10, Math.floor(sum(left.map((t) => t.length)) / 20)));
  const step = logarithms ? 0 : roundingStep(visits);

  const steps: Suspect[] = [];
  while (steps.length < most && left.length > 0) {
    const found = grubbs(sizesOf(left), { alpha });
    if (found.statistic === null || found.index === null || found.critical === null) break;
    const { visit, place } = placeOf(left, found.index);
    const { trial, distance, raw } = left[visit][place];
    const sd = Math.abs(distance) / found.statistic;
    const coarse = step > sd / 2;
    const statistic = coarse
      ? Math.max(0, Math.abs(distance) - step / 2) / Math.max(sd, step / Math.sqrt(12))
      : found.statistic;
    const others = left[visit].toSpliced(place, 1).map((other) => other.trial);
    left = left.toSpliced(visit, 1, ...(others.length >= 3 ? [distances(others, scaled)] : []));
    const flag: FlaggedTrial = {
      shoe_id: trial.shoe_id,
      session_id: trial.session_id,
      trial: trial.trial,
      pair: trial.pair,
      side: trial.side,
      line: trial.line,
      value: trial.value!,
      residual: raw,
      statistic,
      critical: found.critical,
      method: `distance from the visit's mean, Grubbs' statistic, generalized ESD at ${
        Number(alpha.toPrecision(2))
      } for the whole metric${logarithms ? ", on logarithms" : ""}${
        coarse ? `, half a rounding step of ${Number(step.toPrecision(2))} taken off` : ""
      }`,
    };
    steps.push({
      flag,
      distance,
      sd,
      left,
      passes: statistic > found.critical,
    });
  }
  const last = steps.findLastIndex(({ passes }) => passes);
  return heavyTailed(steps.slice(0, last + 1), alpha);
}

/** Of the suspects those that stay suspect under tails as heavy as the other readings have. */
function heavyTailed(suspects: readonly Suspect[], alpha: number): readonly FlaggedTrial[] {
  const last = suspects.at(-1);
  if (last === undefined) return [];
  const others = sizesOf(last.left);
  const { limit, freedom } = tailLimit(others, suspects.length, { alpha });
  const sizes = suspects.map(({ distance }) => Math.abs(distance));
  const below = [
    ...sizes.slice(1),
    others.reduce((most, one) => Math.max(most, Math.abs(one)), 0),
  ];
  const kept = sizes.findLastIndex((size, j) =>
    size > limit || gapChance(size, below[j], j + 1) < alpha / suspects.length
  );
  return suspects.slice(0, kept + 1).map(({ flag, sd }, j) => ({
    ...flag,
    critical: sizes[j] > limit ? Math.max(flag.critical, limit / sd) : flag.critical,
    method: freedom === Infinity
      ? flag.method
      : `${flag.method}, and beyond what t with ${
        freedom.toFixed(0)
      } degrees of freedom allows, as heavy as the other readings may be`,
  }));
}

/** A trial that is too far out for normal noise, and what is left without it and those farther out. */
type Suspect = {
  readonly flag: FlaggedTrial;
  readonly distance: number;
  readonly sd: number;
  readonly left: Distances;
  readonly passes: boolean;
};

/** Visit by visit how far each trial lies from the rest. */
type Distances = readonly (readonly { readonly distance: number }[])[];

function sizesOf(visits: Distances): number[] {
  const sizes: number[] = [];
  for (const visit of visits) for (const { distance } of visit) sizes.push(distance);
  return sizes;
}

/** Which visit holds the trial that stands there when all are put one after another? */
function placeOf(visits: Distances, index: number): { visit: number; place: number } {
  let [visit, place] = [0, index];
  while (place >= visits[visit].length) place -= visits[visit++].length;
  return { visit, place };
}

function distances(trials: readonly Trial[], scaled: (value: number) => number) {
  const pivot = trials[0].value!;
  const centre = mean(trials.map((trial) => trial.value! - pivot));
  const scaledPivot = scaled(pivot);
  const scaledCentre = mean(trials.map((trial) => scaled(trial.value!) - scaledPivot));
  const inflate = Math.sqrt(1 - 1 / trials.length);
  return trials.map((trial) => ({
    trial,
    raw: trial.value! - pivot - centre,
    distance: (scaled(trial.value!) - scaledPivot - scaledCentre) / inflate,
  }));
}

/** The smallest difference between two readings of one visit: the instrument's step when it is coarse. */
function roundingStep(visits: readonly Visit[]): number {
  let step = Infinity;
  for (const { values } of visits) {
    const sorted = [...values].sort((a, b) => a - b);
    for (let i = 1; i < sorted.length; i++) {
      const gap = sorted[i] - sorted[i - 1];
      if (gap > 1e-9 * Math.max(1e-300, Math.abs(sorted[i]))) step = Math.min(step, gap);
    }
  }
  return step === Infinity ? 0 : step;
}
