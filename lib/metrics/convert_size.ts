import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { lastLengthFromSize } from "./last_length_from_size.ts";
import type { MetricValue } from "./metric_value.ts";
import { sizeFromLastLength, sizeStep_mm } from "./size_from_last_length.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/** A size in another system, and what a shop would call it. */
export type ConvertedSize = MetricValue & {
  /** The nearest half size; in Mondopoint the nearest 5 mm. */
  readonly nearest_label: number;
  readonly last_length_mm: number;
};

/**
 * Which size of another system belongs to this one?
 *
 * By arithmetic on the length of the last that both stand for. A suggestion with a tolerance, never
 * a fit: makers print tables of their own.
 *
 * @param size as labelled; Mondopoint in mm
 * @param options `from` and `to`, and the conventions that differ by maker, `allowance_mm` and
 *   `us_women_over_men`
 * @returns the unrounded size (unit `1`; Mondopoint in mm), the nearest label and the last; the
 *   standard uncertainty is that of the conventions used
 * @throws {RangeError} if the size is outside the adult scale or a convention outside its common
 *   range
 * @see ISO 9407 and ISO 19407, from memory; trade definitions as in `lastLengthFromSize`
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value, nearest_label } = metrics.convertSize(11, { from: "us-men", to: "eu" });
 * assert.deepEqual([value.toFixed(2), nearest_label], ["44.45", 44.5]);
 * ```
 */
export function convertSize(
  size: number,
  { from, to, ...conventions }: SizeConventions & {
    readonly from: SizeSystem;
    readonly to: SizeSystem;
  },
): ConvertedSize {
  option.check("metrics.convertSize", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    from: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
    to: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
  });
  const last = lastLengthFromSize(size, { size_system: from, ...conventions });
  const target = sizeFromLastLength(last.value, { size_system: to, ...conventions });
  const label_step = to === "mondopoint" ? 5 : 0.5;
  // Within one system a convention cancels: nothing was converted.
  const u = from === to ? 0 : Math.hypot(
    (last.standard_uncertainty ?? 0) / sizeStep_mm(to),
    target.standard_uncertainty ?? 0,
  );
  return {
    value: from === to ? size : target.value,
    unit: target.unit,
    standard_uncertainty: u,
    standard_uncertainty_reason: null,
    nearest_label: Math.round(target.value / label_step) * label_step,
    last_length_mm: last.value,
    caution: sizeCaution,
  };
}
