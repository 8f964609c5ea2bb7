import { holmLevels } from "../../statistics/holm_levels.ts";
import { twoSidedP } from "../../statistics/single_step_level.ts";
import type { PairNoise } from "../repeatability/pair_noise.ts";

/** Which places of a catalogue a shoe could have; 1 is the best, or the highest where neither end is. */
export type CataloguePlace = {
  readonly place: number;
  /** Of this shoe by itself, against all others; null where the noise is unknown. */
  readonly place_lower: number | null;
  readonly place_upper: number | null;
};

/**
 * Between which places does each of some shoes stand, given the noise?
 *
 * A shoe is tested against every other one; Holm's step-down over all its tests keeps the chance of a
 * single false order at the risk, however the values hang together. The best place is one below those
 * shown to be ahead, the worst one above those shown to be behind. Limits hold for each shoe by itself, as those of its value
 * do, so that a shoe has the same place whatever else is asked with it.
 *
 * @param values the whole catalogue, without reference shoes
 * @param asked ids to place, those of shoes without a value are left out
 * @param options `direction` 1 where more is ahead, -1 where less is; `noiseOf` the noise of a difference
 * @returns shoe id → its place
 */
export function cataloguePlaces(
  values: readonly { readonly shoe_id: string; readonly value: number }[],
  asked: readonly string[],
  { direction, noiseOf, confidence }: {
    readonly direction: 1 | -1;
    readonly noiseOf: (a: string, b: string) => PairNoise | null;
    readonly confidence: number;
  },
): ReadonlyMap<string, CataloguePlace> {
  const placed = values.filter(({ shoe_id }) => asked.includes(shoe_id));
  return new Map(placed.map((own): [string, CataloguePlace] => {
    const tests = values.flatMap((other) => {
      if (other.shoe_id === own.shoe_id) return [];
      const noise = noiseOf(own.shoe_id, other.shoe_id);
      if (noise === null || noise.variance === 0) return [];
      const gap = direction * (own.value - other.value);
      return [{ gap, p: twoSidedP(gap / Math.sqrt(noise.variance), noise.freedom) }];
    });
    const levels = holmLevels(tests.map(({ p }) => p), 1 - confidence);
    const shown = tests.filter((_, index) => levels[index].p_adjusted <= 1 - confidence);
    const known = values.length === 1 || tests.length > 0;
    return [own.shoe_id, {
      place: 1 + values.filter((other) => direction * (other.value - own.value) > 0).length,
      place_lower: known ? 1 + shown.filter(({ gap }) => gap < 0).length : null,
      place_upper: known ? values.length - shown.filter(({ gap }) => gap > 0).length : null,
    }];
  }));
}
