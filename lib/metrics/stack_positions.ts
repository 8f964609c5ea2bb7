import { requireAbove } from "./domain.ts";

/**
 * Where along the sole are heel and forefoot stack read?
 *
 * 12% of the inside length from the heel end for the heel, 75% for the forefoot.
 *
 * @param inside_length_mm above 0
 * @returns both places in mm from the inside heel end
 * @throws {RangeError} if the length is not above 0
 * @see the places in track and field's shoe rules, from memory; tennis has no rule of its own
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.deepEqual(metrics.stackPositions(280), { heel_mm: 33.6, forefoot_mm: 210 });
 * ```
 */
export function stackPositions(
  inside_length_mm: number,
): { readonly heel_mm: number; readonly forefoot_mm: number } {
  requireAbove("inside_length_mm", inside_length_mm, 0);
  return { heel_mm: 0.12 * inside_length_mm, forefoot_mm: 0.75 * inside_length_mm };
}
