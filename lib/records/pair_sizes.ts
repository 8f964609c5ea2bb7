import { convertSize } from "../metrics/mod.ts";
import type { Metric, Pair, Shoe, SizeSystem, Trial } from "./types.ts";

/** A size as it is printed in a pair. */
export type LabelledSize = { readonly system: SizeSystem; readonly size: number };

/**
 * Which readings come from a pair of another size than the one its shoe is published in?
 *
 * A shoe is published in the size that shoes.csv gives, or else in that of its first pair with a size. A
 * longer shoe is heavier, and its sole may well bend or twist otherwise; readings of another size count
 * only on metrics marked `size_free`. Sizes of two systems are the same where one is the other's nearest label.
 *
 * @param sizeSystem the lab's, for sizes without one
 * @returns the trials, those of another size marked
 */
export function markOtherSizes(
  trials: readonly Trial[],
  { pairs, shoes, metrics, sizeSystem }: {
    readonly pairs: readonly Pair[];
    readonly shoes: readonly Shoe[];
    readonly metrics: readonly Metric[];
    readonly sizeSystem: SizeSystem | null;
  },
): readonly Trial[] {
  const others = new Map<string, Set<number>>();
  const shoeById = new Map(shoes.map((shoe) => [shoe.shoe_id, shoe]));
  for (const [shoe_id, own] of Map.groupBy(pairs, (pair) => pair.shoe_id)) {
    const sized = own.toSorted((a, b) => a.pair - b.pair)
      .flatMap((one) => labelOf(one, sizeSystem) ?? []);
    const shoe = shoeById.get(shoe_id);
    const published = (shoe === undefined ? null : labelOf(shoe, sizeSystem)) ?? sized[0];
    if (published === undefined) continue;
    const other = own.filter((one) => {
      const label = labelOf(one, sizeSystem);
      return label !== null && !sameSize(label, published);
    });
    if (other.length > 0) others.set(shoe_id, new Set(other.map(({ pair }) => pair)));
  }
  if (others.size === 0) return trials;
  const free = new Set(metrics.filter(({ size_free }) => size_free).map(({ id }) => id));
  return trials.map((trial) =>
    others.get(trial.shoe_id)?.has(trial.pair) && !free.has(trial.metric_id)
      ? { ...trial, other_size: true as const }
      : trial
  );
}

/** The size of a shoe or a pair with its system; null without both. */
export function labelOf(
  { size, size_system }: Pick<Pair, "size" | "size_system">,
  sizeSystem: SizeSystem | null,
): LabelledSize | null {
  const system = size_system ?? sizeSystem;
  return size === null || system === null ? null : { system, size };
}

function sameSize(a: LabelledSize, b: LabelledSize): boolean {
  if (a.system === b.system) return a.size === b.size;
  try {
    return convertSize(a.size, { from: a.system, to: b.system }).nearest_label === b.size ||
      convertSize(b.size, { from: b.system, to: a.system }).nearest_label === a.size;
  } catch {
    return false; // a size off the adult scale is nobody's like
  }
}
