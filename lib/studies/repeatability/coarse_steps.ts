import type { Visit } from "../../records/selection.ts";
import type { Metric } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Readings in steps as coarse as what they are to show. */
export type CoarseSteps = {
  /** In the metric's unit: `resolution` of metrics.json, or the smallest step seen between readings. */
  readonly step: number;
  /** Shoes whose value is another's too, of all that have one. */
  readonly shared: number;
  readonly shoes: number;
  /** The step as a multiple of the SD between shoes, and of that of repeats; null where it is not known. */
  readonly of_spread: number | null;
  readonly of_noise: number | null;
};

/** Fewer shoes or readings than this share values by chance. */
const FEWEST = 6;

/**
 * Are readings taken in steps so coarse that the differences between shoes are lost in them?
 *
 * They are where a step is as wide as the SD between shoes; or where most shoes share their value with
 * another while repeats scatter less than a step, so that no averaging brings it back. What a step adds to
 * a reading is step/√12: a quarter of the SD between shoes adds half a percent to its variance.
 *
 * @param means one value a shoe
 * @param spread SD between them; `noise` of repeats, null where unknown or hidden
 * @returns null where steps are fine enough, or too little was read to say
 * @see JCGM 100:2008, F.2.2.1 (rectangular distribution of a rounded reading)
 */
export function coarseSteps(
  { resolution }: Pick<Metric, "resolution">,
  visits: readonly Visit[],
  { means, spread, noise }: {
    readonly means: readonly number[];
    readonly spread: number | null;
    readonly noise: number | null;
  },
): CoarseSteps | null {
  const step = resolution ?? stepSeen(visits.flatMap(({ values }) => values));
  if (step === null || means.length < FEWEST) return null;
  const tolerance = step * 1e-6;
  const sorted = means.toSorted((a, b) => a - b);
  const same = (i: number, j: number) =>
    j >= 0 && j < sorted.length && Math.abs(sorted[i] - sorted[j]) <= tolerance;
  const shared = sorted.filter((_, i) => same(i, i - 1) || same(i, i + 1)).length;
  const of_spread = spread === null || spread === 0 ? null : step / spread;
  const of_noise = noise === null || noise === 0 ? null : step / noise;
  const wide = of_spread === null || of_spread >= 1;
  const alike = shared > means.length / 2 && (of_noise === null || of_noise >= 1);
  return wide || alike ? { step, shared, shoes: means.length, of_spread, of_noise } : null;
}

/** Such steps as a warning. */
export function coarseReason(
  { step, shared, shoes, of_spread, of_noise }: CoarseSteps,
  { unit }: Pick<Metric, "unit">,
): Reason {
  return {
    code: "coarse-steps",
    step,
    unit,
    shared,
    shoes,
    ...(of_spread === null ? {} : { of_spread }),
    ...(of_noise === null ? {} : { of_noise }),
  };
}

/** The smallest step between readings, where all of them stand on its multiples; null where they don't. */
function stepSeen(values: readonly number[]): number | null {
  const distinct = [...new Set(values)].sort((a, b) => a - b);
  if (distinct.length < 2 || values.length < 2 * FEWEST) return null;
  const gaps = distinct.slice(1).map((value, i) => value - distinct[i]);
  const step = Math.min(...gaps);
  return gaps.every((gap) => Math.abs(gap / step - Math.round(gap / step)) < 1e-3) ? step : null;
}
