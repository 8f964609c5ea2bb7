import { requireAbove, wrong } from "./domain.ts";
import { lastLengthFromSize } from "./last_length_from_size.ts";
import { sizeFromLastLength } from "./size_from_last_length.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/** One line of a size table, unrounded. */
export type SizeRow = {
  readonly last_length_mm: number;
  readonly mondopoint_mm: number;
  readonly eu: number;
  readonly uk: number;
  readonly us_men: number;
  readonly us_women: number;
};

/**
 * Which sizes of all systems stand side by side?
 *
 * One row for each size of the leading system, by arithmetic on the last; unrounded, so that a
 * reader sees how far apart the labels are.
 *
 * @param options `by` the leading system; `low` and `high` its first and last size; `step` (default
 *   half a size, 5 mm in Mondopoint); and the conventions that differ by maker
 * @returns rows from `low` to `high`
 * @throws {RangeError} if a size is outside the adult scale, the step is not above 0, or `high`
 *   lies below `low`
 * @see ISO 9407 and ISO 19407, from memory; trade definitions as in `lastLengthFromSize`
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const rows = metrics.sizeTable({ by: "eu", low: 41, high: 43, step: 1 });
 * assert.deepEqual(rows.map((row) => row.uk.toFixed(1)), ["7.3", "8.1", "8.9"]);
 * ```
 */
export function sizeTable(
  { by, low, high, step = by === "mondopoint" ? 5 : 0.5, ...conventions }: SizeConventions & {
    readonly by: SizeSystem;
    readonly low: number;
    readonly high: number;
    readonly step?: number;
  },
): readonly SizeRow[] {
  requireAbove("step", step, 0);
  if (!(high >= low)) throw wrong("high", high, `a size of at least low, ${low}`);
  // Checks both ends before any row is made.
  lastLengthFromSize(low, { size_system: by, ...conventions });
  lastLengthFromSize(high, { size_system: by, ...conventions });
  const rows = Math.floor((high - low) / step + 1e-9) + 1;
  return Array.from({ length: rows }, (_, i) => {
    const last_length_mm = lastLengthFromSize(low + i * step, {
      size_system: by,
      ...conventions,
    }).value;
    const size = (size_system: SizeSystem) =>
      sizeFromLastLength(last_length_mm, { size_system, ...conventions }).value;
    return {
      last_length_mm,
      mondopoint_mm: size("mondopoint"),
      eu: size("eu"),
      uk: size("uk"),
      us_men: size("us-men"),
      us_women: size("us-women"),
    };
  });
}
